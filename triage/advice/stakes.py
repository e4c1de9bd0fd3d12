"""The items of the notes as the advice sees them, in arrays made once for all candidates."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from triage.advice import matrix, tables
from triage.domain.advice import Pointer
from triage.domain.judged import JudgedItem, JudgedNotes, Judgement, Standing
from triage.domain.kinds import Kind
from triage.domain.kit import Kit
from triage.reference.vocabulary import conditions

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]

KINDS = (Kind.FLIGHT_BEHAVIOUR, Kind.COMPATIBILITY, Kind.FIX, Kind.FEATURE)


def milder(severity: int) -> int:
    """One severity category milder; negligible stays."""
    return min(4, severity + 1)


def rank(level: Ints, severity: Ints) -> Ints:
    """Order of hazards: the risk level (from 0) first, then the worse outcome."""
    return level * 10 + 5 - severity


@dataclass(frozen=True)
class Kinds:
    """Readings of the items' kinds, each an array of rows x items, in the order of `KINDS`."""

    flight: Bools
    compatibility: Bools
    fix: Bools
    feature: Bools

    def of(self, rows: Ints) -> Kinds:
        """The same readings of some of the items."""
        return Kinds(*(getattr(self, field.name)[:, rows] for field in fields(self)))


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

    def defect_rank(self, flight: bool) -> int:
        """Order of the hazard of staying with the defect; -1 where nothing is used."""
        found = self.defect_severity(flight)
        if found is None:
            return -1
        level = matrix.RANK[matrix.RISK[found[0], matrix.band(self.defect_chance)]]
        return int(rank(np.array(level), np.array(found[0])))


@dataclass(frozen=True)
class Board:
    """All items that are of some kind or may be, in the order of their refs.

    Maps are items x functions; `stay_*` the rank of staying with what a fix mends, where it bears
    on flight and where not; `chance` the chances to draw, kinds x items. In the `cautious` reading
    unsure flight behaviour and compatibility count, in the `strict` they do not; unsure fixes and
    features count in neither, since they would speak for moving.
    """

    stakes: tuple[Stake, ...]
    row: dict[str, int]
    release: Ints
    flight_map: NDArray[np.float32]
    plain_map: NDArray[np.float32]
    stay_flight: Ints
    stay_plain: Ints
    chance: NDArray[np.float32]
    strict: Kinds
    cautious: Kinds


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
    """The functions touched as flight behaviour, and otherwise."""
    by_setting, by_component = tables.by_setting(), tables.by_component()
    found = [by_setting[f.id] for f in item.finds.settings if f.id in by_setting]
    if not found:
        found = [by_component[f.id] for f in item.finds.components if f.id in by_component]
    unique = tuple(dict.fromkeys(found))
    flight = tuple(f for f in unique if f.flight) or (tables.flight_other(),)
    return flight, unique or (by_component.get(component) or tables.other(),)


def _stake(item: JudgedItem, component: str, used: frozenset[str]) -> Stake:
    flight, plain = _touched(item, component)
    defect = tables.priors().defect
    words = [find.words.casefold() for find in item.finds.severity_words]
    return Stake(
        item=item,
        flight=tuple(f for f in flight if f.id in used),
        plain=tuple(f for f in plain if f.id in used),
        defect_chance=_frequencies().get(item.finds.frequency, defect.unstated),
        harm=any(word not in defect.mild_words for word in words),
    )


def _frequencies() -> dict[str, float]:
    return {f.id: f.chance for f in conditions().frequency}


def _drawn(judgement: Judgement) -> float:
    """The chance to draw; a kind that is ruled out is not drawn, so that idle items are idle."""
    if judgement.settled or judgement.standing is Standing.NO:
        return float(judgement.standing is Standing.YES)
    return judgement.chance


def _map(rows: Sequence[tuple[tables.Function, ...]]) -> NDArray[np.float32]:
    place = {f.id: i for i, f in enumerate(tables.functions())}
    found = np.zeros((len(rows), len(place)), np.float32)
    for row, touched in enumerate(rows):
        found[row, [place[f.id] for f in touched]] = 1
    return found


def board_of(notes: JudgedNotes, kit: Kit) -> Board:
    """The board of the notes. Items count in the order of their refs, whatever the input's."""
    used = used_functions(kit)
    releases = notes.notes.releases
    stakes = tuple(
        _stake(item, releases[item.release].component, used)
        for item in sorted(notes.items, key=lambda judged: judged.item.ref)
        if any(j.standing is not Standing.NO for j in item.judgements)
    )
    judged = [{j.kind: j for j in stake.item.judgements} for stake in stakes]
    yes = np.array([[j[k].standing is Standing.YES for j in judged] for k in KINDS], dtype=bool)
    may = np.array([[j[k].standing is not Standing.NO for j in judged] for k in KINDS], dtype=bool)
    flight, compatibility, fix, feature = (array[None, :] for array in yes)
    return Board(
        stakes=stakes,
        row={stake.item.item.ref: row for row, stake in enumerate(stakes)},
        release=np.array([stake.item.release for stake in stakes], dtype=np.int64),
        flight_map=_map([stake.flight for stake in stakes]),
        plain_map=_map([stake.plain for stake in stakes]),
        stay_flight=np.array([stake.defect_rank(True) for stake in stakes], dtype=np.int64),
        stay_plain=np.array([stake.defect_rank(False) for stake in stakes], dtype=np.int64),
        chance=np.array([[_drawn(j[k]) for j in judged] for k in KINDS], dtype=np.float32),
        strict=Kinds(flight, compatibility, fix, feature),
        cautious=Kinds(may[0][None, :], may[1][None, :], fix, feature),
    )
