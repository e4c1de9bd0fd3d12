"""Which setting a name means, as apps and operators write it."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from triage.reference.vocabulary import settings
from triage.settings.setting_tables import Field, field_of, fields

MISREAD = 88.0  # per cent of letters that two spellings of one name share (assumption)
SHORTEST_MISREAD = 8  # letters; shorter names differ by too little


@lru_cache(maxsize=4096)
def plain(name: str) -> str:
    """A name without case and marks: 'Return-to-Home  Altitude:' is 'return to home altitude'."""
    return " ".join(re.findall(r"[^\W_]+", name.casefold()))


@cache
def _known() -> dict[str, str]:
    return {plain(name): f.id for f in fields() for name in (*f.names, f.name)}


def field_called(name: str) -> Field | None:
    """The field that goes by the name."""
    return field_of(_known().get(plain(name), ""))


def field_like(name: str) -> Field | None:
    """The field whose name is so near that this is likely a misreading of it."""
    from rapidfuzz import fuzz, process

    wanted = plain(name)
    if len(wanted) < SHORTEST_MISREAD:
        return None
    best = process.extractOne(wanted, list(_known()), scorer=fuzz.ratio, score_cutoff=MISREAD)
    return field_of(_known()[best[0]]) if best else None


def setting_in(name: str) -> str:
    """The id of the vocabulary's setting that the name speaks of, '' when it speaks of none."""
    words = f" {plain(name)} "
    found = [(len(s), id) for s, id in _synonyms() if f" {s} " in words]
    found += [(0, id) for word, id in _telling() if f" {word} " in words]
    return max(found, default=(0, ""))[1]


@cache
def _synonyms() -> tuple[tuple[str, str], ...]:
    return tuple(
        (plain(s), entry.id) for entry in settings() for s in (entry.name, *entry.synonyms)
    )


@cache
def _telling() -> tuple[tuple[str, str], ...]:
    """Words that only the names of one setting's fields hold: 'obstacle'."""
    used: dict[str, set[str]] = {}
    for f in fields():
        for word in {w for name in (f.name, *f.names) for w in plain(name).split()}:
            used.setdefault(word, set()).add(f.setting)
    return tuple((w, min(ids)) for w, ids in used.items() if len(ids) == 1 and len(w) > 4)


@cache
def rank(field: str, setting: str) -> tuple[int, int]:
    """Where a setting stands in the order of how much it matters in the air; smaller is more."""
    order = [entry.id for entry in settings()]
    within = [f.id for f in fields()]
    return (
        order.index(setting) if setting in order else len(order),
        within.index(field) if field in within else len(within),
    )


def named_in(text: str, name: str, field: str = "") -> bool:
    """Whether a text names the setting, by this name or by one of its field's."""
    known = field_of(field)
    names = {plain(name), *(plain(n) for n in ((known.name, *known.names) if known else ()))}
    words = f" {plain(text)} "
    return any(f" {n} " in words for n in names if len(n) > 3)
