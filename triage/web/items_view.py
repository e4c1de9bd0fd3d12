"""Items beside the original text, a bounded part at a time, each item's source marked."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from typing import NamedTuple

from triage.domain.judged import JudgedItem
from triage.domain.kinds import MEANING, Kind
from triage.render.items import kinds_shown, release_title
from triage.web.documents import Document

PART = 100  # items at a time
GAP = 600  # characters of text between items before the rest is left out
LONGEST = 4000  # characters of one item's source


class KindBox(NamedTuple):
    """A kind to tick."""

    value: str
    meaning: str
    ticked: bool
    chance: str


class ItemView(NamedTuple):
    """One item."""

    ref: str
    text: str
    release: str
    heading: str
    kinds: str
    unsure: bool
    settled: bool
    lines: str
    boxes: tuple[KindBox, ...]


class SourcePiece(NamedTuple):
    """A stretch of the source; `ref` is the item it is the source of, '' for none.

    `first` is true for the item's first stretch, which links lead to.
    """

    text: str
    ref: str
    first: bool


class ItemsView(NamedTuple):
    """A part of the items and the text around them."""

    key: str
    base: str
    name: str
    query: str
    more: str
    part: int
    parts: int
    total: int
    items: tuple[ItemView, ...]
    pieces: tuple[SourcePiece, ...]


def items_view(document: Document, name: str, part: int, query: str) -> ItemsView:
    """One part; a part that is not there is the nearest that is."""
    every = document.judged.items
    parts = max(1, -(-len(every) // PART))
    part = max(1, min(part, parts))
    here = every[(part - 1) * PART : part * PART]
    releases = document.judged.notes.releases
    items = tuple(_item(item, release_title(releases[item.release])) for item in here)
    return ItemsView(
        key=document.key,
        base=f"/notes/{document.key}",
        name=name,
        query=query,
        more=query.replace("?", "&", 1),
        part=part,
        parts=parts,
        total=len(every),
        items=items,
        pieces=tuple(_pieces(document.text, here, part == 1, part == parts)),
    )


def _item(found: JudgedItem, release: str) -> ItemView:
    item = found.item
    lines = ", ".join(str(place.line) for place in item.places)
    settled = any(judgement.settled for judgement in found.judgements)
    return ItemView(
        ref=item.ref,
        text=" ".join(item.text.split()),
        release=release,
        heading=" > ".join(item.heading),
        kinds=kinds_shown(found),
        unsure=bool(found.unsure),
        settled=settled,
        lines=f"line {lines}" if len(item.places) == 1 else f"lines {lines}",
        boxes=tuple(
            KindBox(
                value=kind.value,
                meaning=MEANING[kind],
                ticked=kind in found.kinds,
                chance="" if settled else f"{round(100 * found.judgement(kind).chance)} %",
            )
            for kind in Kind
        ),
    )


def _pieces(
    text: str, here: tuple[JudgedItem, ...], from_start: bool, to_end: bool
) -> Iterator[SourcePiece]:
    """The source from the first to the last of these items, what lies far between left out."""
    marks = sorted(
        (place.start, place.end, item.item.ref)
        for item in here
        for place in item.item.places[:8]
        if 0 <= place.start < place.end <= len(text)
    )
    if not marks:
        yield SourcePiece(visible(text[:GAP]), "", False)
        return
    at = 0 if from_start else max(0, text.rfind("\n", 0, marks[0][0]) + 1)
    seen: set[str] = set()
    for start, end, ref in marks:
        if start > at:
            yield from _between(text, at, start)
        if end > max(start, at):
            source = text[max(start, at) : end]
            cut = "" if len(source) <= LONGEST else f" [{len(source) - LONGEST:,} more characters]"
            yield SourcePiece(visible(source[:LONGEST]) + cut, ref, ref not in seen)
            seen.add(ref)
            at = end
    if to_end:
        yield from _between(text, at, len(text))


def _between(text: str, start: int, end: int) -> Iterator[SourcePiece]:
    if end - start <= GAP:
        yield SourcePiece(visible(text[start:end]), "", False)
        return
    half = GAP // 2
    left_out = end - start - 2 * half
    yield SourcePiece(
        visible(text[start : start + half])
        + f"\n[{left_out:,} characters without an item]\n"
        + visible(text[end - half : end]),
        "",
        False,
    )


def visible(text: str) -> str:
    """Characters that steer or hide, written out: what was pasted is what is seen."""
    if text.isascii() and text.replace("\n", "").replace("\t", "").isprintable():
        return text
    return "".join(_written(c) for c in text.replace("\r\n", "\n").replace("\r", "\n"))


def _written(c: str) -> str:
    if c in "\n\t" or unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Zl", "Zp"):
        return c
    return f"[U+{ord(c):04X}]"
