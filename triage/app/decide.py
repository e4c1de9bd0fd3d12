"""Use case: record an advice with the operator's own decision."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

from triage.app.environment import pilot
from triage.domain.answer import Advice, Inputs
from triage.domain.choice import Choice
from triage.domain.journal import JournalEntry
from triage.journal.record_decision import record_decision
from triage.journal.store import open_journal


def decide(
    advice: Advice,
    inputs: Inputs,
    choice: Choice,
    reason: str,
    *,
    apart: Mapping[str, Choice] | None = None,
    due: dt.date | None = None,
    by: str | None = None,
    journal: str | None = None,
) -> tuple[JournalEntry, str]:
    """The entry written, and a remark on a fault that lost no entry, '' when there is none.

    `apart` names units decided otherwise than the rest, `due` the day of the review, `by` the
    pilot. StoreError when there is nothing to decide or the entry could not be written.
    """
    store = open_journal(journal, create=True)
    who = pilot(by, shared=store.shared)
    entry = record_decision(store, advice, inputs, choice, reason, apart=apart, due=due, pilot=who)
    return entry, store.remark
