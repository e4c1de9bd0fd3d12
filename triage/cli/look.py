"""`triage look`: what was seen of a release in the field."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from triage.app.environment import today
from triage.cli.out import say, warn

if TYPE_CHECKING:
    from triage.domain.reports import LookGroup

app = typer.Typer(help="Record what you saw of a release in the field.", no_args_is_help=True)


class Saw(StrEnum):
    """What a look found."""

    CLEAN = "clean"
    PROBLEM = "problem"


@app.command()
def add(
    version: Annotated[str, typer.Argument(help="The release, as the notes write it.")],
    seen: Annotated[Saw, typer.Argument(help="What you saw.")],
    words: Annotated[str, typer.Argument(help="What was said, in short.")] = "",
    where: Annotated[str, typer.Option(help="Where you looked: a forum, a colleague.")] = "",
    users: Annotated[int, typer.Option(min=1, help="How many users it speaks for.")] = 1,
    function: Annotated[
        str, typer.Option(help="The function affected; see: triage kit use --list.")
    ] = "",
    component: Annotated[
        str, typer.Option(help="What the release is for; see: triage kit kinds.")
    ] = "",
    unit: Annotated[str, typer.Option(help="The maker's name of it.")] = "",
    flights: Annotated[int, typer.Option(min=1, help="How many flights each of them made.")] = 1,
    outcome: Annotated[
        str, typer.Option(help="What happened: falls, flies-away, link-lost, nuisance...")
    ] = "",
    explained: Annotated[
        str, typer.Option(help="Why the release is not to blame for the trouble.")
    ] = "",
    day: Annotated[
        dt.datetime | None, typer.Option(formats=["%Y-%m-%d"], help="When; today by default.")
    ] = None,
) -> None:
    """Record one act of watching."""
    from triage.domain.reports import Seen
    from triage.reports import add as record
    from triage.reports import grouped, read
    from triage.reports.stated_report import stated

    on = today()
    look = stated(
        version,
        Seen(seen.value),
        day.date() if day else on,
        today=on,
        where=where,
        component=component,
        unit=unit,
        users=users,
        function=function,
        words=words,
        flights=flights,
        outcome=outcome,
        explained=explained,
    )
    if torn := record(look):
        warn(f"a look that was cut short was set aside in looks.jsonl.torn: {torn[:60]}")
    group = next(group for group in reversed(grouped(read().looks)) if look in group.looks)
    say(f"Recorded: {_line(group)}\n")


@app.command("list")
def list_(
    version: Annotated[str, typer.Argument(help="Only this release.")] = "",
    json: Annotated[bool, typer.Option("--json", help="Print as JSON lines.")] = False,
) -> None:
    """Show the looks; near-duplicates stand together and count once."""
    from triage.kit.versions import compare
    from triage.reports import grouped, read

    found = read()
    if found.torn:
        warn(f"the last look was cut short and is not counted: {found.torn[:60]}")
    groups = [
        group
        for group in grouped(found.looks)
        if not version or compare(group.counted.version, version) == 0
    ]
    if json:
        say("".join(group.model_dump_json() + "\n" for group in groups))
    else:
        lines = "".join(f"{_line(group)}\n" for group in groups)
        say(lines or "No looks yet; add one with: triage look add\n")


def _line(group: LookGroup) -> str:
    """One report in a line, and why others are counted with it."""
    look = group.counted
    thing = " ".join(part for part in (look.unit or look.component, look.version) if part)
    users = "1 user" if look.users == 1 else f"{look.users} users"
    line = f"{look.day}  {thing}  {look.seen}, {users}"
    line += f", {look.flights} flights each" if look.flights > 1 else ""
    line += f", {look.outcome}" if look.outcome else ""
    line += f", explained: {look.explained}" if look.explained else ""
    for part in (look.function, look.where):
        line += f", {part}" if part else ""
    line += f": {look.words}" if look.words else ""
    if len(group.looks) > 1:
        line += f"\n  {len(group.looks)} looks counted once: {group.reason}"
    return line
