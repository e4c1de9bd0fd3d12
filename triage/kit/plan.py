"""What moving one unit to one release takes across the kit, in order and in plain words."""

from __future__ import annotations

from collections.abc import Mapping

from triage.domain.kit import Move, Plan, Scope, Unmet
from triage.domain.notes import Notes, Requirement, Status
from triage.kit.constraints import Chosen, Constraints, Demand, Target
from triage.kit.ordering import Node, about, called, in_order, paths_of, who
from triage.kit.requirements import EXCLUDING, Holding, InstalledState, holds, in_words, thing
from triage.kit.solver import solve
from triage.kit.versions import compare


def plan(notes: Notes, scope: Scope, label: str, release: int) -> Plan:
    """What has to move, in which order, for the unit and all alike to get the release.

    `release` is an index into the notes' releases; `scope` is what `candidates` found.
    """
    return plan_together(notes, scope, {label: release})


def plan_together(notes: Notes, scope: Scope, wanted: Mapping[str, int]) -> Plan:
    """One plan for several units, by label and release; it is named after the first of them."""
    case = Constraints.of(notes, scope)
    asked_for = {
        case.group(label): _target(notes, scope, label, at) for label, at in wanted.items()
    }
    start = frozenset(asked_for)
    chosen, unmet = solve(case, asked_for)
    paths, refused = paths_of(case, chosen)
    order, rings = in_order(case, chosen, paths)
    found = [(_unmet(case, chosen, asked, start), asked.requirement) for asked in unmet]
    label, release = next(iter(wanted.items()))
    return Plan(
        unit=label,
        release=release,
        moves=tuple(_moves(case, chosen, paths, order, start)),
        blocks=(*(u for u, r in found if r.comparison not in EXCLUDING), *refused, *rings),
        left_behind=tuple(u for u, r in found if r.comparison in EXCLUDING),
        unchecked=tuple(_unchecked(case, chosen)),
    )


def _target(notes: Notes, scope: Scope, label: str, release: int) -> Target:
    offers = next((unit.offers for unit in scope.units if label in unit.labels), ())
    covers = next((offer.covers for offer in offers if offer.release == release), (release,))
    return Target(notes.releases[release].version, release, covers)


def _moves(
    case: Constraints,
    chosen: Chosen,
    paths: dict[int, tuple[Target, ...]],
    steps: dict[Node, int],
    start: frozenset[int],
) -> list[Move]:
    moves = []
    asked: dict[int, list[Demand]] = {}
    for one in case.asked(chosen):
        asked.setdefault(one.of, []).append(one)
    for (group, n), step in sorted(steps.items(), key=lambda item: (item[1], item[0])):
        target = paths[group][n]
        requirement, reason = _cause(case, chosen, group, target, start, asked.get(group, []))
        installed = paths[group][n - 1].version if n else case.versions[group]
        moves += [
            Move(
                unit=unit.label,
                step=step,
                installed=installed,
                version=target.version,
                release=target.release,
                back=target.back,
                reason=reason,
                requirement=requirement,
            )
            for unit in case.groups[group]
        ]
    return moves


def _cause(
    case: Constraints,
    chosen: Chosen,
    group: int,
    target: Target,
    start: frozenset[int],
    asks: list[Demand],
) -> tuple[Requirement | None, str]:
    """The requirement that moves a group, and its words."""
    if target != chosen[group]:
        for requirement in case.requirements(chosen[group]):
            if group in case.named(requirement) and requirement.version:
                words = f"a stop before {chosen[group].version}: it {in_words(requirement)}"
                if holds(requirement, InstalledState(target.version)).holds:
                    return requirement, words
    if group in start:
        return None, "the release asked about"
    moved_by = [asked for asked in asks if case.broken(asked, {})]
    if not moved_by:  # what it has now excludes what moves
        asked = next(a for a in case.excluded_by(group, chosen) if case.broken(a, chosen))
        holding = holds(asked.requirement, case.state(asked.of, chosen))
        words = f"{called(case, group, None)} asks: {who(case, asked.of)} {holding.reason}"
        return asked.requirement, words
    named = [asked for asked in moved_by if asked.requirement.version == target.version]
    asked = (named or moved_by)[0]
    holding = holds(asked.requirement, case.state(group, {}))
    return asked.requirement, _sentence(case, chosen, asked, holding)


def _sentence(case: Constraints, chosen: Chosen, asked: Demand, holding: Holding) -> str:
    by = called(case, asked.by, chosen.get(asked.by))
    return f"{by} asks: {who(case, asked.of)} {holding.reason}"


def _unmet(case: Constraints, chosen: Chosen, asked: Demand, start: frozenset[int]) -> Unmet:
    """Why a requirement cannot be met, about the unit that stays behind because of it."""
    holding = holds(asked.requirement, case.state(asked.of, chosen))
    words = _sentence(case, chosen, asked, holding)
    excluding = asked.requirement.comparison in EXCLUDING
    if asked.of in start and excluding:
        return about(case, asked.by, words, asked.requirement)
    unit = case.groups[asked.of][0]
    if asked.of in chosen:
        words += ", where another requirement of this plan puts it"
    elif excluding and asked.requirement.version and unit.reversible is False:
        words += ", and cannot go back"
    elif excluding and asked.requirement.version and unit.reversible is None:
        words += ", and whether it can go back is not stated"
    elif excluding and asked.requirement.version:
        words += ", and the document names no earlier release to go back to"
    elif _withdrawn(case, asked.requirement):
        words += ", and the maker withdrew that version"
    return about(case, asked.of, words, asked.requirement)


def _withdrawn(case: Constraints, requirement: Requirement) -> bool:
    return any(
        release.status is Status.WITHDRAWN and compare(release.version, requirement.version) == 0
        for release in case.notes.releases
    )


def _unchecked(case: Constraints, chosen: Chosen) -> list[Unmet]:
    """What is asked of things that are not in the kit, or whose version does not tell."""
    found: dict[tuple[str, str], Unmet] = {}
    for group, target in chosen.items():
        by = called(case, group, target)
        for requirement in case.requirements(target):
            if not case.named(requirement):
                name = thing(requirement)
                words = f"{by} asks: {name} {in_words(requirement)}; the kit lists no {name}"
                found[words, ""] = Unmet(unit="", reason=words, requirement=requirement)
            for other in case.named(requirement):
                holding = holds(requirement, case.state(other, chosen if other != group else {}))
                if holding.holds is None:
                    asked = Demand(group, requirement, other)
                    words = _sentence(case, chosen, asked, holding)
                    label = case.groups[other][0].label
                    found[words, label] = about(case, other, words, requirement)
    return list(found.values())
