"""The operator's corrections: kept in the user folder, in effect at once, and training material.

Errors: StoreError when the record cannot be read or written.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pydantic import TypeAdapter

from triage.classify.judge import Settled
from triage.domain.corpus import CorpusItem
from triage.domain.corrections import ItemCorrection
from triage.domain.kinds import Kind
from triage.domain.notes import Item
from triage.storage.record_log import Log
from triage.storage.user_folder import user_file

NAME = "corrections.jsonl"
DOCUMENT = "corrections"  # the name under which they join a corpus


def corrections(path: Path | None = None) -> tuple[ItemCorrection, ...]:
    """The corrections in force: the last word on each item, in the order first settled."""
    last = {_key(c.text, c.heading): c for c in _log(path).read()}
    return tuple(last.values())


def keep_correction(
    text: str, heading: str, kinds: Sequence[Kind], *, unit: str = "", path: Path | None = None
) -> ItemCorrection:
    """Keep that the item is of these kinds and no others; it is on the disk on return."""
    ordered = tuple(kind for kind in Kind if kind in kinds)
    correction = ItemCorrection(text=text, heading=heading, unit=unit, kinds=ordered)
    _log(path).append(correction)
    return correction


def settled_in(path: Path | None = None) -> Settled:
    """What is settled about an item, for `judge`."""
    known = {_key(c.text, c.heading): frozenset(c.kinds) for c in corrections(path)}
    return lambda item: known.get(_key(item.text, heading_of(item)))


def heading_of(item: Item) -> str:
    """The headings above an item as one text, as the corpora hold it."""
    return " / ".join(item.heading)


def as_items(settled: Sequence[ItemCorrection]) -> tuple[CorpusItem, ...]:
    """Corrections as corpus items of one document."""
    return tuple(
        CorpusItem(
            document=DOCUMENT,
            style=DOCUMENT,
            unit=c.unit,
            title=c.unit,
            heading=c.heading,
            text=c.text,
            kinds=c.kinds,
        )
        for c in settled
    )


def _log(path: Path | None) -> Log[ItemCorrection]:
    return Log(path or user_file(NAME), TypeAdapter(ItemCorrection), "correction")


def _key(text: str, heading: str) -> tuple[str, str]:
    return " ".join(text.lower().split()), " ".join(heading.lower().split())
