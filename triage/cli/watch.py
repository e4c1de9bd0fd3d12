"""`triage watch`: releases under watch, what to watch for, and when to check again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli.out import read_source, say, warn
from triage.cli.shared import (
    DayOption,
    FormatOption,
    KitOption,
    Notes,
    PolicyOption,
    UnitOption,
    day,
    source_format,
    wanted_by,
)

if TYPE_CHECKING:
    from triage.domain.watch import Watch

app = typer.Typer(
    help="Watch releases: what each waits for, and when the next check is due.",
    invoke_without_command=True,
)


@app.callback()
def list_(
    context: typer.Context,
    policy: PolicyOption = None,
    kit: KitOption = None,
    today: DayOption = None,
    json: Annotated[bool, typer.Option("--json", help="Print as JSON lines.")] = False,
) -> None:
    """Weigh every release under watch anew, and list what to watch for and when."""
    if context.invoked_subcommand is not None:
        return
    from triage.app.read import engine
    from triage.app.watch import reassess, watched
    from triage.render.text import to_text
    from triage.render.watch import watching

    found, wanted = watched(), wanted_by(policy, kit, "", today)
    for fault in found.faults:
        warn(fault)
    rows: tuple[Watch, ...] = ()
    if found.watched:
        rows = reassess(found.watched, engine(), wanted, fault=warn)
    if json:
        say("".join(row.model_dump_json() + "\n" for row in rows))
    else:
        say(to_text(watching(rows, day(today))))


@app.command()
def add(
    notes: Notes = None,
    form: FormatOption = None,
    unit: UnitOption = "",
    name: Annotated[str, typer.Option("--name", help="Name for them; by default the file's.")] = "",
    today: DayOption = None,
) -> None:
    """Put release notes under watch; the same notes twice are one."""
    from triage.app.watch import watch_notes

    data, called = read_source(notes)
    line = watch_notes(
        data, called, called=name, format=source_format(form), unit=unit, day=day(today)
    )
    say(f"{line[:1].upper()}{line[1:]}.\n")


@app.command()
def drop(
    name: Annotated[str, typer.Argument(help="Their name, or the start of their digest.")],
) -> None:
    """Take notes from under watch."""
    from triage.app.watch import drop as remove

    say(f"No longer under watch: {remove(name)}.\n")
