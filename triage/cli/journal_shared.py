"""Options and steps that the commands of `triage journal` share."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterable
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli.out import say, warn
from triage.errors import ConfigError

if TYPE_CHECKING:
    from triage.domain.journal import Entry, Later
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
    from triage.journal.followups import add_later

    store = opened(journal)
    entry = add_later(store, payload, pilot_named(pilot, store))
    remark(store)
    say(f"Kept as entry {entry.seq}, about entry {payload.about}.\n")


def remark(store: Journal) -> None:
    """Warn of a fault that lost no entry."""
    if store.remark:
        warn(store.remark)


def pilot_named(stated: str | None, store: Journal) -> str:
    """Who writes."""
    named = stated if stated is not None else os.environ.get("TRIAGE_PILOT", "")
    if not named and store.shared:
        import getpass
        from contextlib import suppress

        with suppress(KeyError, OSError):  # a login that the system has no name for
            named = getpass.getuser()
    return named


def stated_day(option: str, text: str | None) -> dt.date | None:
    """The day named by an option."""
    if text is None:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise ConfigError(
            f"{option}: '{text}' is no date", mend="write it as YYYY-MM-DD"
        ) from error


def say_outline(outline: Outline) -> None:
    """Print an outline."""
    from triage.render.text import to_text

    say(to_text(outline))


def say_entries(entries: Iterable[Entry], json: bool) -> None:
    """Print records, one a line."""
    for entry in entries:
        say(entry.model_dump_json() + "\n")
