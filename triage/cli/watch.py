"""`triage watch`: releases under watch, what to look for, and when to look next."""

from __future__ import annotations

import datetime as dt
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
    policy_named,
)

if TYPE_CHECKING:
    from triage.domain.notes import Source
    from triage.domain.watch import Watch

app = typer.Typer(
    help="Watch releases: what each waits for, and when the next look is due.",
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
    """Weigh every release under watch anew, and list what to look for and when."""
    if context.invoked_subcommand is not None:
        return
    from triage.app.pipeline import engine
    from triage.app.watch import standing
    from triage.classify.corrections import settled_in
    from triage.kit import load
    from triage.render.text import to_text
    from triage.render.watch import watching
    from triage.reports import read
    from triage.watch.watch_store import watched

    found, on = watched(), day(today)
    for fault in found.faults:
        warn(fault)
    rows: tuple[Watch, ...] = ()
    if found.watched:
        rows = standing(
            found.watched,
            engine(),
            load(kit),
            policy_named(policy),
            read().looks,
            today=on,
            settled=settled_in(),
            fault=warn,
        )
    if json:
        say("".join(row.model_dump_json() + "\n" for row in rows))
    else:
        say(to_text(watching(rows, on)))


@app.command()
def add(
    notes: Notes = None,
    form: FormatOption = None,
    unit: UnitOption = "",
    name: Annotated[str, typer.Option("--name", help="What to call them; else the file's.")] = "",
    today: DayOption = None,
) -> None:
    """Put release notes under watch; the same notes twice are one."""
    from triage.domain.notes import SourceFormat
    from triage.notes import read

    data, called = read_source(notes)
    source = read(data, called, format=SourceFormat(form.value) if form else None).source
    line = keep(data, source, unit, day(today), name)
    say(f"{line[:1].upper()}{line[1:]}.\n")


@app.command()
def drop(
    name: Annotated[str, typer.Argument(help="What they are called, or their digest.")],
) -> None:
    """Take notes from under watch."""
    from triage.watch.watch_store import drop as remove

    say(f"No longer under watch: {remove(name)}.\n")


def keep(data: bytes, source: Source, unit: str, on: dt.date, name: str = "") -> str:
    """Put notes that were read under watch; what came of it in a line."""
    from triage.domain.watch import Watched
    from triage.watch.watch_store import keep as store
    from triage.watch.watch_store import watched

    new = Watched(
        sha256=source.sha256,
        name=name.strip() or source.name,
        format=source.format,
        unit=unit,
        added=on,
    )
    known = [one for one in watched().watched if one.sha256 == new.sha256]
    kept = store(data, new)
    if known:
        return f"under watch already, since {kept.added.isoformat()}: {kept.name}"
    others = [one for one in watched().watched if one.name == kept.name and one != kept]
    line = f"under watch: {kept.name}; see: triage watch"
    if others:
        older = ", ".join(one.sha256[:12] for one in others)
        line += f" (other notes of that name are too; to drop them: triage watch drop {older})"
    return line
