"""Which units have to move with one that moves, so that all requirements hold.

A unit of which something is asked that does not hold is moved by the smallest step that meets the
most, or stays where no step meets more; what its new release asks is looked at in turn. Then other
steps are tried, as long as they can leave less unmet (branch and bound).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from triage.kit.constraints import Chosen, Constraints, Demand, Target

SEARCH_STEPS = 100  # a usual kit takes tens; beyond it the best found so far stands


@dataclass(frozen=True)
class _Partial:
    """A plan on its way: groups that move, groups settled to stay, what is asked of each group,
    groups to look at again, and how much is known to stay unmet."""

    chosen: Chosen
    stay: frozenset[int] = frozenset()
    asks: dict[int, tuple[Demand, ...]] = field(default_factory=dict)
    queue: tuple[int, ...] = ()
    unmet: int = 0

    def decided(self, group: int) -> bool:
        return group in self.chosen or group in self.stay


def solve(case: Constraints, wanted: Chosen) -> tuple[Chosen, tuple[Demand, ...]]:
    """The moves that meet what those wanted ask, and what they leave unmet."""
    best: _Partial | None = None
    steps = 0

    def visit(partial: _Partial) -> None:
        nonlocal best, steps
        steps += 1
        if best is not None and (partial.unmet >= best.unmet or steps > SEARCH_STEPS):
            return
        queue = list(partial.queue)
        while queue:
            group = queue.pop(0)
            if partial.decided(group):
                continue
            choices = _choices(case, partial, group)
            if choices:
                rest = replace(partial, queue=tuple(queue))
                for choice in choices:
                    visit(_moved(case, rest, group, choice) if choice else
                          _stayed(case, rest, group))  # fmt: skip
                return
        best = partial

    first = _Partial({})
    for group, target in wanted.items():
        first = _moved(case, first, group, target)
    visit(first)
    assert best is not None  # the first plan tried is always kept
    chosen = best.chosen
    return chosen, tuple(asked for asked in case.asked(chosen) if case.broken(asked, chosen))


def _choices(case: Constraints, partial: _Partial, group: int) -> list[Target | None]:
    """Steps of a group, those that leave least unmet first; None is to stay, () nothing to do."""
    asks = partial.asks.get(group, ())
    broken = [asked for asked in asks if case.broken(asked, partial.chosen)]
    excludes = [
        a for a in case.excluded_by(group, partial.chosen) if case.broken(a, partial.chosen)
    ]
    if not broken and not excludes:
        return []
    targets = [t for asked in broken for t in case.options(group, asked.requirement)]
    targets += case.ahead(group) if excludes else []

    def left(target: Target) -> int:
        return sum(case.broken(asked, {group: target}) for asked in asks)

    staying = len(broken) + len(excludes)
    better = [t for t in dict.fromkeys(targets) if left(t) < staying]
    return [*sorted(better, key=left), None]


def _moved(case: Constraints, partial: _Partial, group: int, target: Target) -> _Partial:
    chosen = {**partial.chosen, group: target}
    asks = dict(partial.asks)
    queue = list(partial.queue)
    unmet = partial.unmet + sum(case.broken(asked, chosen) for asked in asks.get(group, ()))
    for asked in case.asked_by(group, target):
        asks[asked.of] = (*asks.get(asked.of, ()), asked)
        if partial.decided(asked.of):
            unmet += case.broken(asked, chosen)
        elif asked.of not in queue:
            queue.append(asked.of)
    for other in range(len(case.groups)):
        if other in chosen or not case.standing[other]:
            continue
        if other in partial.stay:
            unmet += sum(case.broken(a, chosen) for a in case.excluded_by(other, {group: target}))
        elif other not in queue:
            queue.append(other)
    return replace(partial, chosen=chosen, asks=asks, queue=tuple(queue), unmet=unmet)


def _stayed(case: Constraints, partial: _Partial, group: int) -> _Partial:
    asked = (*partial.asks.get(group, ()), *case.excluded_by(group, partial.chosen))
    unmet = partial.unmet + sum(case.broken(one, partial.chosen) for one in asked)
    return replace(partial, stay=partial.stay | {group}, unmet=unmet)
