"""What would change the advice, found by search: days, clean users, trouble, or one unsure item."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from triage.advice import tables
from triage.advice.gain import Gains, worth
from triage.advice.rule import Outlook, Ruling, judge
from triage.advice.weigh import KINDS, Case, Kinds, reading
from triage.domain.judged import Judgement, Standing
from triage.domain.kinds import Kind
from triage.domain.policy import Policy

_FIELDS = dict(zip(KINDS, ("flight", "compatibility", "fix", "feature"), strict=True))


@dataclass(frozen=True)
class Matter:
    """A case with the policy, the outlook and the gain it is judged by."""

    case: Case
    policy: Policy
    outlook: Outlook
    gains: Gains

    def rule(self, outlook: Outlook | None = None, *, any_gain: bool = False) -> Ruling:
        """The ruling by the notes as they stand: the unsure count against moving."""
        known = reading(self.case, cautious=False)
        gain = worth(self.gains, known)
        return judge(
            self.case,
            self.policy,
            reading(self.case, cautious=True),
            outlook or self.outlook,
            np.full_like(gain, 99) if any_gain else gain,
            known=known,
        )

    @property
    def updates(self) -> bool:
        """Whether the advice for this candidate is to update now."""
        return bool(self.rule().update[0])


def _horizon(outlook: Outlook) -> Outlook:
    return replace(outlook, shift=np.arange(tables.priors().search.days + 1, dtype=float))


def first_day(matter: Matter, *, more_clean: float = 0.0, any_gain: bool = False) -> int | None:
    """Days from today until the advice first turns to updating; None where it never does."""
    ahead = replace(_horizon(matter.outlook), more_clean=more_clean)
    found = np.flatnonzero(matter.rule(ahead, any_gain=any_gain).update)
    return int(found[0]) if found.size else None


def _least(holds: Callable[[int], bool], most: int) -> int | None:
    """The smallest number from 1 to `most` that holds, where holding never stops; else None."""
    if not holds(most):
        return None
    low, high = 0, most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def clean_users(matter: Matter, day: int) -> int | None:
    """The smallest number of further clean users that turns the advice on that day."""
    at = replace(matter.outlook, shift=np.array([float(day)]))
    return _least(
        lambda n: bool(matter.rule(replace(at, more_clean=float(n))).update[0]),
        tables.priors().search.users,
    )


def trouble_users(matter: Matter) -> tuple[int, int] | None:
    """The fewest users with trouble that turn an update into a wait, and in which function."""
    best: tuple[int, int] | None = None
    for at, function in enumerate(tables.functions()):
        if not (matter.rule().present[0, 2 * at] or function.severity <= 2):
            continue

        def waits(n: int, at: int = at) -> bool:
            trouble = replace(matter.outlook, more_trouble=float(n), trouble_function=at)
            return not matter.rule(trouble).update[0]

        most = best[0] - 1 if best else tables.priors().search.users
        found = _least(waits, most) if most >= 1 else None
        if found is not None:
            best = (found, at)
    return best


@dataclass(frozen=True)
class Flip:
    """An unsure kind of an item that turns the advice when it is settled as `settled`."""

    row: int
    kind: Kind
    settled: bool


def unsure_flips(matter: Matter) -> tuple[Flip, ...]:
    """Every single unsure kind whose settling turns the advice."""
    doubts = [
        Flip(row, judgement.kind, settled)
        for row, stake in enumerate(matter.case.stakes)
        for judgement in stake.item.judgements
        if _doubtful(judgement)
        for settled in (True, False)
    ]
    if not doubts:
        return ()
    moving = _settled(reading(matter.case, cautious=True), doubts)
    known = _settled(reading(matter.case, cautious=False), doubts)
    ruling = judge(
        matter.case,
        matter.policy,
        moving,
        matter.outlook,
        worth(matter.gains, known),
        known=known,
    )
    turned = ruling.update != matter.updates
    return tuple(flip for flip, turns in zip(doubts, turned, strict=True) if turns)


def _doubtful(judgement: Judgement) -> bool:
    return judgement.standing is Standing.UNSURE and not judgement.settled


def _settled(base: Kinds, doubts: list[Flip]) -> Kinds:
    arrays = {name: np.repeat(getattr(base, name), len(doubts), 0) for name in _FIELDS.values()}
    for row, flip in enumerate(doubts):
        arrays[_FIELDS[flip.kind]][row, flip.row] = flip.settled
    return Kinds(**arrays)
