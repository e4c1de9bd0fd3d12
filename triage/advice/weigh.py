"""Turns a candidate, its items and the evidence into the arrays that the rule reads.

Columns: every function twice (at its own severity, then one category milder), and last the
changes that nobody named. Rows of `Kinds` are readings of the notes (one, or one a draw).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from triage.advice import matrix, tables
from triage.domain.advice import Candidate, Evidence, Pointer
from triage.domain.judged import JudgedItem, JudgedNotes, Standing
from triage.domain.kinds import Kind
from triage.domain.kit import Kit
from triage.domain.notes import InstructionKind, Release, StatedDate, Status
from triage.vocabulary import conditions

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

KINDS = (Kind.FLIGHT_BEHAVIOUR, Kind.COMPATIBILITY, Kind.FIX, Kind.FEATURE)


def milder(severity: int) -> int:
    """One severity category milder; negligible stays."""
    return min(4, severity + 1)


@dataclass(frozen=True)
class Kinds:
    """Readings of the items' kinds, each an array of rows x items."""

    flight: Bools
    compatibility: Bools
    fix: Bools
    feature: Bools


@dataclass(frozen=True)
class Stake:
    """One item as the advice sees it; functions the operator does not use are left out."""

    item: JudgedItem
    flight: tuple[tables.Function, ...]
    plain: tuple[tables.Function, ...]
    defect_chance: float
    harm: bool

    @property
    def pointer(self) -> Pointer:
        """The item and its first source line."""
        places = self.item.item.places
        return Pointer(ref=self.item.item.ref, line=places[0].line if places else 0)

    def defect_severity(self, flight: bool) -> tuple[int, tables.Function] | None:
        """Severity and function of the defect that this fix names; None where nothing is used."""
        touched = self.flight if flight else self.plain
        if not touched:
            return None
        worst = min(touched, key=lambda f: f.severity)
        if not flight:
            return max(3, worst.severity), worst
        return (worst.severity if self.harm else milder(worst.severity)), worst


@dataclass(frozen=True)
class Case:
    """Everything the rule needs of one candidate that does not depend on the policy.

    `counted` marks the items that speak for moving: not those that a smaller move brings already.
    """

    candidate: Candidate
    release: Release
    path: tuple[Release, ...]
    stakes: tuple[Stake, ...]
    flight_map: NDArray[np.float32]
    plain_map: NDArray[np.float32]
    severity: Ints
    stay_flight: Ints
    stay_plain: Ints
    counted: Bools
    days: Floats
    days_known: bool
    clean: Floats
    trouble: Floats
    release_clean: float
    grave_trouble: float
    way_back: bool | None


@cache
def column_severity(unnamed: int) -> tuple[int, ...]:
    """Severity category of each column."""
    own = [s for f in tables.functions() for s in (f.severity, milder(f.severity))]
    return (*own, unnamed)


def rank(level: Ints, severity: Ints) -> Ints:
    """Order of hazards: the risk level (from 0) first, then the worse outcome."""
    return level * 10 + 5 - severity


def used_functions(kit: Kit) -> frozenset[str]:
    """Ids of the functions that the operator relies on; all of them where none is stated."""
    stated = {*kit.functions, *(f for unit in kit.units for f in unit.functions)}
    known = {f.id for f in tables.functions()}
    if not stated & known:
        return frozenset(known)
    return frozenset(stated & known) | {f.id for f in tables.functions() if f.always}


def _touched(
    item: JudgedItem, component: str
) -> tuple[tuple[tables.Function, ...], tuple[tables.Function, ...]]:
    by_setting, by_component = tables.by_setting(), tables.by_component()
    found = [by_setting[f.id] for f in item.finds.settings if f.id in by_setting]
    if not found:
        found = [by_component[f.id] for f in item.finds.components if f.id in by_component]
    unique = tuple(dict.fromkeys(found))
    flight = tuple(f for f in unique if f.flight)
    if not flight:
        named = tables.function("flight-other")
        flight = (named,) if named else ()
    if not unique:
        fallback = by_component.get(component) or tables.function("other")
        unique = (fallback,) if fallback else ()
    return flight, unique


def stakes_of(notes: JudgedNotes, kit: Kit) -> dict[str, Stake]:
    """Every item of the notes by ref, with what it touches of the functions used."""
    used = used_functions(kit)
    frequency = {f.id: f.chance for f in conditions().frequency}
    defect = tables.priors().defect
    stakes = {}
    for item in notes.items:
        flight, plain = _touched(item, notes.notes.releases[item.release].component)
        stakes[item.item.ref] = Stake(
            item=item,
            flight=tuple(f for f in flight if f.id in used),
            plain=tuple(f for f in plain if f.id in used),
            defect_chance=frequency.get(item.finds.frequency, defect.unstated),
            harm=any(
                find.words.casefold() not in defect.mild_words for find in item.finds.severity_words
            ),
        )
    return stakes


def release_day(date: StatedDate | None, today: dt.date) -> dt.date | None:
    """The day a release came out; of two readings the later one that is not to come."""
    if date is None:
        return None
    readings = sorted(day for day in (date.day, date.or_else) if day is not None)
    past = [day for day in readings if day <= today]
    return past[-1] if past else (readings[0] if readings else None)


def _days_out(case_path: Sequence[Release], index: int, today: dt.date) -> float | None:
    """Days since the release at `index` of the path, or since the next one that has a date."""
    for release in case_path[index:]:
        day = release_day(release.date, today)
        if day is not None:
            return float(max(0, (today - day).days))
    return None


def _way_back(candidate: Candidate, path: Iterable[Release]) -> bool | None:
    told = any(
        i.kind is InstructionKind.NO_WAY_BACK for release in path for i in release.instructions
    )
    return False if told else candidate.reversible


def build(
    notes: JudgedNotes,
    candidate: Candidate,
    stakes: dict[str, Stake],
    evidence: Sequence[Evidence],
    today: dt.date,
    brought: frozenset[str] = frozenset(),
) -> Case:
    """The case of one candidate. Items count in the order of their refs, whatever the input's.

    `brought` are the items that an advised smaller move brings already.
    """
    functions = tables.functions()
    index = {f.id: i for i, f in enumerate(functions)}
    releases = notes.notes.releases
    path = tuple(releases[r] for r in candidate.path)
    place = {r: i for i, r in enumerate(candidate.path)}
    last = len(path) - 1
    listed = (stakes[ref] for ref in sorted(set(candidate.items)) if ref in stakes)
    chosen = tuple(s for s in listed if any(_may(s.item, kind) for kind in Kind))
    columns = 2 * len(functions) + 1
    flight_map = np.zeros((len(chosen), len(functions)), np.float32)
    plain_map = np.zeros_like(flight_map)
    stay_flight = np.full(len(chosen), -1)
    stay_plain = np.full(len(chosen), -1)
    newest = np.full(columns, -1)
    for row, stake in enumerate(chosen):
        position = place.get(stake.item.release, last)
        for f in stake.flight:
            flight_map[row, index[f.id]] = 1
            if _may(stake.item, Kind.FLIGHT_BEHAVIOUR):
                newest[2 * index[f.id]] = max(newest[2 * index[f.id]], position)
        for f in stake.plain:
            plain_map[row, index[f.id]] = 1
            if _may(stake.item, Kind.COMPATIBILITY):
                newest[2 * index[f.id] + 1] = max(newest[2 * index[f.id] + 1], position)
        band = matrix.band(stake.defect_chance)
        for target, flight in ((stay_flight, True), (stay_plain, False)):
            found = stake.defect_severity(flight)
            if found is not None:
                level = np.array(matrix.RANK[matrix.RISK[found[0], band]])
                target[row] = rank(level, np.array(found[0]))
    newest[newest < 0] = last
    mended = _mended(chosen, place)
    seen = [
        e
        for e in evidence
        if e.day <= today
        and e.release in place
        and (e.clean or mended.get(e.function, -1) <= place[e.release])
    ]
    days, known = _column_days(path, newest, seen, place, today)
    clean, trouble = np.zeros(columns), np.zeros(columns)
    release_clean = grave = 0.0
    for e in seen:
        at = index.get(e.function)
        named = slice(None) if at is None else slice(2 * at, 2 * at + 2)
        if not e.clean:
            trouble[named] += e.users
            grave += e.users if at is None or functions[at].severity <= 2 else 0
        else:
            mask = np.zeros(columns, bool)
            mask[named] = True
            clean[mask & (newest <= place[e.release])] += e.users
            release_clean += e.users if place[e.release] == last else 0
    component = path[last].component
    unnamed = tables.priors().unnamed_severity.get(component, 2)
    return Case(
        candidate=candidate,
        release=path[last],
        path=path,
        stakes=chosen,
        flight_map=flight_map,
        plain_map=plain_map,
        severity=np.array(column_severity(unnamed)),
        stay_flight=stay_flight,
        stay_plain=stay_plain,
        counted=np.array([s.item.item.ref not in brought for s in chosen], dtype=bool),
        days=days,
        days_known=known,
        clean=clean,
        trouble=trouble,
        release_clean=release_clean,
        grave_trouble=grave,
        way_back=_way_back(candidate, path),
    )


def _may(item: JudgedItem, kind: Kind) -> bool:
    return item.judgement(kind).standing is not Standing.NO


def _mended(stakes: Iterable[Stake], place: dict[int, int]) -> dict[str, int]:
    """Where in the path each function was last fixed: earlier trouble with it is settled."""
    found: dict[str, int] = {}
    for stake in stakes:
        if stake.item.judgement(Kind.FIX).standing is Standing.YES:
            for f in {*stake.flight, *stake.plain}:
                found[f.id] = max(found.get(f.id, -1), place.get(stake.item.release, -1))
    return found


def _column_days(
    path: Sequence[Release],
    newest: Ints,
    seen: Sequence[Evidence],
    place: dict[int, int],
    today: dt.date,
) -> tuple[Floats, bool]:
    """Days that each column's newest change has been out, and whether the candidate is dated.

    Without any date the first clean look counts; a look that found trouble never does, so that
    trouble cannot make a release look older.
    """
    last = len(path) - 1
    out = [_days_out(path, i, today) for i in range(len(path))]
    if out[last] is None:
        looked = [e.day for e in seen if e.clean and place[e.release] == last]
        undated = float((today - min(looked)).days) if looked else 0.0
        out = [undated if days is None else days for days in out]
    return np.array([float(out[i] or 0.0) for i in newest]), _days_out(
        path, last, today
    ) is not None


def reading(case: Case, *, cautious: bool) -> Kinds:
    """The kinds as they stand, one row.

    Where `cautious`, unsure flight behaviour and compatibility count; unsure fixes and features
    never do, since they would speak for moving.
    """

    def of(kind: Kind, unsure: bool) -> Bools:
        wanted = {Standing.YES, Standing.UNSURE} if unsure else {Standing.YES}
        standings = [stake.item.judgement(kind).standing in wanted for stake in case.stakes]
        return np.array([standings], dtype=bool).reshape(1, len(case.stakes))

    return Kinds(
        flight=of(Kind.FLIGHT_BEHAVIOUR, cautious),
        compatibility=of(Kind.COMPATIBILITY, cautious),
        fix=of(Kind.FIX, False),
        feature=of(Kind.FEATURE, False),
    )


def blocked(case: Case) -> str:
    """Why the candidate cannot be installed at all, or ''."""
    if case.release.status is Status.WITHDRAWN:
        return "the maker has withdrawn it"
    if case.release.status is Status.UNRELEASED:
        return "it is not released yet"
    return next((p.text for p in case.candidate.problems if p.blocks), "")
