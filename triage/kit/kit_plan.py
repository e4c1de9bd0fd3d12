"""The kit as a whole: what does not work together today, and one plan for all that moves."""

from __future__ import annotations

from collections.abc import Mapping

from triage.domain.kit import Kit, KitPlan, Scope
from triage.domain.notes import Notes
from triage.kit.constraints import Constraints, Demand
from triage.kit.ordering import called, who
from triage.kit.plan import plan_together
from triage.kit.requirements import in_words
from triage.kit.units import meant
from triage.kit.versions import compare


def conflicts(notes: Notes, scope: Scope) -> dict[str, tuple[str, ...]]:
    """What the installed releases ask of each other and do not get, by the label of either unit.

    Only requirements of releases that the document holds can be told; silence is no proof.
    """
    case = Constraints.of(notes, scope)
    found: dict[str, list[str]] = {}
    for group, units in enumerate(case.groups):
        for release in notes.releases:
            mine = units[0] in meant(case.kit, release.component, release.unit)
            if not mine or compare(release.version, case.versions[group]) != 0:
                continue
            for requirement in release.requirements:
                for other in case.named(requirement):
                    asked = Demand(group, requirement, other)
                    if other == group or not requirement.version or not case.broken(asked, {}):
                        continue
                    text = (
                        f"{called(case, group, None)} asks: {who(case, other)} "
                        f"{in_words(requirement)}, it has {case.versions[other]}"
                    )
                    for unit in (*units, *case.groups[other]):
                        found.setdefault(unit.label, []).append(text)
    return {label: tuple(dict.fromkeys(texts)) for label, texts in found.items()}


def kit_plan(notes: Notes, scope: Scope, wanted: Mapping[str, int]) -> KitPlan | None:
    """One plan for all units that are advised to move; None when none is.

    `wanted` holds the release by the label of the first unit of each group.
    """
    if not wanted:
        return None
    found = plan_together(notes, scope, wanted)
    labels = list(dict.fromkeys(move.unit for move in found.moves))
    trials = (try_first(scope.kit, (label,)) for label in labels)
    return KitPlan(
        moves=found.moves,
        left_behind=(*found.blocks, *found.left_behind),
        unchecked=found.unchecked,
        try_first=next((words for words in trials if words), ""),
    )


def try_first(kit: Kit, labels: tuple[str, ...]) -> str:
    """How to try a release on one of several like units before the rest; '' for a single one.

    Common practice, no source.
    """
    unit = next((u for u in kit.units if u.label in labels), None)
    if unit is None or kit.assumed:
        return ""
    like = [u.label for u in kit.units if u.component == unit.component and u.name == unit.name]
    if len(like) < 2:
        return ""
    return f"Try it on {like[0]} first and keep {', '.join(like[1:])} as it is until that has flown"
