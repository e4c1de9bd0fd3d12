"""`triage update`: carry an update day, step by step."""

from __future__ import annotations

from enum import StrEnum
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
from triage.cli.update_owed import owed, pay
from triage.errors import StoreError

if TYPE_CHECKING:
    from triage.domain.update_run import Marked, Run, StepState, Summary

app = typer.Typer(
    help="Carry an update day: every unit, every battery, nothing forgotten.",
    no_args_is_help=True,
)

app.command()(owed)
app.command()(pay)

StepArgument = Annotated[str, typer.Argument(help="Number or id of the step; else the next one.")]
ReasonArgument = Annotated[str, typer.Argument(help="Why.")]
RunOption = Annotated[str, typer.Option("--run", help="Which run, where several are open.")]
RestoreOption = Annotated[
    list[str] | None, typer.Option(help="'NAME=value it shows now': set as it was before.")
]
KeepOption = Annotated[list[str] | None, typer.Option(help="'NAME=why': stays as it is now.")]
LaterOption = Annotated[list[str] | None, typer.Option(help="NAME: undecided; it stays owed.")]


class Paper(StrEnum):
    """Size of the sheet."""

    A4 = "A4"
    LETTER = "letter"


PaperOption = Annotated[Paper, typer.Option("--paper", help="Size of the sheet.")]
PrintOption = Annotated[
    Path | None, typer.Option("--print", help="Write the list as a page for paper (HTML).")
]


@app.command()
def start(
    notes: Notes = None,
    form: FormatOption = None,
    policy: PolicyOption = None,
    kit: KitOption = None,
    unit: Annotated[str, typer.Option("--unit", help="This unit alone, with what it needs.")] = "",
    first: Annotated[
        str, typer.Option("--first", help="Spare or battery that moves and flies before its like.")
    ] = "",
    today: DayOption = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Begin though the advice is to wait.")
    ] = False,
    page: PrintOption = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Begin a run from release notes, your kit and your policy."""
    from triage.app.assess import advise
    from triage.app.update import begin_run, file_decision, ready

    read, inputs = asked(notes, form, policy, kit, "", today)
    advice = advise(read, inputs)
    found = ready(advice, inputs, unit, first)
    if found.against and not anyway:
        warn(found.against)
        if not (at_terminal() and agreed("Begin all the same?")):
            raise StoreError("not begun", mend="wait, or add --anyway")
    plan, run = found.plan, begin_run(found)
    if line := file_decision(run, advice, inputs, by=pilot, journal=journal):
        warn(line)
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
    paper: PaperOption = Paper.A4,
    every: Annotated[bool, typer.Option("--all", help="List all runs, also those over.")] = False,
) -> None:
    """Show how a run stands, and what keeps it open."""
    from triage.render.text import to_text
    from triage.render.update_run import status as outline
    from triage.update.run_log import all_runs, open_runs, reminder, run_called

    found = all_runs() if every else (run_called(run),) if run or page else open_runs()
    if not found:
        say("No update run is open.\n" if not every else "No update run yet.\n")
    for one in found:
        say(to_text(outline(one)))
    if page:
        _print(found[-1], page, paper.value)
    if line := reminder():
        say(f"{line}\n")


@app.command()
def done(
    step: StepArgument = "",
    version: Annotated[str, typer.Option(help="The version that the unit shows now.")] = "",
    charge: Annotated[int | None, typer.Option(help="Lowest charge of all units, in %.")] = None,
    value: Annotated[str, typer.Option(help="The value asked for, as read.")] = "",
    note: Annotated[str, typer.Option(help="What you saw.")] = "",
    restore: RestoreOption = None,
    keep: KeepOption = None,
    later: LaterOption = None,
    accept: Annotated[
        bool, typer.Option("--accept", help="Take a version or value other than the one wanted.")
    ] = False,
    run: RunOption = "",
) -> None:
    """Mark a step done; what was read is compared with what was wanted."""
    from triage.app.update import answers_from, do_step
    from triage.cli.update_day import answered, compared_shown
    from triage.domain.update_run import Needs
    from triage.update.given import Given

    found, chosen = _step(run, step)
    needs = chosen.step.needs
    answers = answers_from(tuple(restore or ()), tuple(keep or ()), tuple(later or ()))
    if at_terminal():
        if needs is Needs.VERSION and not version:
            version = ask(f"{chosen.step.title}. Version it shows now:") or ""
        if needs is Needs.CHARGE and charge is None:
            charge = _number(ask("Lowest charge of all units, in %:") or "")
        if needs is Needs.VALUE and not value:
            value = ask(f"{chosen.step.ask}:") or ""
    if needs is Needs.AFTER:
        note = note or compared_shown(found, chosen)
        if at_terminal() and not answers:
            answers = answered(found, chosen)
    given = Given(
        version=version, charge=charge, value=value, note=note, accept=accept, answers=answers
    )
    _marked(*do_step(found.id, chosen.step.id, given))


@app.command()
def card(
    run: RunOption = "",
    page: Annotated[
        Path, typer.Option("--print", help="File for the card (HTML), '-' for the screen.")
    ] = Path("-"),
    paper: PaperOption = Paper.A4,
) -> None:
    """Print the test flights that this release makes necessary, with room for values."""
    from triage.render.checklist import to_card
    from triage.update.run_log import run_called

    _write(to_card(run_called(run), paper.value), page)


@app.command()
def go(
    notes: Notes = None,
    form: FormatOption = None,
    policy: PolicyOption = None,
    kit: KitOption = None,
    unit: Annotated[str, typer.Option("--unit", help="This unit alone, with what it needs.")] = "",
    first: Annotated[
        str, typer.Option("--first", help="Spare or battery that moves and flies before its like.")
    ] = "",
    today: DayOption = None,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Begin though the advice is to wait.")
    ] = False,
    run: RunOption = "",
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Be led through the whole day, one key a step; stop and go on at any moment.

    Without notes it goes on with the run that is open.
    """
    from triage.cli.update_day import lead

    if notes is not None:
        start(notes, form, policy, kit, unit, first, today, anyway, None, pilot, journal)

    def close(id: str, owing: bool) -> None:
        close_and_tell(id, kit, None, pilot, journal, owing=owing)

    lead(run, kit, close)


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
    owing: Annotated[
        bool,
        typer.Option("--owing", help="Close it though skipped units or settings stay owed."),
    ] = False,
    kit: KitOption = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Close the run: the versions go into the kit, the run into the journal.

    A run that is over, named by --run, gets the journal entry that it lacks.
    """
    close_and_tell(run, kit, None, pilot, journal, owing=owing)


@app.command()
def abandon(
    reason: ReasonArgument = "",
    run: RunOption = "",
    kit: KitOption = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Close a run with steps left; only versions that were read back go into the kit."""
    close_and_tell(run, kit, reason, pilot, journal)


def close_and_tell(
    run: str,
    kit: Path | None,
    abandoned: str | None,
    pilot: str | None,
    journal: str | None,
    *,
    owing: bool = False,
) -> None:
    """Close a run and say what it came to."""
    from triage.app.update import close_run

    over = close_run(run, abandoned=abandoned, owing=owing, kit=kit, by=pilot, journal=journal)
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
        say(f"Kept in the journal as entry {over.entry}.\n")


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


def _print(run: Run, page: Path | None, paper: str = "A4") -> None:
    if page is not None:
        from triage.render.checklist import to_page

        _write(to_page(run, paper), page)


def _write(text: str, page: Path) -> None:
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
