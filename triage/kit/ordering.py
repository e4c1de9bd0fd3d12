"""In which order the units of a plan move, and where one has to stop on its way."""

from __future__ import annotations

from graphlib import CycleError, TopologicalSorter
from itertools import pairwise

from triage.domain.kit import Unmet
from triage.domain.notes import Comparison, Requirement
from triage.kit.constraints import Chosen, Constraints, Demand, Target
from triage.kit.requirements import InstalledState, holds, in_words
from triage.kit.versions import compare

Node = tuple[int, int]  # group, and its how-manieth move


def paths_of(
    case: Constraints, chosen: Chosen
) -> tuple[dict[int, tuple[Target, ...]], list[Unmet]]:
    """Each group's moves, with the stops its own requirements ask for, and those not possible."""
    paths: dict[int, tuple[Target, ...]] = {}
    refused = []
    for group, target in chosen.items():
        stops: list[Target] = []
        for requirement in case.requirements(target):
            if group not in case.named(requirement) or not requirement.version:
                continue
            if requirement.comparison in (Comparison.BELOW, Comparison.NOT_WITH):
                continue  # what the new release no longer goes with, not a stop on the way to it
            if holds(requirement, InstalledState(case.versions[group])).holds is not False:
                continue
            if (compare(requirement.version, target.version) or 0) >= 0:
                continue  # a release that asks for itself asks for nothing
            options = [
                option
                for option in case.options(group, requirement)
                if compare(option.version, target.version) == -1
            ]
            if not options:
                words = f"{called(case, group, target)}: it {in_words(requirement)} before"
                refused.append(about(case, group, words, requirement))
            elif options[0] not in stops:
                stops.append(options[0])
        on_the_way = {at: n for n, at in enumerate(target.covers)}
        stops.sort(
            key=lambda stop: on_the_way.get(-1 if stop.release is None else stop.release, -1)
        )
        paths[group] = (*stops, target)
    return paths, refused


def in_order(
    case: Constraints, chosen: Chosen, paths: dict[int, tuple[Target, ...]]
) -> tuple[dict[Node, int], list[Unmet]]:
    """The step of each move; rings of 'first' are reported, other rings are one step."""
    before: dict[Node, dict[Node, Demand | None]] = {
        (group, n): {(group, n - 1): None} if n else {}
        for group, path in paths.items()
        for n in range(len(path))
    }
    for asked in case.asked(chosen):
        comparison = asked.requirement.comparison
        if (
            asked.by not in chosen
            or asked.of not in chosen
            or comparison in (Comparison.WITH, Comparison.SAME)
        ):
            continue
        held = holds(asked.requirement, case.state(asked.of, {})).holds
        if comparison is Comparison.FIRST or held is not True:
            last = (asked.by, len(paths[asked.by]) - 1)
            link = (asked.of, len(paths[asked.of]) - 1)
            if not _first(before[last].get(link)):
                before[last][link] = asked
    rings = []
    while True:
        sorter = TopologicalSorter(before)
        try:
            sorter.prepare()
        except CycleError as error:
            ring = error.args[1]
            links = [(a, b) for a, b in pairwise(ring) if before[b].get(a)]
            soft = [(a, b) for a, b in links if not _first(before[b][a])]
            if not soft:
                rings.append(_ring(case, before[links[0][1]][links[0][0]]))
            for a, b in soft or links[:1]:
                del before[b][a]
        else:
            break
    steps: dict[Node, int] = {}
    step = 0
    while sorter.is_active():
        step += 1
        ready = sorter.get_ready()
        steps.update(dict.fromkeys(ready, step))
        sorter.done(*ready)
    return steps, rings


def _first(asked: Demand | None) -> bool:
    return asked is not None and asked.requirement.comparison is Comparison.FIRST


def _ring(case: Constraints, asked: Demand | None) -> Unmet:
    assert asked is not None  # a ring of one unit's own moves cannot be
    words = f"{who(case, asked.by)} and {who(case, asked.of)} each have to wait for the other"
    return about(case, asked.of, words, asked.requirement)


def about(case: Constraints, group: int, words: str, requirement: Requirement) -> Unmet:
    """An unmet requirement about a group's first unit."""
    return Unmet(unit=case.groups[group][0].label, reason=words, requirement=requirement)


def who(case: Constraints, group: int) -> str:
    """The labels of a group."""
    labels = [unit.label for unit in case.groups[group]]
    return labels[0] if len(labels) == 1 else f"{', '.join(labels[:-1])} and {labels[-1]}"


def called(case: Constraints, group: int, target: Target | None) -> str:
    """The labels of a group, and the version it moves to or has."""
    version = target.version if target else case.versions[group]
    return f"{who(case, group)} {version or '(newest)'}"
