"""Use case: the journal opened, added to later, and an entry's advice computed once more."""

from __future__ import annotations

from functools import partial

from triage.app.assess import advise
from triage.app.environment import pilot
from triage.app.read import Engine, read_and_judge
from triage.domain.answer import Advice, Inputs
from triage.domain.journal import JournalEntry, Later, RecordedDecision
from triage.domain.judged import JudgedNotes
from triage.journal.followups import add_later
from triage.journal.replay import Replay, replay
from triage.journal.store import Journal, open_journal


def add_followup(
    payload: Later, by: str | None = None, journal: str | None = None
) -> tuple[JournalEntry, str]:
    """Record a later entry; returns it, and a remark on a fault that lost no entry."""
    store = open_journal(journal)
    entry = add_later(store, payload, pilot(by, shared=store.shared))
    return entry, store.remark


def kept_of(store: Journal, entry: JournalEntry) -> RecordedDecision:
    """The decision that an entry is, or is about."""
    payload = entry.record.payload
    if not isinstance(payload, RecordedDecision):
        payload = store.entry(payload.about).record.payload
    assert isinstance(payload, RecordedDecision)
    return payload


def with_later(store: Journal, seq: int) -> tuple[JournalEntry, ...]:
    """A decision, or the one that entry `seq` is about, with everything written since."""
    payload = store.entry(seq).record.payload
    return store.about(seq if isinstance(payload, RecordedDecision) else payload.about)


def replay_entry(journal: str | None, seq: int, engine: Engine) -> Replay:
    """The advice of entry `seq` computed once more, and what differs."""
    return replay(open_journal(journal), seq, partial(read_and_judge, engine=engine), advise_again)


def advise_again(judged: JudgedNotes, stored: RecordedDecision) -> Advice:
    """The advice from the inputs that an entry keeps."""
    inputs = Inputs(
        data=b"",
        kit=stored.kit,
        policy=stored.policy,
        day=stored.day,
        evidence=stored.evidence,
        reports=stored.reports,
        unit=stored.unit,
        recorded=stored.recorded,
        prior_flights=stored.prior_flights,
        prior_record=stored.prior_record,
        first_seen=stored.first_seen,
        needs=stored.needs,
    )
    return advise(judged, inputs)
