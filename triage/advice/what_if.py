"""What would change the advice, found by search: days, clean users, trouble, or one unsure item."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from triage.advice import tables
from triage.advice.chance import Outlook
from triage.advice.first_questions import Facts
from triage.advice.gain import Gains, worth
from triage.advice.hazards import Case
from triage.advice.items_matrix import KINDS, Bools, Kinds
from triage.advice.rule import Ruling, Settlement, apply_rule
from triage.domain.judged import Standing
from triage.domain.kinds import Kind
from triage.domain.policy import Policy

_TRIED = 8  # functions: trouble with a milder one takes more users to turn anything
_FIELDS = dict(zip(KINDS, ("flight", "compatibility", "fix", "feature"), strict=True))


@dataclass(frozen=True)
class Matter:
    """A case with the policy, the outlook and the gain it is judged by."""

    facts: Facts
    standing: Settlement
    policy: Policy
    outlook: Outlook
    gains: Gains

    @property
    def case(self) -> Case:
        """What is weighed."""
        return self.facts.case

    def judged(self, kinds: Kinds, outlook: Outlook | None = None) -> Ruling:
        """The rule applied to readings of the notes."""
        gain = worth(self.gains, self.case.strict)
        at = outlook or self.outlook
        return apply_rule(self.case, self.standing, self.policy, kinds, at, gain)

    def rule(self, outlook: Outlook | None = None) -> Ruling:
        """The ruling by the notes as they stand.

        To update, it has to hold whether all unsure kinds count or none does; the rest of the
        ruling is that of the cautious reading, in which they count.
        """
        strict, cautious = self.case.strict, self.case.cautious
        ruling = self.judged(cautious, outlook)
        if _same(strict, cautious) or not ruling.move.any():
            return ruling
        other = self.judged(strict, outlook)
        return replace(ruling, update=ruling.update & other.update, move=ruling.move & other.move)

    @property
    def updates(self) -> bool:
        """Whether the advice for this candidate is to update now."""
        return bool(self.rule().update[0])


def first_days(matter: Matter, more_clean: float = 0.0) -> tuple[int | None, int | None]:
    """Days from today until the advice first turns to updating, and until the risk and the gates
    allow the move whatever it brings; None where that never comes."""
    horizon = np.arange(tables.priors().search.days + 1, dtype=float)
    ruling = matter.rule(replace(matter.outlook, shift=horizon, more_clean=more_clean))
    return _first(ruling.update), _first(ruling.move)


def _first(holds: Bools) -> int | None:
    found = np.flatnonzero(holds)
    return int(found[0]) if found.size else None


def _least(holds: Callable[[int], bool], most: int) -> int | None:
    """The smallest number from 1 to `most` that holds, where holding never stops; else None."""
    low, high = 0, 1
    while not holds(min(high, most)):
        if high >= most:
            return None
        low, high = high, 2 * high
    high = min(high, most)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def clean_users(matter: Matter, day: int, most: int) -> int | None:
    """The smallest number of further clean users, up to `most`, that turns the advice that day."""
    at = replace(matter.outlook, shift=np.array([float(day)]))
    return _least(
        lambda n: bool(matter.rule(replace(at, more_clean=float(n))).update[0]),
        most,
    )


def trouble_users(matter: Matter) -> tuple[int, int] | None:
    """The fewest users with trouble that turn an update into a wait, and in which function.

    The functions that the move touches are tried first, then, where changes nobody named could
    end a flight, the others that can; the gravest of either first.
    """
    present = matter.rule().risks.present[0]
    functions = tables.functions()
    touched = [bool(present[2 * at] or present[2 * at + 1]) for at in range(len(functions))]
    flies = matter.case.severity[-1] <= 2
    tried = [at for at, f in enumerate(functions) if touched[at] or (flies and f.severity <= 2)]
    tried = sorted(tried, key=lambda at: (not touched[at], functions[at].severity))[:_TRIED]
    best: tuple[int, int] | None = None
    for at in tried:

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
        for row, entry in enumerate(matter.case.entries)
        for judgement in entry.item.judgements
        if judgement.standing is Standing.UNSURE
        for settled in (True, False)
    ]
    if not doubts:
        return ()
    strict, cautious = (_settled(k, doubts) for k in (matter.case.strict, matter.case.cautious))
    gain = worth(matter.gains, strict)
    update = np.logical_and(
        *(
            apply_rule(matter.case, matter.standing, matter.policy, k, matter.outlook, gain).update
            for k in (strict, cautious)
        )
    )
    turned = update != matter.updates
    return tuple(flip for flip, turns in zip(doubts, turned, strict=True) if turns)


def flips_together(matter: Matter) -> bool:
    """Whether a wait turns once every unsure flight behaviour and compatibility is ruled out."""
    return bool(matter.judged(matter.case.strict).update[0]) and not matter.updates


def _same(a: Kinds, b: Kinds) -> bool:
    return all(np.array_equal(getattr(a, name), getattr(b, name)) for name in _FIELDS.values())


def _settled(base: Kinds, doubts: list[Flip]) -> Kinds:
    arrays = {name: np.repeat(getattr(base, name), len(doubts), 0) for name in _FIELDS.values()}
    for row, flip in enumerate(doubts):
        arrays[_FIELDS[flip.kind]][row, flip.row] = flip.settled
    return Kinds(**arrays)
