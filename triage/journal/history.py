"""Decisions with how they went, one for each group of units, in the order they were written."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from itertools import islice

from sqlalchemy import select

from triage.domain.advice import Verdict
from triage.domain.base import Frozen
from triage.domain.journal import (
    Advised,
    Decision,
    DecisionOutcome,
    JournalEntry,
    RecordedDecision,
    Result,
)
from triage.journal.canonical import read_entry
from triage.journal.followups import in_force, outcomes_in_force
from triage.journal.schema import entry
from triage.journal.store import BATCH, Journal


class PastDecision(Frozen):
    """One group of units in one decision; `outcome` is the last that stands, None while none does.

    `problems` are all outcomes that tell of a problem, `flights` the most any outcome speaks for.
    """

    seq: int
    pilot: str
    day: dt.date
    source: str
    advised: Advised
    decision: Decision
    outcome: DecisionOutcome | None
    problems: tuple[DecisionOutcome, ...]
    avoided: tuple[str, ...]
    flights: int
    due: dt.date | None

    @property
    def followed(self) -> bool:
        """Whether the operator did as advised."""
        return self.decision.choice is self.advised.verdict

    @property
    def updated(self) -> bool:
        """Whether the operator decided to update."""
        return self.decision.choice is Verdict.UPDATE


def cases(journal: Journal) -> Iterator[PastDecision]:
    """All of them, a batch at a time."""
    entries = journal.entries()
    while batch := list(islice(entries, BATCH)):
        decisions = [e for e in batch if isinstance(e.record.payload, RecordedDecision)]
        later = _later(journal, [e.seq for e in decisions])
        for decision in decisions:
            yield from cases_of(decision, later.get(decision.seq, []))


def cases_of(decision: JournalEntry, later: Iterable[JournalEntry]) -> Iterator[PastDecision]:
    """The cases of one decision."""
    payload, later = decision.record.payload, list(later)
    assert isinstance(payload, RecordedDecision)
    outcomes = [outcome for _, outcome in outcomes_in_force(later)]
    due = later[-1].record.payload.due if later else payload.due
    for standing in in_force(payload, later):
        advised = next(a for a in payload.advised if a.units == standing.units)
        about = [o for o in outcomes if not o.units or set(o.units) & set(standing.units)]
        yield PastDecision(
            seq=decision.seq,
            pilot=decision.record.pilot,
            day=payload.day,
            source=payload.source,
            advised=advised,
            decision=standing,
            outcome=_telling(about),
            problems=tuple(o for o in about if o.result is Result.PROBLEM),
            avoided=tuple(o.avoided for o in about if o.avoided),
            flights=max((o.flights or 0 for o in about), default=0),
            due=due,
        )


def _telling(outcomes: list[DecisionOutcome]) -> DecisionOutcome | None:
    """The outcome that tells how it went in all: a problem once met is not undone by later calm."""
    problems = [o for o in outcomes if o.result is Result.PROBLEM]
    telling = problems or outcomes
    return telling[-1] if telling else None


def _later(journal: Journal, decisions: list[int]) -> dict[int, list[JournalEntry]]:
    columns = entry.c
    query = (
        select(columns.seq, columns.about, columns.record, columns.digest)
        .where(columns.about.in_(decisions), columns.seq != columns.about)
        .order_by(columns.seq)
    )
    found: dict[int, list[JournalEntry]] = {}
    with journal.reading() as connection:
        for row in connection.execute(query):
            found.setdefault(row.about, []).append(read_entry(row.record, row.digest, row.seq))
    return found
