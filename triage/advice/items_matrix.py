"""The items of the notes as the advice sees them, in arrays made once for all candidates."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields
from functools import cache

import numpy as np
from numpy.typing import NDArray

from triage.advice import tables
from triage.advice.affected import affected
from triage.domain.advice import Pointer
from triage.domain.finds import Finds
from triage.domain.judged import JudgedItem, JudgedNotes, Judgement, Standing
from triage.domain.kinds import Kind
from triage.domain.kit import Kit
from triage.domain.outcomes import Outcome, OutcomeChances
from triage.reference.vocabulary import conditions

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
Functions = tuple[tables.Function, ...]

KINDS = (Kind.FLIGHT_BEHAVIOUR, Kind.COMPATIBILITY, Kind.FIX, Kind.FEATURE)
_COMMON, _SHOWN = 3.0, 0.5  # a condition that a job states makes a defect likelier, to one in two


def milder(severity: int) -> int:
    """One severity category milder; negligible stays."""
    return min(4, severity + 1)


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
class Entry:
    """One item as the advice sees it; functions the operator does not use are left out.

    `flight` are the functions it touches as flight behaviour, `plain` otherwise. `defect` is the
    chance of each severity category, 1 to 4, of the defect that it mends (as flight behaviour,
    otherwise); `chance` how often that shows per flight; `present` the chance that the installed
    version has it; `conditions` the ids of conditions under which it shows.
    """

    item: JudgedItem
    flight: Functions
    plain: Functions
    defect: tuple[tuple[float, ...], tuple[float, ...]]
    outcomes: tuple[Outcome, Outcome]
    chance: float
    present: float
    met: bool
    specific: bool

    @property
    def pointer(self) -> Pointer:
        """The item and its first source line."""
        places = self.item.item.places
        return Pointer(ref=self.item.item.ref, line=places[0].line if places else 0)

    def severity(self, flight: bool) -> int | None:
        """The category that the defect reaches with the chance that counts; None for none."""
        return severity_held(self.defect[0 if flight else 1])

    def function(self, flight: bool) -> tables.Function | None:
        """The gravest function touched."""
        touched = self.flight if flight else self.plain
        return min(touched, key=lambda f: f.severity) if touched else None


def severity_held(chances: Sequence[float]) -> int | None:
    """The gravest category that is reached or surpassed with at least the chance that counts."""
    least, total = tables.priors().doubt.grave, 0.0
    for severity, chance in enumerate(chances, start=1):
        total += chance
        if total >= least:
            return severity
    return None


@dataclass(frozen=True)
class ItemsMatrix:
    """All items that are of some kind or may be, in the order of their refs.

    Maps are items x functions; `defect_flight` and `defect_plain` items x categories 1 to 4;
    `chance` kinds x items, to draw from. In the `cautious` reading unsure flight behaviour and
    compatibility count, in the `strict` they don't; unsure fixes and features count in neither,
    since they would speak for moving.
    """

    entries: tuple[Entry, ...]
    row: dict[str, int]
    release: Ints
    flight_map: NDArray[np.float32]
    plain_map: NDArray[np.float32]
    defect_flight: Floats
    defect_plain: Floats
    defect_chance: Floats
    present: Floats
    chance: NDArray[np.float32]
    strict: Kinds
    cautious: Kinds


@dataclass(frozen=True)
class Owner:
    """What of the kit bears on one unit: functions used, conditions flown in, version."""

    used: frozenset[str]
    flown_in: frozenset[str]
    installed: str


def owner_of(kit: Kit, labels: Iterable[str], installed: str) -> Owner:
    """The owner's side for the units of these labels."""
    mine = [unit for unit in kit.units if unit.label in set(labels)] or list(kit.units)
    stated = {*kit.functions, *(f for unit in mine for f in unit.functions)}
    known = {f.id for f in tables.functions()}
    used = frozenset(known)
    if stated & known:
        used = frozenset(stated & known) | {f.id for f in tables.functions() if f.always}
    return Owner(used, frozenset(c for job in kit.jobs for c in job.conditions), installed)


def functions_touched(finds: Finds, component: str) -> tuple[Functions, Functions]:
    """The functions touched as flight behaviour, and otherwise."""
    by_setting, by_component = tables.by_setting(), tables.by_component()
    found = [by_setting[f.id] for f in finds.settings if f.id in by_setting]
    if not found:
        found = [by_component[f.id] for f in finds.components if f.id in by_component]
    unique = tuple(dict.fromkeys(found))
    flight = tuple(f for f in unique if f.flight) or (tables.flight_other(),)
    return flight, unique or (by_component.get(component) or tables.other(),)


def categories(
    outcome: OutcomeChances, fallback: Outcome | None
) -> tuple[tuple[float, float, float, float], Outcome]:
    """Chance of each category 1 to 4, and the likeliest outcome; NONE's share goes to `fallback`.

    Where `fallback` is None, nothing the operator relies on is at stake.
    """
    found = [0.0, 0.0, 0.0, 0.0]
    best: dict[Outcome, float] = {}
    if fallback is None:
        return (0.0, 0.0, 0.0, 0.0), Outcome.NUISANCE
    for one, chance in outcome.chances:
        named = fallback if one is Outcome.NONE else one
        found[tables.severity_of(named) - 1] += chance
        best[named] = best.get(named, 0.0) + chance
    return (found[0], found[1], found[2], found[3]), max(best, key=lambda o: best[o])


def _fallback(functions: Functions, flight: bool, harm: bool) -> Outcome | None:
    """The outcome of a defect whose words tell none, by what it touches."""
    if not functions:
        return None
    worst = min(functions, key=lambda f: f.severity)
    return worst.worst if harm and flight else worst.unstated


def conditions_in(text: str) -> frozenset[str]:
    """Ids of the conditions that a text names."""
    return frozenset(id for id, pattern in _conditions() if pattern.search(text))


@cache
def _conditions() -> tuple[tuple[str, re.Pattern[str]], ...]:
    rows = conditions().condition
    return tuple(
        (row.id, re.compile(rf"\b(?:{'|'.join(map(re.escape, row.words))})\b", re.I))
        for row in rows
    )


def shown(finds: Finds, text: str, owner: Owner) -> tuple[float, bool]:
    """The chance per flight that a defect shows to this operator, and whether its conditions are
    met; stated conditions are set against those of the planned jobs."""
    defect = tables.priors().defect
    chance = frequencies().get(finds.frequency, defect.unstated)
    named = conditions_in(text)
    if not named or not owner.flown_in:
        return chance, True
    if named & owner.flown_in:
        return min(_SHOWN, chance * _COMMON), True
    return chance * defect.elsewhere, False


def harmful(finds: Finds) -> bool:
    """Whether words speak of a fall, a run-away or a fire."""
    mild = tables.priors().defect.mild_words
    return any(find.words.casefold() not in mild for find in finds.severity_words)


@cache
def frequencies() -> Mapping[str, float]:
    """The chance that each word of frequency stands for."""
    return {f.id: f.chance for f in conditions().frequency}


def _entry(item: JudgedItem, component: str, owner: Owner) -> Entry:
    flight, plain = functions_touched(item.finds, component)
    flight = tuple(f for f in flight if f.id in owner.used)
    plain = tuple(f for f in plain if f.id in owner.used)
    harm = harmful(item.finds)
    by_flight, first = categories(item.outcome, _fallback(flight, True, harm))
    by_plain, second = categories(item.outcome, _fallback(plain, False, harm))
    chance, met = shown(item.finds, item.item.text, owner)
    has = affected(item.item.versions, owner.installed)
    present = {True: 1.0, False: 0.0, None: tables.priors().defect.present}[has]
    stated = [j.kind for j in item.judgements if j.standing is not Standing.NO]
    named = item.outcome.first is not Outcome.NONE or bool(item.item.effects)
    found = bool(item.finds.settings or item.finds.components or item.finds.severity_words)
    return Entry(
        item=item,
        flight=flight,
        plain=plain,
        defect=(by_flight, by_plain),
        outcomes=(first, second),
        chance=chance,
        present=present,
        met=met,
        specific=named or found or any(kind is not Kind.FIX for kind in stated),
    )


def _drawn(judgement: Judgement) -> float:
    """The chance to draw; a kind that is ruled out is not drawn, so that idle items are idle."""
    if judgement.settled or judgement.standing is Standing.NO:
        return float(judgement.standing is Standing.YES)
    return judgement.chance


def cures(item: JudgedItem) -> float:
    """The chance that an item mends a defect which the kinds do not name as a fix; 0 for none.

    A recognised outcome is what a mended defect could do, so it tells more than the word 'fixed'.
    """
    fix = item.judgement(Kind.FIX)
    named = 1 - item.outcome.chance(Outcome.NONE)
    held = item.outcome.sure and named >= 0.5
    return named if held and not fix.settled and fix.standing is not Standing.YES else 0.0


def _map(rows: Sequence[Functions]) -> NDArray[np.float32]:
    place = {f.id: i for i, f in enumerate(tables.functions())}
    found = np.zeros((len(rows), len(place)), np.float32)
    for row, functions in enumerate(rows):
        found[row, [place[f.id] for f in functions]] = 1
    return found


def items_matrix(notes: JudgedNotes, owner: Owner) -> ItemsMatrix:
    """The items of the notes. They count in the order of their refs, whatever the input's."""
    releases = notes.notes.releases
    entries = tuple(
        _entry(item, releases[item.release].component, owner)
        for item in sorted(notes.items, key=lambda judged: judged.item.ref)
        if any(j.standing is not Standing.NO for j in item.judgements) or cures(item)
    )
    judged = [{j.kind: j for j in entry.item.judgements} for entry in entries]
    yes = np.array([[j[k].standing is Standing.YES for j in judged] for k in KINDS], dtype=bool)
    may = np.array([[j[k].standing is not Standing.NO for j in judged] for k in KINDS], dtype=bool)
    cured = np.array([cures(entry.item) for entry in entries], dtype=np.float32)
    yes[2] |= cured > 0
    flight, compatibility, fix, feature = (array[None, :] for array in yes)
    change = np.array([entry.item.item.chance for entry in entries], dtype=np.float32)
    drawn = np.array([[_drawn(j[k]) for j in judged] for k in KINDS], dtype=np.float32)
    drawn[2] = np.maximum(drawn[2], cured)
    return ItemsMatrix(
        entries=entries,
        row={entry.item.item.ref: row for row, entry in enumerate(entries)},
        release=np.array([entry.item.release for entry in entries], dtype=np.int64),
        flight_map=_map([entry.flight for entry in entries]),
        plain_map=_map([entry.plain for entry in entries]),
        defect_flight=np.array([entry.defect[0] for entry in entries]).reshape(-1, 4),
        defect_plain=np.array([entry.defect[1] for entry in entries]).reshape(-1, 4),
        defect_chance=np.array([entry.chance for entry in entries], dtype=float),
        present=np.array([entry.present for entry in entries], dtype=float),
        chance=drawn * change,
        strict=Kinds(flight, compatibility, fix, feature),
        cautious=Kinds(may[0][None, :], may[1][None, :], fix, feature),
    )
