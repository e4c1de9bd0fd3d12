"""Use case: advise on judged notes, from inputs that were gathered."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from triage.advice import Beside
from triage.advice import assess as weigh
from triage.domain.advice import Assessment, Candidate, Held, Passed, Problem, Verdict
from triage.domain.answer import Advice, Inputs, UnitAdvice
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit, Move, Offer, Plan, Scope, UnitScope, Unmet
from triage.kit import as_used_with
from triage.kit.applicability import candidates
from triage.kit.kit_plan import conflicts, kit_plan, try_first
from triage.kit.plan import plan
from triage.kit.requirements import InstalledState, holds
from triage.kit.unit_releases import with_unit_releases

if TYPE_CHECKING:
    from triage.advice.tables import PriorTable

_ROUNDS = 4  # units that need each other settle in two; a long chain in one more a link


class PreparedMoves(NamedTuple):
    """What no policy, report or day changes: the scope, the moves open to each unit, what each
    move needs of other units, and what does not work together today."""

    scope: Scope
    moves: tuple[tuple[Candidate, ...], ...]
    plans: Mapping[tuple[str, int], Plan]
    conflicts: Mapping[str, tuple[str, ...]]


def prepare_moves(judged: JudgedNotes, kit: Kit, unit: str = "") -> PreparedMoves:
    """The part of `advise` that can be kept from one policy to the next."""
    judged = with_unit_releases(judged)
    scope = candidates(judged.notes, kit, unit)
    plans = {
        (one.unit.label, offer.release): plan(judged.notes, scope, one.unit.label, offer.release)
        for one in scope.units
        for offer in one.offers
    }
    moves = tuple(_candidates_of(judged, one, plans) for one in scope.units)
    return PreparedMoves(scope, moves, plans, conflicts(judged.notes, scope))


def advise(judged: JudgedNotes, inputs: Inputs, prepared: PreparedMoves | None = None) -> Advice:
    """The advice for each unit of the kit that the document concerns; same inputs, same bytes.

    Units that need each other are weighed again until none is told to wait that another needs.
    """
    judged = with_unit_releases(judged)
    ready = prepared or prepare_moves(judged, inputs.kit, inputs.unit)
    scope = ready.scope
    moves = list(ready.moves)
    found = [_weigh(judged, inputs, ready, unit, own) for unit, own in _pairs(ready, moves)]
    for _ in range(_ROUNDS):
        joined = _joined(ready, moves, found)
        if joined == moves:
            break
        found = [
            old if before == after else _weigh(judged, inputs, ready, unit, after)
            for old, before, after, unit in zip(found, moves, joined, scope.units, strict=True)
        ]
        moves = joined
    units = []
    for unit, assessment in zip(scope.units, found, strict=True):
        subject = assessment.subject
        chosen = None if subject is None else ready.plans[unit.unit.label, subject]
        units.append(UnitAdvice(scope=unit, plan=chosen, assessment=assessment))
    wanted = {
        unit.unit.label: assessment.subject
        for unit, assessment in zip(scope.units, found, strict=True)
        if assessment.verdict is Verdict.UPDATE and assessment.subject is not None
    }
    return Advice(judged, scope, tuple(units), kit_plan(judged.notes, scope, wanted))


def beside_for(inputs: Inputs, ready: PreparedMoves, unit: UnitScope) -> Beside:
    """What the advice for a unit takes besides notes, kit, moves and policy."""
    label = unit.unit.label
    return Beside(
        labels=unit.labels,
        installed=unit.installed if unit.known else "",
        conflicts=ready.conflicts.get(label, ()),
        first_seen=inputs.first_seen,
        needs=inputs.needs,
        recorded=inputs.recorded.get(label),
        prior=_prior(inputs),
        try_first=try_first(ready.scope.kit, unit.labels),
    )


def _pairs(
    ready: PreparedMoves, moves: Sequence[tuple[Candidate, ...]]
) -> list[tuple[UnitScope, tuple[Candidate, ...]]]:
    return list(zip(ready.scope.units, moves, strict=True))


def _weigh(
    judged: JudgedNotes,
    inputs: Inputs,
    ready: PreparedMoves,
    unit: UnitScope,
    moves: tuple[Candidate, ...],
) -> Assessment:
    return weigh(
        judged,
        as_used_with(ready.scope.kit, unit.unit.label),
        moves,
        inputs.policy,
        inputs.evidence,
        today=inputs.day,
        beside=beside_for(inputs, ready, unit),
    )


def _joined(
    ready: PreparedMoves, moves: Sequence[tuple[Candidate, ...]], found: Sequence[Assessment]
) -> list[tuple[Candidate, ...]]:
    """The moves once more, each told what the others need of it, press on it, or hold it by."""
    scope = ready.scope
    at = {label: n for n, unit in enumerate(scope.units) for label in unit.labels}
    joined = [{c.release: c for c in own} for own in ready.moves]
    for n, assessment in enumerate(found):
        subject = assessment.subject
        if subject is None:
            continue
        own = scope.units[n]
        label = own.unit.label
        needed = [
            (at[move.unit], move)
            for move in ready.plans[label, subject].moves
            if move.release is not None and at.get(move.unit, n) != n
        ]
        before = next(c for c in moves[n] if c.release == subject).held_by
        before = tuple(h for h in before if not h.never)
        held = tuple(_held(move, found[other]) for other, move in needed)
        never = tuple(h for h in held if h is not None and h.never)
        asked = assessment.verdict is Verdict.UPDATE or (bool(before) and not never)
        waits = never or (tuple(h for h in held if h is not None) if asked else ())
        joined[n][subject] = joined[n][subject].model_copy(
            update={"held_by": (*joined[n][subject].held_by, *waits)}
        )
        by = f"{', '.join(own.labels)} {_version(own, subject)}".strip()
        pressed = assessment.verdict is Verdict.UPDATE and bool(assessment.warning)
        for other, move in needed if asked and not never else ():
            for release, candidate in tuple(joined[other].items()):
                version = _version(scope.units[other], release)
                if release == move.release:
                    joined[other][release] = _wanted(candidate, by, pressed=pressed)
                elif (
                    move.requirement
                    and holds(move.requirement, InstalledState(version)).holds is False
                ):
                    joined[other][release] = _parted(candidate, by, move)
    return [tuple(own.values()) for own in joined]


def _version(unit: UnitScope, release: int) -> str:
    return next((o.version for o in unit.offers if o.release == release), "")


def _wanted(candidate: Candidate, by: str, *, pressed: bool) -> Candidate:
    """A move, told that another unit needs it."""
    told = {"wanted_by": tuple(dict.fromkeys((*candidate.wanted_by, f"{by} needs it")))}
    if pressed:
        must = f"{by} has to be installed at once, and needs it"
        told["pressed_by"] = tuple(dict.fromkeys((*candidate.pressed_by, must)))
    return candidate.model_copy(update=told)


def _parted(candidate: Candidate, by: str, move: Move) -> Candidate:
    """A move that would part a unit from another that needs another version of it."""
    text = f"{by} needs {move.unit} {move.version}, and not this"
    held = Held(unit=move.unit, text=text, until=None, never=True)
    return candidate.model_copy(update={"held_by": (*candidate.held_by, held)})


def _held(move: Move, other: Assessment) -> Held | None:
    """Why a unit that has to move too may not yet, or not at all; None where it may."""
    if other.verdict is Verdict.UPDATE:
        return None
    possible = next((g for g in other.gates if g.id == "possible"), None)
    never = other.subject == move.release and possible is not None and possible.passed is Passed.NO
    text = f"{move.unit} has to move with it, and waits: {other.deciding.text}"
    return Held(unit=move.unit, text=text, until=None if never else other.until, never=never)


def _prior(inputs: Inputs) -> PriorTable | None:
    """What stands in place of the shipped priors, None where nothing does."""
    if not inputs.prior_flights and not inputs.prior_record:
        return None  # without loading the journal's libraries
    from triage.advice.tables import priors
    from triage.journal.base_rates import with_flights

    return with_flights(priors().prior, inputs.prior_flights, inputs.prior_record)


def _candidates_of(
    judged: JudgedNotes, unit: UnitScope, plans: Mapping[tuple[str, int], Plan]
) -> tuple[Candidate, ...]:
    """The moves open to one unit, each with the items that come with it and what it requires.

    Every item of a unit's own notes is its own, whatever other unit it names as the far end.
    """
    by_release: dict[int, list[str]] = {}
    for item in judged.items:
        by_release.setdefault(item.release, []).append(item.item.ref)
    return tuple(
        _candidate(unit, offer, by_release, plans[unit.unit.label, offer.release])
        for offer in unit.offers
    )


def _candidate(
    unit: UnitScope, offer: Offer, by_release: Mapping[int, list[str]], needs: Plan
) -> Candidate:
    return Candidate(
        release=offer.release,
        path=offer.covers,
        items=tuple(ref for release in offer.covers for ref in by_release.get(release, ())),
        problems=_problems(needs, unit.labels),
        units=unit.labels,
        installed=unit.installed if unit.known else "",
        reversible=unit.unit.reversible,
    )


_ELSEWHERE = re.compile(
    r"\b(?:android|ios|ipados|iphone|windows|macos|mac|linux|ubuntu|phone|tablet|browser|python|memory|ram"
    r"|gb|mb|internet|account|card)\b",
    re.I,
)


def _of_the_kit(unmet: Unmet) -> bool:
    """Whether what is asked for flies or steers, though the kit doesn't list it; the phone's and
    the desk's own software are not asked about."""
    need = unmet.requirement
    if need.component in ("app", "desktop") or _ELSEWHERE.search(need.text):
        return False
    return bool(need.version) and bool(need.name or need.component not in ("", "other"))


def _problems(plan: Plan, labels: Sequence[str]) -> tuple[Problem, ...]:
    stops = [
        Problem(text=unmet.reason, blocks=True, line=unmet.requirement.place.line)
        for unmet in (*plan.blocks, *plan.left_behind)
    ]
    asks = [
        Problem(
            text=move.reason,
            blocks=False,
            line=move.requirement.place.line if move.requirement else None,
        )
        for move in plan.moves
        if move.unit not in labels
    ]
    asks += [
        Problem(
            text=unmet.reason,
            blocks=False,
            line=unmet.requirement.place.line,
            unchecked=bool(unmet.unit) or _of_the_kit(unmet),
        )
        for unmet in plan.unchecked
    ]
    return tuple(dict.fromkeys((*stops, *asks)))
