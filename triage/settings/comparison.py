"""Two snapshots of a unit side by side: what is the same, changed, gone or new.

Entries are paired by name, then by what the operator confirmed or the notes call them, then by the
vocabulary's field, and last by likeness, which is a guess to confirm. Whether a difference was to
be expected is decided by value: see `accounting`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from triage.domain.setting_changes import SettingRow
from triage.domain.snapshots import (
    Difference,
    DifferenceKind,
    Foretold,
    Match,
    Renamed,
    SettingEntry,
    Snapshot,
    SnapshotComparison,
    ValueKind,
)
from triage.errors import StoreError
from triage.settings.accounting import accounted
from triage.settings.entries import mixed_units
from triage.settings.legal_limits import outside
from triage.settings.quantities import dimension, in_unit
from triage.settings.setting_names import named_in, plain, rank
from triage.settings.setting_values import value_words
from triage.settings.stated_values import same

LEAST_LIKE = 60.0  # per cent; below it two names are two settings (assumption)
_SAME_VALUE = 10.0  # what an equal value adds to the likeness (assumption)
_SAME_SUBJECT = 10.0  # what the same setting of the vocabulary adds (assumption)

Paired = tuple[SettingEntry | None, SettingEntry | None, Match, float]


def compare_snapshots(
    before: Snapshot,
    after: Snapshot,
    foretold: Sequence[Foretold] = (),
    renamed: Sequence[Renamed] = (),
    rows: Sequence[SettingRow] = (),
) -> SnapshotComparison:
    """The comparison; StoreError when the snapshots are of two units.

    `rows` are what the notes say of this unit's settings, `foretold` all that they say of any.
    """
    if before.unit != after.unit:
        raise StoreError(
            f"one snapshot is of {before.unit}, the other of {after.unit}",
            mend="name two of one unit; see: triage settings list",
        )
    own = [r for r in renamed if r.unit == before.unit]
    mine = [row for row in rows if row.unit in ("", before.unit)]
    pairs = _pairs(before.entries, after.entries, foretold, own, mine)
    found = [accounted(_difference(*pair, foretold), mine) for pair in pairs]
    order = {outcome: n for n, outcome in enumerate(DifferenceKind)}
    found.sort(
        key=lambda d: (
            not d.asks and d.outcome is DifferenceKind.SAME and not d.question,
            _rank(d),
            order[d.outcome],
            d.name,
        )
    )
    return SnapshotComparison(before=before, after=after, differences=tuple(found))


def _pairs(
    before: Sequence[SettingEntry],
    after: Sequence[SettingEntry],
    foretold: Sequence[Foretold],
    renamed: Sequence[Renamed],
    rows: Sequence[SettingRow],
) -> list[Paired]:
    old = {plain(entry.name): entry for entry in before}  # a snapshot holds a name once
    new = {plain(entry.name): entry for entry in after}
    pairs: list[Paired] = []

    def take(a: str, b: str, match: Match, score: float = 100.0) -> None:
        pairs.append((old.pop(a), new.pop(b), match, score))

    for name in [name for name in old if name in new]:
        take(name, name, Match.NAME)
    said = {(plain(r.before), plain(r.after)): r.same for r in renamed}  # the latest word counts
    for (a, b), is_one in said.items():
        if is_one and a in old and b in new:
            take(a, b, Match.CONFIRMED)
    for row in rows:
        a, b = plain(row.name), plain(row.new_name)
        if a in old and b in new and said.get((a, b)) is not False:
            take(a, b, Match.NOTES)
    for a, entry in tuple(old.items()):
        mates = [b for b, other in new.items() if entry.field and other.field == entry.field]
        if len(mates) == 1 and said.get((a, mates[0])) is not False:
            take(a, mates[0], Match.VOCABULARY)
    for score, match, a, b in _likely(old, new, foretold):
        if a in old and b in new and said.get((a, b)) is not False:
            take(a, b, match, score)
    pairs += [(entry, None, Match.NONE, 100.0) for entry in old.values()]
    pairs += [(None, entry, Match.NONE, 100.0) for entry in new.values()]
    return pairs


def _likely(
    old: Mapping[str, SettingEntry], new: Mapping[str, SettingEntry], foretold: Sequence[Foretold]
) -> list[tuple[float, Match, str, str]]:
    """Pairs that may be one setting under two names, the likeliest first."""
    named = {
        name: {n for n, line in enumerate(foretold) if named_in(line.text, name)}
        for name in (*old, *new)
    }
    found = []
    for a, entry in old.items():
        for b, other in new.items():
            if not _one_kind(entry, other):
                continue
            if named[a] & named[b]:
                found.append((200.0, Match.NOTES, a, b))
            elif (score := _likeness(entry, other)) >= LEAST_LIKE:
                found.append((min(score, 99.0), Match.GUESS, a, b))
    return sorted(found, key=lambda row: (-row[0], row[2], row[3]))


def _one_kind(a: SettingEntry, b: SettingEntry) -> bool:
    if a.field and b.field:
        return False  # two known settings, not one
    quantities = a.value.kind is b.value.kind is ValueKind.QUANTITY
    return a.value.kind is b.value.kind and (
        not quantities or dimension(a.value) == dimension(b.value)
    )


def _likeness(a: SettingEntry, b: SettingEntry) -> float:
    from rapidfuzz import fuzz

    one, other = plain(a.name), plain(b.name)
    score = max(fuzz.ratio(one, other), fuzz.token_sort_ratio(one, other))
    if score < LEAST_LIKE - _SAME_VALUE:
        return 0.0  # an equal value alone makes no two names one
    score += _SAME_VALUE * same(a.value, b.value) + _SAME_SUBJECT * (a.setting == b.setting != "")
    return float(score)


def _difference(
    a: SettingEntry | None,
    b: SettingEntry | None,
    match: Match,
    score: float,
    foretold: Sequence[Foretold],
) -> Difference:
    name = b.name if b else a.name if a else ""
    expected, near = _said(foretold, [e for e in (a, b) if e])
    flags = outside(b) if b else ()
    base = Difference(
        outcome=DifferenceKind.NEW if a is None else DifferenceKind.GONE,
        name=name,
        before=a,
        after=b,
        match=match,
        score=min(score, 100.0),
        expected=expected,
        near=near,
        flags=flags,
    )
    if a is None or b is None:
        return base
    equal = same(a.value, b.value)
    question = mixed_units(a, b)
    if match is Match.GUESS and not question:
        question = f"is '{b.name}' what '{a.name}' was?"
    return base.model_copy(
        update={
            "outcome": DifferenceKind.SAME if equal else DifferenceKind.CHANGED,
            "question": question,
            "shown": _in_other_unit(a, b) if equal else "",
        }
    )


def _in_other_unit(a: SettingEntry, b: SettingEntry) -> str:
    if a.value.unit == b.value.unit:
        return ""
    return f"{value_words(b.value)} is {in_unit(b.value, a.value.unit)}"


def _said(
    foretold: Sequence[Foretold], entries: Sequence[SettingEntry]
) -> tuple[tuple[Foretold, ...], tuple[Foretold, ...]]:
    """Statements that name one of the entries, resets first, and those on its subject alone."""
    named = [
        line for line in foretold if any(named_in(line.text, e.name, e.field) for e in entries)
    ]
    general = [line for line in foretold if line.reset and _of_all(line)]
    near = [
        line
        for line in foretold
        if line not in named and any(e.setting and e.setting in line.settings for e in entries)
    ]
    expected = dict.fromkeys((*named, *general))
    return tuple(sorted(expected, key=lambda line: not line.reset)), tuple(near)


def _of_all(line: Foretold) -> bool:
    """Whether a reset is said of the settings as a whole, and of none by name."""
    return not [id for id in line.settings if id != "settings-reset"] and not _names_one(line.text)


def _names_one(text: str) -> bool:
    from triage.settings.setting_tables import fields

    return any(named_in(text, field.name, field.id) for field in fields())


def _rank(difference: Difference) -> tuple[int, int]:
    entries: Iterator[SettingEntry] = (e for e in (difference.before, difference.after) if e)
    return min(rank(e.field, e.setting) for e in entries)
