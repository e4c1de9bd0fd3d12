"""`triage update`: carry an update day, step by step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from triage.app.environment import now as clock
from triage.cli.asking import agreed, ask, at_terminal
from triage.cli.journal_shared import JournalOption, PilotOption
from triage.cli.out import say, warn
from triage.cli.shared import (
    DayOption,
    FormatOption,
    KitOption,
    Notes,
    PolicyOption,
    asked,
)
from triage.errors import StoreError

if TYPE_CHECKING:
    from triage.domain.update_run import Marked, Run, StepState, Summary

app = typer.Typer(
    help="Carry an update day: every unit, every battery, nothing forgotten.",
    no_args_is_help=True,
)

StepArgument = Annotated[str, typer.Argument(help="Number or id of the step; else the next one.")]
ReasonArgument = Annotated[str, typer.Argument(help="Why.")]
RunOption = Annotated[str, typer.Option("--run", help="Which run, where several are open.")]
PrintOption = Annotated[
    Path | None, typer.Option("--print", help="Write the list as a page for paper (HTML).")
]


@app.command()
def start(
    notes: Notes = None,
    form: FormatOption = None,
    policy: PolicyOption = None,
    kit: KitOption = None,
    unit: Annotated[str, typer.Option("--unit", help="Which unit of the kit to update.")] = "",
    today: DayOption = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Begin though the advice is to wait.")
    ] = False,
    page: PrintOption = None,
) -> None:
    """Begin a run from release notes, your kit and your policy."""
    from triage.app.assess import advise
    from triage.app.update import begin_run, ready

    read, inputs = asked(notes, form, policy, kit, "", today)
    found = ready(advise(read, inputs), inputs, unit)
    if found.against and not anyway:
        warn(found.against)
        if not (at_terminal() and agreed("Begin all the same?")):
            raise StoreError("not begun", mend="wait, or add --anyway")
    plan, run = found.plan, begin_run(found)
    say(f"Run {run.id} begun: {plan.title}, {len(run.steps)} steps.\n\n")
    _print(run, page)
    _show_next(run)


@app.command("next")
def next_(run: RunOption = "") -> None:
    """Show the next step with everything to know about it."""
    from triage.update.run_log import run_called

    _show_next(run_called(run))


@app.command()
def show(step: StepArgument, run: RunOption = "") -> None:
    """Show one step."""
    from triage.update.run_log import run_called
    from triage.update.run_state import step_of

    found = run_called(run)
    _show(found, step_of(found, step))


@app.command()
def status(
    run: RunOption = "",
    page: PrintOption = None,
    every: Annotated[bool, typer.Option("--all", help="List all runs, also those over.")] = False,
) -> None:
    """Show how a run stands, and what keeps it open."""
    from triage.render.text import to_text
    from triage.render.update_run import status as outline
    from triage.update.run_log import all_runs, open_runs, reminder, run_called

    found = all_runs() if every else (run_called(run),) if run or page else open_runs()
    if not found:
        say("No update run is open.\n" if not every else "No update run yet.\n")
        return
    for one in found:
        say(to_text(outline(one)))
    if page:
        _print(found[-1], page)
    if line := reminder():
        say(f"{line}\n")


@app.command()
def done(
    step: StepArgument = "",
    version: Annotated[str, typer.Option(help="The version that the unit shows now.")] = "",
    charge: Annotated[int | None, typer.Option(help="Lowest charge of all units, in %.")] = None,
    note: Annotated[str, typer.Option(help="What you saw.")] = "",
    accept: Annotated[
        bool, typer.Option("--accept", help="Take a version that cannot be compared or stayed.")
    ] = False,
    run: RunOption = "",
) -> None:
    """Mark a step done; a version is compared with the target, a snapshot with the one before."""
    from triage.domain.update_run import Needs
    from triage.update.run_log import mark, snapshot_for
    from triage.update.run_state import done as decide

    found, chosen = _step(run, step)
    needs = chosen.step.needs
    if needs is Needs.VERSION and not version and at_terminal():
        version = ask(f"{chosen.step.title}. Version it shows now:") or ""
    if needs is Needs.CHARGE and charge is None and at_terminal():
        charge = _number(ask("Lowest charge of all units, in %:") or "")
    if needs is Needs.AFTER:
        note = note or _compared(found, chosen)

    def decided(now: Run, step: StepState) -> Marked:
        snapshot = snapshot_for(now, step) if needs in (Needs.BEFORE, Needs.AFTER) else None
        return decide(
            now,
            step,
            clock(),
            version=version,
            charge=charge,
            snapshot=snapshot,
            note=note,
            accept=accept,
        )

    _marked(*mark(found.id, chosen.step.id, decided))


@app.command()
def skip(
    step: StepArgument,
    reason: ReasonArgument = "",
    run: RunOption = "",
) -> None:
    """Leave a step out, with a reason; versions and batteries stay owed."""
    from triage.update.run_log import mark
    from triage.update.run_state import skipped

    _marked(*mark(run, step, lambda now, one: skipped(now, one, clock(), reason)))


@app.command()
def fail(
    step: StepArgument,
    reason: ReasonArgument = "",
    run: RunOption = "",
) -> None:
    """Note that a step did not work, and show what usually helps."""
    from triage.update.run_log import mark
    from triage.update.run_state import failed

    _marked(*mark(run, step, lambda now, one: failed(now, one, clock(), reason)))


@app.command()
def reopen(
    step: StepArgument,
    reason: ReasonArgument = "",
    run: RunOption = "",
) -> None:
    """Take a step back that was marked by mistake or has to be done again."""
    from triage.update.run_log import mark
    from triage.update.run_state import reopened

    _marked(*mark(run, step, lambda now, one: reopened(now, one, clock(), reason)))


@app.command()
def finish(
    run: RunOption = "",
    kit: KitOption = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Close the run: the versions go into the kit, the run into the journal.

    A run that is over, named by --run, gets the journal entry that it lacks.
    """
    _close(run, kit, None, pilot, journal)


@app.command()
def abandon(
    reason: ReasonArgument = "",
    run: RunOption = "",
    kit: KitOption = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Close a run with steps left; only versions that were read back go into the kit."""
    _close(run, kit, reason, pilot, journal)


def _close(
    run: str, kit: Path | None, abandoned: str | None, pilot: str | None, journal: str | None
) -> None:
    from triage.app.update import close_run

    over = close_run(run, abandoned=abandoned, kit=kit, by=pilot, journal=journal)
    if over.missing:
        again = f"triage update finish --run {over.summary.run}"
        warn(
            f"the run is over, but its journal entry is missing ({over.missing}); "
            f"to write it: {again}"
        )
    _over(over.summary)
    if over.remark:
        warn(over.remark)
    if over.entry is not None:
        say(f"NumberedSnapshot in the journal as entry {over.entry}.\n")


def _step(run: str, step: str) -> tuple[Run, StepState]:
    from triage.update.run_log import run_called
    from triage.update.run_state import next_step, step_of

    found = run_called(run)
    chosen = step_of(found, step) if step else next_step(found)
    if chosen is None:
        raise StoreError(f"run {found.id} has nothing left to do", mend="triage update finish")
    return found, chosen


def _number(text: str) -> int | None:
    digits = text.strip().rstrip("%").strip()
    if digits and not digits.isdecimal():
        raise StoreError(f"'{text}' is no charge", mend="state the lowest of all, 0 to 100")
    return int(digits) if digits else None


def _compared(run: Run, step: StepState) -> str:
    """Show the settings side by side where both are recorded; what came of it in words."""
    from triage.render.settings import counted, snapshots_compared
    from triage.render.text import to_text
    from triage.settings.comparison import compare_snapshots
    from triage.settings.snapshots import renamed_settings
    from triage.update.run_log import snapshots_of

    pair = snapshots_of(run, step)
    if pair is None:
        return ""
    compared = compare_snapshots(
        pair[0].snapshot, pair[1].snapshot, run.plan.foretold, renamed_settings()
    )
    say(to_text(snapshots_compared(compared)))
    return counted(compared)


def _marked(run: Run, mark: Marked) -> None:
    from triage.domain.update_run import Mark
    from triage.render.text import to_text
    from triage.render.update_run import mends
    from triage.update.run_state import step_of

    step = step_of(run, mark.step)
    say(f"Step {step.number} {mark.mark}{f': {mark.note}' if mark.note else ''}\n")
    if mark.mark is Mark.FAILED:
        say(to_text(tuple(mends(step))))
    elif mark.mark is Mark.SKIPPED and step.step.owed:
        say("It stays owed: the run cannot be finished without it.\n")
    _show_next(run)


def _show_next(run: Run) -> None:
    from triage.update.run_state import next_step

    if step := next_step(run):
        say("\n")
        _show(run, step)
    else:
        say("Nothing is left to do: triage update finish\n")


def _show(run: Run, step: StepState) -> None:
    from triage.render.text import to_text
    from triage.render.update_run import one_step

    say(to_text(one_step(run, step)))


def _print(run: Run, page: Path | None) -> None:
    if page is None:
        return
    from triage.render.checklist import to_page

    text = to_page(run)
    if str(page) == "-":
        say(text)
        return
    try:
        page.write_text(text, encoding="utf-8")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise StoreError(reason, where=str(page), mend="name another file") from error
    say(f"Written for paper: {page}\n")


def _over(summary: Summary) -> None:
    from triage.render.text import to_text
    from triage.render.update_run import summary as outline

    say(to_text(outline(summary)))
