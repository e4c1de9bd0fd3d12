"""The notes of this session, judged once and kept in memory by digest, so that the rest is quick.

Bounded in number and bytes: the one looked at longest ago goes first, and is pasted again.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable
from threading import Lock
from typing import NamedTuple

from triage.app.gather import Wanted
from triage.app.read import Engine, read_and_judge, source_text
from triage.domain.judged import JudgedNotes
from triage.errors import SourceError

MOST = 16  # documents
MOST_BYTES = 128 * 1024 * 1024  # of their sources
MOST_TEXT = 4 * 1024 * 1024  # bytes of one that is not a PDF
_FEWER = "cut out the releases of interest, and paste those"
MOST_ITEMS = 4000  # of one; the longest real notes have some hundreds, and each more takes time
_SHORT = 100 * 1024  # bytes that cannot hold so many


OWN = Wanted()


class Document(NamedTuple):
    """Notes as pasted; `text` is the decoded source that the items' places count in."""

    key: str
    data: bytes
    name: str
    text: str
    judged: JudgedNotes
    wanted: Wanted
    stamp: object


class Documents:
    """Documents by key; safe to use from several threads.

    `stamp` gives something that changes with the operator's corrections.
    """

    def __init__(
        self,
        engine: Callable[[], Engine],
        stamp: Callable[[], object],
    ) -> None:
        self._engine, self._stamp = engine, stamp
        self._held: OrderedDict[str, Document] = OrderedDict()
        self._lock, self._judging = Lock(), Lock()

    def add(self, data: bytes, name: str, wanted: Wanted = OWN) -> Document:
        """Read and judge a document; SourceError when it cannot be read."""
        self._refuse_endless(data, name)
        digest = hashlib.sha256(data)
        digest.update(repr((name, wanted)).encode())
        return self._judge(digest.hexdigest()[:24], data, name, wanted)

    def get(self, key: str) -> Document:
        """A document, judged again where the operator has corrected items since."""
        with self._lock:
            found = self._held.get(key)
            if found is not None:
                self._held.move_to_end(key)
        if found is None:
            raise SourceError(
                "these notes are no longer held in memory", mend="paste them again; nothing is lost"
            )
        if found.stamp != self._stamp():
            return self._judge(key, found.data, found.name, found.wanted)
        return found

    def all(self) -> tuple[Document, ...]:
        """All that are held, the last used first."""
        with self._lock:
            return tuple(reversed(self._held.values()))

    def _refuse_endless(self, data: bytes, name: str) -> None:
        """SourceError for what would keep the page busy for minutes."""
        if len(data) <= _SHORT:
            return
        text = source_text(data, name)
        if len(text) > MOST_TEXT:
            problem = f"{len(text) >> 20} MB of text is more than the {MOST_TEXT >> 20} read here"
            raise SourceError(problem, where=name, mend=_FEWER)

    def _judge(self, key: str, data: bytes, name: str, wanted: Wanted) -> Document:
        with self._judging:  # one at a time: the recogniser is not made for more
            stamp = self._stamp()
            judged = read_and_judge(data, name, self._engine(), begun=_few_enough)
        made = Document(key, data, name, source_text(data, name), judged, wanted, stamp)
        with self._lock:
            self._held[key] = made
            self._held.move_to_end(key)
            while len(self._held) > MOST or (
                len(self._held) > 1 and sum(len(d.data) for d in self._held.values()) > MOST_BYTES
            ):
                self._held.popitem(last=False)
        return made


def _few_enough(items: int) -> None:
    """SourceError for more items than are judged in a time that a reader waits."""
    if items > MOST_ITEMS:
        problem = f"{items:,} items are more than the {MOST_ITEMS:,} read here"
        raise SourceError(problem, mend=_FEWER)
