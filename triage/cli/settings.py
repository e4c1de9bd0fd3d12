"""`triage settings`: record a unit's settings, and compare two records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli.asking import agreed, ask, at_terminal, pasted
from triage.cli.out import read_source, say
from triage.cli.shared import FormatOption, KitOption, Notes, judged
from triage.errors import StoreError

if TYPE_CHECKING:
    from triage.domain.snapshots import Origin, SnapshotComparison
    from triage.settings.entries import Doubt
    from triage.settings.read_settings import SettingsFound
    from triage.settings.recording_session import Recording
    from triage.settings.snapshots import NumberedSnapshot

app = typer.Typer(
    help="Record a unit's settings before an update and compare them after it.",
    no_args_is_help=True,
)

UnitArgument = Annotated[str, typer.Argument(help="Label of the unit, as in your kit.")]
AskOption = Annotated[
    bool, typer.Option("--ask", help="Ask on standard input though it is no terminal.")
]
_HINT = "Enter leaves it out, = is as last time, . ends the list.\n"


@app.command()
def record(
    unit: UnitArgument,
    sources: Annotated[
        list[str] | None,
        typer.Argument(
            help="Text, CSV, JSON, TOML or picture; '-' for standard input; else type them."
        ),
    ] = None,
    paste: Annotated[bool, typer.Option("--paste", help="Paste the settings as text.")] = False,
    yes: Annotated[
        bool, typer.Option("--yes", help="Take what is only odd without asking; not pictures.")
    ] = False,
    ask_: AskOption = False,
    kit: KitOption = None,
) -> None:
    """Keep a dated snapshot of a unit's settings."""
    from triage.app.settings import keep_recording, recording
    from triage.domain.snapshots import Origin
    from triage.settings.read_settings import read_settings

    session, asking = recording(unit, kit), ask_ or at_terminal()
    if not sources and not at_terminal() and not ask_ and not paste:
        sources = ["-"]
    if asking:
        _resume(session)
    origin = Origin.TYPED
    if paste:
        found = read_settings(pasted("the settings").encode(), "paste", pasted=True)
        origin = _take(session, found, "paste", asking=asking, yes=yes)
    for source in sources or ():
        data, name = read_source(source)
        found = read_settings(data, name, pasted=source == "-")
        origin = _take(session, found, name, asking=asking, yes=yes)
    if not sources and not paste:
        _type_all(session)
    else:
        _confirm_lines(session, asking=at_terminal() and not yes)
    if (odd := session.strange()) and not yes and not (asking and agreed(odd)):
        raise StoreError(f"not recorded: {odd}", mend="name the right unit, or add --yes")
    _tell(keep_recording(session, origin))


@app.command("compare")
def compare_(
    first: Annotated[str, typer.Argument(help="A unit, or the number of the earlier snapshot.")],
    second: Annotated[str, typer.Argument(help="The number of the later snapshot.")] = "",
    notes: Annotated[
        str | None, typer.Option("--notes", help="Release notes; else those of the unit's run.")
    ] = None,
    form: FormatOption = None,
    confirm: Annotated[
        bool, typer.Option("--confirm", help="Ask about each guess, and remember the answers.")
    ] = False,
) -> None:
    """Set two snapshots side by side: changed, gone, new, the same."""
    from triage.app.read import engine
    from triage.app.settings import announced, compared, touching, two_snapshots
    from triage.render.settings import snapshots_compared
    from triage.render.text import to_text

    before, after = two_snapshots(first, second)
    read = judged(notes, form, engine()) if notes else None
    told, rows = announced(after.snapshot.unit, read), touching(before, read)
    found = compared(before, after, told, rows)
    say(to_text(snapshots_compared(found)))
    if confirm and _confirmed(found):
        say("\n" + to_text(snapshots_compared(compared(before, after, told, rows))))


@app.command("list")
def list_(
    unit: Annotated[str, typer.Argument(help="Only this unit.")] = "",
    fields: Annotated[
        bool, typer.Option("--fields", help="List the settings that are asked for.")
    ] = False,
) -> None:
    """List the snapshots."""
    from triage.render.settings import snapshots
    from triage.render.text import to_text
    from triage.settings.setting_tables import fields as known
    from triage.settings.snapshots import by_unit

    if fields:
        say(
            "".join(f"{field.name} ({', '.join(field.units) or field.kind})\n" for field in known())
        )
        return
    found = {u: k for u, k in by_unit().items() if not unit or u.casefold() == unit.casefold()}
    say(to_text(snapshots(found)) if found else "No snapshots yet: triage settings record UNIT\n")


@app.command()
def show(number: Annotated[int, typer.Argument(help="Number of the snapshot.")]) -> None:
    """Show one snapshot, every value."""
    from triage.render.settings import snapshot
    from triage.render.text import to_text
    from triage.settings.snapshots import snapshot_numbered

    say(to_text(snapshot(snapshot_numbered(number))))


@app.command()
def correct(
    number: Annotated[int, typer.Argument(help="Number of the snapshot.")],
    values: Annotated[
        list[str] | None, typer.Argument(help="'name=value' for each that is wrong or missing.")
    ] = None,
    drop: Annotated[
        list[str] | None, typer.Option("--drop", help="A setting that does not belong in it.")
    ] = None,
    reason: Annotated[str, typer.Option("--reason", help="Why.")] = "",
) -> None:
    """Correct a snapshot; what was first recorded stays in the record."""
    from triage.app.settings import corrected
    from triage.render.settings import snapshot
    from triage.render.text import to_text

    say(to_text(snapshot(corrected(number, values or (), drop or (), reason))))


@app.command()
def changes(
    unit: UnitArgument,
    notes: Notes = None,
    form: FormatOption = None,
    kit: KitOption = None,
) -> None:
    """Tell what a release does to your own settings, with values."""
    from triage.app.read import engine
    from triage.app.settings import settings_touched
    from triage.render.setting_rows import in_points
    from triage.render.text import to_text

    say(to_text(tuple(in_points(settings_touched(judged(notes, form, engine()), unit, kit)))))


def _confirm_lines(session: Recording, *, asking: bool) -> None:
    """Show what was read, line by line, and take what is put right."""
    from triage.render.settings import as_read
    from triage.render.text import to_text

    while True:
        say(to_text(as_read(session.as_read(), session.passed_over)))
        if not asking:
            return
        reply = ask("Is all of it right? [y, or the number of a wrong line]")
        if reply is None or reply.casefold() in ("n", "no"):
            raise StoreError("not recorded", mend="put the text right and record it again")
        if reply.casefold() in ("", "y", "yes"):
            return
        if not reply.isdecimal():
            say("Answer y, or the number at the left of a line.\n")
            continue
        value = ask("What does it show? [the value, Enter = leave it out]") or ""
        _ask(session, session.change(int(reply), value))


def _resume(recording: Recording) -> None:
    if left := recording.draft():
        if agreed(
            f"{len(left)} values of {recording.unit} were typed but not kept; go on from them?"
        ):
            recording.resume(left)
        else:
            recording.drop_draft()


def _take(
    recording: Recording, found: SettingsFound, name: str, *, asking: bool, yes: bool
) -> Origin:
    from triage.settings.entries import AnswerKind
    from triage.settings.recording_session import refused

    doubts = recording.read(found, drafting=asking)
    if asking:
        for doubt in doubts:
            _ask(recording, doubt)
        return found.origin
    takes = yes and found.picture is None
    hard = [d for d in doubts if not takes or d.answer is AnswerKind.VALUE]
    if hard:
        raise refused(hard, name)
    for doubt in doubts:
        recording.answer(doubt, "y")
    return found.origin


def _ask(recording: Recording, doubt: Doubt | None) -> None:
    from triage.settings.entries import AnswerKind

    while doubt:
        keys = (
            "y, the value, Enter = leave out"
            if doubt.answer is AnswerKind.YES_OR_NO
            else ("the value, Enter = leave out")
        )
        place = f"line {doubt.line}: " if doubt.line else ""
        reply = ask(f"{place}{doubt.name}: {doubt.question} [{keys}]")
        if reply is None:
            raise StoreError(
                "stopped before the end; what you answered is kept",
                mend="the same command goes on from it",
            )
        doubt = recording.answer(doubt, reply)


def _type_all(recording: Recording) -> None:
    from triage.settings.setting_names import plain
    from triage.settings.setting_tables import fields

    say(f"Settings of {recording.unit}. {_HINT}")
    for field in fields():
        if plain(field.name) in recording.entries:
            continue
        last = recording.last_value(field)
        units = f" in {' or '.join(field.units)}" if field.units else ""
        reply = ask(f"{field.name}{units}{f' (last: {last})' if last else ''}:")
        if reply is None or reply == ".":
            break
        if reply:
            _ask(recording, recording.typed(field.name, reply))
    say("Others as name: value.\n")
    while reply := ask("name: value"):
        name, colon, value = reply.partition(":")
        if reply == ".":
            break
        if colon and value.strip():
            _ask(recording, recording.typed(name.strip(), value))
        else:
            say("Write a name, a colon and a value, or Enter to end.\n")


def _tell(kept: NumberedSnapshot) -> None:
    from triage.settings.legal_limits import outside

    taken = kept.snapshot
    say(f"Recorded snapshot {kept.number}: {len(taken.entries)} settings of {taken.unit}.\n")
    for entry in taken.entries:
        for flag in outside(entry):
            say(f"{entry.name}: {flag.text}.\n")


def _confirmed(compared: SnapshotComparison) -> bool:
    """Ask about each guess; whether there was an answer to remember."""
    from triage.domain.snapshots import Match, Renamed
    from triage.settings.snapshots import keep_renamed

    answers = []
    for found in compared.differences:
        if found.match is Match.GUESS and found.before and found.after:
            same = agreed(f"Is '{found.after.name}' what '{found.before.name}' was?")
            unit, old, new = compared.before.unit, found.before.name, found.after.name
            answers.append(Renamed(unit=unit, before=old, after=new, same=same))
    if answers:
        keep_renamed(answers)
    return bool(answers)
