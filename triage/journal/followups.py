"""What is written after a decision: outcomes, reviews and corrections, each checked first."""

from __future__ import annotations

from collections.abc import Iterable

from triage.domain.journal import (
    Correction,
    Decision,
    DecisionOutcome,
    JournalEntry,
    Later,
    RecordedDecision,
    Result,
    Review,
    Updated,
)
from triage.errors import StoreError
from triage.journal.store import Journal


def add_later(journal: Journal, payload: Later, pilot: str = "") -> JournalEntry:
    """Record an outcome, review or correction; StoreError when it does not fit its decision.

    What corrects an earlier entry leaves the review due that was due, unless it states another.
    """
    checked(journal, payload)
    corrects = payload.corrects is not None or isinstance(payload, Correction)
    if corrects and payload.due is None:
        last = journal.about(payload.about)[-1].record.payload
        payload = payload.model_copy(update={"due": last.due})
    return journal.add(payload, words=followup_words(payload), pilot=pilot)


def checked(journal: Journal, payload: Later) -> RecordedDecision:
    """The decision spoken of."""
    decision = decision_in(journal.entry(payload.about))
    named: Iterable[str] = ()
    if isinstance(payload, DecisionOutcome):
        named = payload.units
        _checked_outcome(payload)
    elif isinstance(payload, Correction):
        named = [label for d in payload.decisions for label in d.units]
    known = [label for d in decision.decisions for label in d.units]
    for label in named:
        if label not in known:
            raise StoreError(
                f"entry {payload.about} decides nothing about '{label}'",
                mend=f"units are: {', '.join(known)}",
            )
    if payload.corrects is not None:
        replaced = journal.entry(payload.corrects).record.payload
        if replaced.kind != payload.kind or getattr(replaced, "about", 0) != payload.about:
            raise StoreError(
                f"entry {payload.corrects} is no {payload.kind} about entry {payload.about}",
                mend=f"`triage journal show {payload.about}` lists them",
            )
    return decision


def decision_in(entry: JournalEntry) -> RecordedDecision:
    """The decision that an entry is; StoreError naming the one it is about."""
    payload = entry.record.payload
    if isinstance(payload, RecordedDecision):
        return payload
    if isinstance(payload, Updated) and payload.about == entry.seq:
        raise StoreError(
            f"entry {entry.seq} is an update run without a decision",
            mend="keep a decision first: triage journal keep",
        )
    raise StoreError(f"entry {entry.seq} is no decision", mend=f"name entry {payload.about}")


def _checked_outcome(outcome: DecisionOutcome) -> None:
    told = outcome.function or outcome.severity is not None or outcome.went_back
    if outcome.result is Result.WELL and told:
        raise StoreError(
            "function, severity and going back tell of a problem",
            mend="state the result 'problem', or leave them out",
        )


def followup_words(payload: Later) -> str:
    """What a later entry is found by."""
    if isinstance(payload, DecisionOutcome):
        return "\n".join((payload.words, payload.avoided, payload.function, *payload.units))
    if isinstance(payload, Review):
        return payload.words
    return "\n".join((payload.words, *(d.reason for d in payload.decisions)))


def in_force(decision: RecordedDecision, later: Iterable[JournalEntry]) -> tuple[Decision, ...]:
    """The decisions as corrected, in the order first written."""
    standing = {d.units: d for d in decision.decisions}
    for entry in later:
        if isinstance(entry.record.payload, Correction):
            for d in entry.record.payload.decisions:
                for units in standing:
                    if set(d.units) & set(units):
                        standing[units] = d.model_copy(update={"units": units})
    return tuple(standing.values())


def outcomes_in_force(later: Iterable[JournalEntry]) -> tuple[tuple[int, DecisionOutcome], ...]:
    """Outcomes that no later one replaces, oldest first, with their entries' numbers."""
    found: dict[int, DecisionOutcome] = {}
    for entry in later:
        payload = entry.record.payload
        if isinstance(payload, DecisionOutcome):
            if payload.corrects is not None:
                found.pop(payload.corrects, None)
            found[entry.seq] = payload
    return tuple(found.items())
