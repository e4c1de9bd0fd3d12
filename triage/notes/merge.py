"""A change stated twice is one item with two places.

Twice in one release (a headline and its bullet), or in a beta and again in its final: the item then
stays with the release that shipped it first, and carries the other place too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from triage.domain.notes import Status
from triage.notes.drafts import ItemDraft, ReleaseDraft
from triage.notes.rules import word_set

_WORD = re.compile(r"[^\W_]+(?:[._][^\W_]+)*")
_LIGHT = word_set(
    "a an the of to in on for and or with by from is are was were be now when its it this"
    " that has have been"
)
_HEADLINES = re.compile(
    r"\b(?:highlights?|what'?s new|summary|overview|main changes|key|in short|at a glance)\b", re.I
)
_BASE = re.compile(r"v?(\d+(?:\.\d+)*)")
_SUFFIXES = ("ing", "ed", "es", "s")


def merge(releases: list[ReleaseDraft]) -> None:
    """Merge in place, within each release and between pre-releases and their final."""
    for release in releases:
        release.items = _within(release.items)
    families: dict[tuple[str, str], list[ReleaseDraft]] = {}
    for release in releases:
        base = _BASE.match(release.header.version)
        if base:
            families.setdefault((release.header.unit, base.group(1)), []).append(release)
    for family in families.values():
        if len(family) > 1 and any(r.header.status is not Status.RELEASED for r in family):
            _between(sorted(family, key=_age))


def _age(release: ReleaseDraft) -> tuple[int, str]:
    order = (Status.ALPHA, Status.BETA, Status.CANDIDATE)
    status = release.header.status
    rank = order.index(status) if status in order else len(order)
    digits = re.sub(r"\d+", lambda found: found.group().zfill(8), release.header.version)
    return rank, digits


def _words(text: str) -> list[str]:
    return [word for word in _WORD.findall(text.lower()) if word not in _LIGHT]


def _stem(word: str) -> str:
    for suffix in _SUFFIXES:
        if word.endswith(suffix) and len(word) > len(suffix) + 3:
            return word[: -len(suffix)].rstrip("e")
    return word.rstrip("e")


def _join(kept: ItemDraft, other: ItemDraft) -> None:
    """Keep the fuller wording and its place first."""
    if len(other.text) > len(kept.text):
        kept.text, kept.heading, kept.level = other.text, other.heading, other.level
        kept.places = [*other.places, *kept.places]
    else:
        kept.places += other.places


def _within(items: list[ItemDraft]) -> list[ItemDraft]:
    """Merge equal statements, and headlines into the statement that holds all their words."""
    kept: list[ItemDraft] = []
    seen: dict[tuple[str, ...], ItemDraft] = {}
    for item in items:
        words = _words(item.text)
        key = (*(item.heading if len(words) < 3 else ()), "|", *words)
        twin = seen.get(key)
        if twin is not None:
            _join(twin, item)
            continue
        seen[key] = item
        kept.append(item)
    return _headlines(kept)


def _is_headline(item: ItemDraft) -> bool:
    return any(_HEADLINES.search(title) for title in item.heading[-1:])


def _headlines(items: list[ItemDraft]) -> list[ItemDraft]:
    """Only items under a heading such as 'Highlights' are matched, by their rarest word."""
    heads = [item for item in items if _is_headline(item)]
    if not heads or len(heads) == len(items):
        return items
    stems = {id(item): {_stem(word) for word in _words(item.text)} for item in items}
    index: dict[str, list[ItemDraft]] = {}
    for item in items:
        if not _is_headline(item):
            for stem in stems[id(item)]:
                index.setdefault(stem, []).append(item)
    gone: set[int] = set()
    for head in heads:
        mine = stems[id(head)]
        rarest = min((index.get(stem, []) for stem in mine), key=len, default=[])
        if len(mine) < 3 or not 0 < len(rarest) <= 50:
            continue
        fuller = next((item for item in rarest if mine <= stems[id(item)]), None)
        if fuller is not None:
            _join(fuller, head)
            gone.add(id(head))
    return [item for item in items if id(item) not in gone]


def _between(family: Iterable[ReleaseDraft]) -> None:
    """Move repeats in later releases of a family to the earliest one that states them."""
    seen: dict[tuple[str, ...], ItemDraft] = {}
    for release in family:
        fresh: dict[tuple[str, ...], ItemDraft] = {}
        kept = []
        for item in release.items:
            key = tuple(_words(item.text))
            twin = seen.get(key) if len(key) > 1 else None
            if twin is not None:
                _join(twin, item)
            else:
                fresh[key] = item
                kept.append(item)
        release.items = kept
        seen.update(fresh)
