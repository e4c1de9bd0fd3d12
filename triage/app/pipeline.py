"""Strings the rooms together: bytes -> notes -> judged items -> scope -> assessments."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from triage.advice import assess, compare
from triage.domain.advice import Assessment, Candidate, Evidence, Problem
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit, Offer, Plan, Scope, UnitScope
from triage.domain.notes import SourceFormat
from triage.domain.policy import Policy
from triage.kit.applicability import candidates, concerned
from triage.kit.plan import plan

if TYPE_CHECKING:
    from triage.advice.tables import PriorTable
    from triage.classify import Classifier
    from triage.classify.judge import Settled
    from triage.classify.recogniser import Recogniser


class Engine(NamedTuple):
    """What reads and judges; built once a process, as it takes the better part of a second."""

    recogniser: Recogniser
    classifier: Classifier


class UnitAdvice(NamedTuple):
    """The advice for one group of like units of the kit, with the scope and plan behind it."""

    scope: UnitScope
    plan: Plan | None
    assessment: Assessment


class Prepared(NamedTuple):
    """What no policy, look or day changes: the scope, and the moves open to each of its units."""

    scope: Scope
    moves: tuple[tuple[Candidate, ...], ...]


class Advice(NamedTuple):
    """The whole answer to one document."""

    judged: JudgedNotes
    scope: Scope
    units: tuple[UnitAdvice, ...]


def engine() -> Engine:
    """The recogniser, and the operator's own model where one was trained, else the shipped one."""
    from triage.classify import open_model, shipped
    from triage.classify.model_file import NAME
    from triage.classify.recogniser import Recogniser
    from triage.storage.user_folder import user_file

    own = user_file(NAME)
    return Engine(Recogniser(), open_model(own) if own.exists() else shipped())


def read_and_judge(
    data: bytes,
    name: str,
    engine: Engine,
    *,
    format: SourceFormat | None = None,
    settled: Settled = lambda item: None,
    begun: Callable[[int], None] = lambda items: None,
) -> JudgedNotes:
    """Split and classify one document; SourceError when it cannot be read.

    `begun` is told how many items there are to judge, which is what takes the time.
    """
    from triage.classify import judge
    from triage.notes import read

    notes = read(data, name, format=format)
    begun(sum(len(release.items) for release in notes.releases))
    return judge(notes, engine.recogniser, engine.classifier, settled)


def prepare(judged: JudgedNotes, kit: Kit, unit: str = "") -> Prepared:
    """The part of `advise` that can be kept from one policy to the next."""
    scope = candidates(judged.notes, kit, unit)
    return Prepared(scope, tuple(candidates_of(judged, scope, one) for one in scope.units))


def advise(
    judged: JudgedNotes,
    kit: Kit,
    policy: Policy,
    evidence: Sequence[Evidence] = (),
    *,
    today: dt.date,
    unit: str = "",
    recorded: Mapping[str, Mapping[str, str]] | None = None,
    prepared: Prepared | None = None,
    prior: PriorTable | None = None,
) -> Advice:
    """The advice for each unit of the kit that the document concerns.

    `recorded` holds the last recorded settings by unit label and setting id, `prepared` what
    `prepare` made of the same notes, kit and unit, `prior` what stands in place of the shipped
    priors.
    """
    scope, every = prepared or prepare(judged, kit, unit)
    units = []
    for unit_scope, moves in zip(scope.units, every, strict=True):
        known = (recorded or {}).get(unit_scope.unit.label)
        result = assess(
            judged, scope.kit, moves, policy, evidence, today=today, recorded=known, prior=prior
        )
        chosen = None
        if result.subject is not None:
            chosen = plan(judged.notes, scope, unit_scope.unit.label, result.subject)
        units.append(UnitAdvice(unit_scope, chosen, result))
    return Advice(judged, scope, tuple(units))


def candidates_of(judged: JudgedNotes, scope: Scope, unit: UnitScope) -> tuple[Candidate, ...]:
    """The moves open to one unit, each with the items that come with it and what it requires."""
    label = unit.unit.label
    by_release: dict[int, list[tuple[str, bool]]] = {}
    for item in judged.items:
        # Only a named unit takes an item out of the weighing, never one the sentence hints at.
        named = (find for find in item.finds.components if find.start >= 0 and find.words)
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


def compare_policies(
    judged: JudgedNotes,
    kit: Kit,
    own: Policy,
    evidence: Sequence[Evidence] = (),
    *,
    today: dt.date,
    unit: str = "",
) -> tuple[tuple[UnitScope, dict[str, Assessment]], ...]:
    """For each unit concerned, the advice under every preset and under the operator's own."""
    scope = candidates(judged.notes, kit, unit)
    return tuple(
        (
            one,
            compare(
                judged,
                scope.kit,
                candidates_of(judged, scope, one),
                evidence,
                today=today,
                own=own,
            ),
        )
        for one in scope.units
    )
