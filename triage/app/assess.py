"""Use case: advise on judged notes, from inputs that were gathered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from triage.advice import assess as weigh
from triage.domain.advice import Candidate, Problem
from triage.domain.answer import Advice, Inputs, UnitAdvice
from triage.domain.finds import FoundBy
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit, Offer, Plan, Scope, UnitScope
from triage.kit import as_used_with
from triage.kit.applicability import candidates, concerned
from triage.kit.plan import plan

if TYPE_CHECKING:
    from triage.advice.tables import PriorTable


class PreparedMoves(NamedTuple):
    """What no policy, report or day changes: the scope, and the moves open to each unit."""

    scope: Scope
    moves: tuple[tuple[Candidate, ...], ...]


def prepare_moves(judged: JudgedNotes, kit: Kit, unit: str = "") -> PreparedMoves:
    """The part of `advise` that can be kept from one policy to the next."""
    scope = candidates(judged.notes, kit, unit)
    return PreparedMoves(scope, tuple(candidates_of(judged, scope, one) for one in scope.units))


def advise(judged: JudgedNotes, inputs: Inputs, prepared: PreparedMoves | None = None) -> Advice:
    """The advice for each unit of the kit that the document concerns; same inputs, same bytes."""
    scope, every = prepared or prepare_moves(judged, inputs.kit, inputs.unit)
    prior = _prior(inputs)
    units = []
    for unit, moves in zip(scope.units, every, strict=True):
        label = unit.unit.label
        found = weigh(
            judged,
            as_used_with(scope.kit, label),
            moves,
            inputs.policy,
            inputs.evidence,
            today=inputs.day,
            recorded=inputs.recorded.get(label),
            prior=prior,
        )
        subject = found.subject
        chosen = None if subject is None else plan(judged.notes, scope, label, subject)
        units.append(UnitAdvice(scope=unit, plan=chosen, assessment=found))
    return Advice(judged, scope, tuple(units))


def _prior(inputs: Inputs) -> PriorTable | None:
    """What stands in place of the shipped priors, None where nothing does."""
    if not inputs.prior_flights and not inputs.prior_record:
        return None  # without loading the journal's libraries
    from triage.advice.tables import priors
    from triage.journal.base_rates import with_flights

    return with_flights(priors().prior, inputs.prior_flights, inputs.prior_record)


def candidates_of(judged: JudgedNotes, scope: Scope, unit: UnitScope) -> tuple[Candidate, ...]:
    """The moves open to one unit, each with the items that come with it and what it requires."""
    label = unit.unit.label
    by_release: dict[int, list[tuple[str, bool]]] = {}
    for item in judged.items:
        # Only a named unit takes an item out of the weighing, never one the sentence hints at.
        named = (find for find in item.finds.components if find.by is FoundBy.WORDS)
        found = tuple(find.id for find in named)
        ours = bool(concerned(scope, label, found))
        by_release.setdefault(item.release, []).append((item.item.ref, ours))
    return tuple(_candidate(judged, scope, unit, offer, by_release) for offer in unit.offers)


def _candidate(
    judged: JudgedNotes,
    scope: Scope,
    unit: UnitScope,
    offer: Offer,
    by_release: Mapping[int, list[tuple[str, bool]]],
) -> Candidate:
    refs = [pair for release in offer.covers for pair in by_release.get(release, ())]
    return Candidate(
        release=offer.release,
        path=offer.covers,
        items=tuple(ref for ref, ours in refs if ours),
        foreign=tuple(ref for ref, ours in refs if not ours),
        problems=_problems(plan(judged.notes, scope, unit.unit.label, offer.release), unit.labels),
        units=unit.labels,
        reversible=unit.unit.reversible,
    )


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
        Problem(text=unmet.reason, blocks=False, line=unmet.requirement.place.line)
        for unmet in plan.unchecked
    ]
    return tuple(dict.fromkeys((*stops, *asks)))
