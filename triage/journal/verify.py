"""Walks the chain from its beginning and names the first entry that is not as it was written."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from triage.domain.journal import JournalEntry, RecordedDecision
from triage.errors import StoreError
from triage.journal.canonical import digest, read_entry
from triage.journal.checkpoint import Anchor
from triage.journal.store import Journal
from triage.journal.writer import columns

_KNOWN = 20_000  # attachments remembered as sound; more are checked again, not forgotten


class Fault(NamedTuple):
    """The first entry that is altered or missing, and how that shows."""

    seq: int
    what: str


class Verified(NamedTuple):
    """How far the chain holds: that many `entries`, the last one's digest, and the first fault.

    `anchored` is the number of the entry that was remembered elsewhere, None when none was.
    """

    entries: int
    digest: str
    fault: Fault | None
    anchored: int | None


def verify(
    journal: Journal, noted: Anchor | None = None, progress: Callable[[int], None] | None = None
) -> Verified:
    """Check every entry and what it names, in bounded memory.

    `noted` is an end known from elsewhere, its digest whole or its beginning; the user's own anchor
    is checked as well.
    """
    anchors = [a for a in (journal.anchor(), noted) if a is not None]
    walk = _Walk(journal, {a.seq: a.digest for a in anchors})
    fault = None
    try:
        for seq, row in journal.rows():
            if fault := walk.fault_of(seq, row):
                break
            if progress and seq % 1000 == 0:
                progress(seq)
    except StoreError as error:
        fault = Fault(walk.seq + 1, f"cannot be read: {error.problem}")
    fault = fault or _cut_off(walk, anchors, journal.id)
    return Verified(walk.seq, walk.digest, fault, max((a.seq for a in anchors), default=None))


def _cut_off(walk: _Walk, anchors: Iterable[Anchor], id: str) -> Fault | None:
    for anchor in anchors:
        if anchor.journal != id:
            return Fault(1, "this is another journal than the one remembered")
        if anchor.seq > walk.seq:
            return Fault(
                walk.seq + 1,
                f"is missing: the journal ends at {walk.seq}, and entry {anchor.seq} had been "
                "written",
            )
    return None


class _Walk:
    def __init__(self, journal: Journal, remembered: dict[int, str]) -> None:
        self._journal = journal
        self._remembered = remembered
        self._sound: OrderedDict[str, None] = OrderedDict()
        self.seq, self.digest = 0, journal.id

    def fault_of(self, seq: int, row: Any) -> Fault | None:
        """The fault in the next row; where there is none, the walk has moved on to it."""
        wanted = self.seq + 1
        if seq != wanted:
            return Fault(wanted, "is missing")
        if digest(row.record) != row.digest:
            return Fault(seq, "was altered: it has not the digest written beside it")
        entry = read_entry(row.record, row.digest, seq)
        if entry.record.before != self.digest:
            at = max(self.seq, 1)
            return Fault(
                at, "was altered or replaced: the entry after it was written after another"
            )
        if not row.digest.startswith(self._remembered.get(seq, "")):
            return Fault(seq, "is not the one remembered: it or one before it was replaced")
        stated = {name: getattr(row, name) for name in ("seq", "kind", "about", "day", "due")}
        if columns(entry) != stated:
            return Fault(seq, "was altered in the columns that it is searched by")
        if what := self._attachments(entry):
            return Fault(seq, what)
        self.seq, self.digest = seq, row.digest
        return None

    def _attachments(self, entry: JournalEntry) -> str:
        payload = entry.record.payload
        if not isinstance(payload, RecordedDecision):
            return ""
        for name, stored in (
            ("notes", payload.notes),
            ("items", payload.judged),
            ("advice", payload.advice),
        ):
            if stored.sha256 in self._sound:
                self._sound.move_to_end(stored.sha256)
                continue
            try:
                data = self._journal.attachment(stored.sha256)
            except StoreError as error:
                return f"has its {name} lost or altered: {error.problem}"
            if len(data) != stored.size:
                return f"has its {name} altered"
            self._sound[stored.sha256] = None
            if len(self._sound) > _KNOWN:
                self._sound.popitem(last=False)
        return ""
