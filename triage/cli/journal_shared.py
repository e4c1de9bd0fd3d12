"""Options and steps that the commands of `triage journal` share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli.out import say, warn

if TYPE_CHECKING:
    from triage.domain.journal import JournalEntry, Later
    from triage.journal.store import Journal
    from triage.render.outline import Outline

JournalOption = Annotated[
    str | None,
    typer.Option(
        "--journal", help="File or postgresql:// URL; else TRIAGE_JOURNAL, else your own file."
    ),
]
PilotOption = Annotated[
    str | None,
    typer.Option("--pilot", help="Who writes; else TRIAGE_PILOT, on a server the login name."),
]
NamesOption = Annotated[
    bool, typer.Option("--without-names", help="Leave out names, places and all free words.")
]
About = Annotated[int, typer.Argument(metavar="ENTRY", help="The decision's entry.")]
Corrects = Annotated[
    int | None, typer.Option("--corrects", metavar="ENTRY", help="An earlier entry it replaces.")
]
ReviewOption = Annotated[
    str | None,
    typer.Option("--review", metavar="DAY", help="When to look again, YYYY-MM-DD."),
]
LimitOption = Annotated[int, typer.Option("--limit", min=1, max=10_000, help="At most so many.")]


def opened(stated: str | None) -> Journal:
    """The journal named."""
    from triage.journal.store import open_journal

    return open_journal(stated)


def add(payload: Later, pilot: str | None, journal: str | None) -> None:
    """Record a later entry and say so."""
    from triage.app.journal import add_followup as record

    entry, fault = record(payload, pilot, journal)
    if fault:
        warn(fault)
    say(f"Kept as entry {entry.seq}, about entry {payload.about}.\n")


def remark(store: Journal) -> None:
    """Warn of a fault that lost no entry."""
    if store.remark:
        warn(store.remark)


def say_outline(outline: Outline) -> None:
    """Print an outline."""
    from triage.render.text import to_text

    say(to_text(outline))


def say_entries(entries: Iterable[JournalEntry], json: bool) -> None:
    """Print records, one a line."""
    for entry in entries:
        say(entry.model_dump_json() + "\n")
