"""`triage report`: what was seen of a release in the field."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli.out import say, warn

if TYPE_CHECKING:
    from triage.domain.reports import ReportGroup

app = typer.Typer(
    help="Record and list field reports: what was seen of a release.", no_args_is_help=True
)


class Saw(StrEnum):
    """What was seen."""

    CLEAN = "clean"
    PROBLEM = "problem"


@app.command()
def add(
    version: Annotated[str, typer.Argument(help="The release, as the notes write it.")],
    seen: Annotated[Saw, typer.Argument(help="What you saw.")],
    words: Annotated[str, typer.Argument(help="What was said, in short.")] = "",
    where: Annotated[str, typer.Option(help="Where you saw it: a forum, a colleague.")] = "",
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
    """Record a field report."""
    from triage.app.report import record_report as record
    from triage.domain.reports import Seen
    from triage.reports.stated_report import Draft

    draft = Draft(
        version=version,
        seen=Seen(seen.value),
        day=day.date() if day else None,
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
    group, torn = record(draft)
    if torn:
        warn(f"a report that was cut short was set aside in a file of its own: {torn[:60]}")
    say(f"Recorded: {_line(group)}\n")


@app.command("list")
def list_(
    version: Annotated[str, typer.Argument(help="Only this release.")] = "",
    json: Annotated[bool, typer.Option("--json", help="Print as JSON lines.")] = False,
) -> None:
    """List field reports; near-duplicates stand together and count once."""
    from triage.app.report import listed

    found = listed(version)
    if found.torn:
        warn(f"the last report was cut short and is not counted: {found.torn[:60]}")
    if json:
        say("".join(group.model_dump_json() + "\n" for group in found.groups))
    else:
        lines = "".join(f"{_line(group)}\n" for group in found.groups)
        say(lines or "No reports yet; add one with: triage report add\n")


def _line(group: ReportGroup) -> str:
    """One report in a line, and why others are counted with it."""
    report = group.counted
    thing = " ".join(part for part in (report.unit or report.component, report.version) if part)
    users = "1 user" if report.users == 1 else f"{report.users} users"
    line = f"{report.day}  {thing}  {report.seen}, {users}"
    line += f", {report.flights} flights each" if report.flights > 1 else ""
    line += f", {report.outcome}" if report.outcome else ""
    line += f", explained: {report.explained}" if report.explained else ""
    for part in (report.function, report.where):
        line += f", {part}" if part else ""
    line += f": {report.words}" if report.words else ""
    if len(group.reports) > 1:
        line += f"\n  {len(group.reports)} reports counted once: {group.reason}"
    return line
