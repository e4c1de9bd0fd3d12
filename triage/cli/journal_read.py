"""`triage journal list|show|search|due|stats|replay`: what is read."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from triage.cli.journal_shared import (
    JournalOption,
    LimitOption,
    NamesOption,
    opened,
    say_entries,
    say_outline,
)
from triage.cli.out import say
from triage.cli.shared import DayOption, day

MOST = 1000  # reviews shown at once


class Sort(StrEnum):
    """Sorts of entries."""

    DECISION = "decision"
    OUTCOME = "outcome"
    REVIEW = "review"
    CORRECTION = "correction"
    UPDATE = "update"


def list_(
    limit: LimitOption = 20,
    before: Annotated[int | None, typer.Option(help="Only entries before this one.")] = None,
    kind: Annotated[Sort | None, typer.Option("--only", help="Only entries of one sort.")] = None,
    json: Annotated[bool, typer.Option("--json", help="Print records as JSON Lines.")] = False,
    journal: JournalOption = None,
) -> None:
    """List entries, the newest first."""
    from triage.cli.shared import remind
    from triage.render.journal import listing

    remind()
    found = opened(journal).newest(limit=limit, before=before, kind=kind.value if kind else None)
    say_entries(found, json) if json else say_outline(listing(found, "Journal"))


def show(
    entry: Annotated[int, typer.Argument(help="Number of an entry.")],
    notes: Annotated[bool, typer.Option("--notes", help="Print the notes as they were.")] = False,
    json: Annotated[bool, typer.Option("--json", help="Print records as JSON Lines.")] = False,
    journal: JournalOption = None,
) -> None:
    """Show a decision with everything written about it since, update runs with it."""
    from triage.app.journal import with_later
    from triage.domain.journal import RecordedDecision
    from triage.render.journal import decision_shown

    store = opened(journal)
    decision, *later = with_later(store, entry)
    kept = decision.record.payload
    if notes and isinstance(kept, RecordedDecision):
        say(store.attachment(kept.notes.sha256).decode("utf-8", "replace"))
        return
    say_entries((decision, *later), json) if json else say_outline(decision_shown(decision, later))


def search(
    words: Annotated[list[str], typer.Argument(help="All of them; land* finds landing too.")],
    limit: LimitOption = 20,
    json: Annotated[bool, typer.Option("--json", help="Print records as JSON Lines.")] = False,
    journal: JournalOption = None,
) -> None:
    """Find entries by words of the notes, reasons, reviews and outcomes."""
    from triage.cli.shared import remind
    from triage.render.journal import listing

    remind()
    found = opened(journal).search(" ".join(words), limit)
    say_entries(found, json) if json else say_outline(listing(found, f"Found: {' '.join(words)}"))


def due(
    until: Annotated[
        str | None, typer.Option(metavar="DAY", help="Up to this day; else 30 days ahead.")
    ] = None,
    calendar: Annotated[
        Path | None, typer.Option("--calendar", help="Write an iCalendar file (.ics) too.")
    ] = None,
    without_names: NamesOption = False,
    today: DayOption = None,
    journal: JournalOption = None,
) -> None:
    """List reviews by date, and put them into a calendar."""
    from triage.app.environment import day_named
    from triage.app.journal import kept_of
    from triage.render.journal import reviews_shown as outline

    on, store = day(today), opened(journal)
    last = day_named("--until", until) or on + dt.timedelta(days=30)
    found = [(entry, kept_of(store, entry)) for entry in store.due(last, limit=MOST)]
    say_outline(outline(found, on))
    if len(found) == MOST:
        say(f"Only the first {MOST} are shown.\n")
    if calendar is not None:
        from triage.journal.review_calendar import to_ical
        from triage.journal.whole_file import whole_file

        with whole_file(calendar) as file:
            file.write(to_ical(store.id, found, names=not without_names).decode())
        say(f"Written: {calendar}\n")


def stats(
    json: Annotated[bool, typer.Option("--json", help="Print figures as JSON.")] = False,
    journal: JournalOption = None,
) -> None:
    """Show how decisions went, how well the certainty held, and what waiting avoided."""
    from triage.journal.history import cases
    from triage.journal.learning import stats as count
    from triage.journal.record_update import updates
    from triage.render.journal_learnt import learnt

    store = opened(journal)
    found = count(cases(store), updates(store))
    say(found.model_dump_json(indent=2) + "\n") if json else say_outline(learnt(found))


def replay(
    entry: Annotated[int, typer.Argument(help="The decision's entry.")],
    journal: JournalOption = None,
) -> None:
    """Compute the advice of an entry once more, and say what differs and why."""
    from triage.app.journal import replay_entry as again
    from triage.app.read import engine
    from triage.render.journal import replay_shown

    say_outline(replay_shown(again(journal, entry, engine())))
