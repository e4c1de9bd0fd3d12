"""What the decisions teach: followed against overruled, how well the certainty held, waiting.

All of it is a pure function of the cases, taken one at a time, so that a journal of any length is
counted in little memory.
"""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from triage.domain.base import Frozen
from triage.domain.journal import Ahead, JournalEntry, Result, Updated
from triage.journal.base_rates import OwnRate, Tally
from triage.journal.history import PastDecision
from triage.journal.journal_tables import learning
from triage.journal.share_interval import Share, share_of


class Row(Frozen):
    """Decisions of one sort; `problems` counts those with an outcome only."""

    followed: bool
    updated: bool
    decisions: int
    well: int
    problem: int
    went_back: int
    open: int
    problems: Share


class Firmness(Frozen):
    """Followed advice with a stated certainty in [low, high); `held` are those that went well."""

    low: float
    high: float
    stated: float
    held: Share


class Avoided(Frozen):
    """What came to notice while the operator waited; `words` is '' for the tool's own finding."""

    seq: int
    version: str
    withdrawn: bool
    users: int
    words: str


class Waiting(Frozen):
    """Stretches from a first decision to wait to the update of the same unit, in days."""

    over: int
    still: int
    median: float | None
    longest: int | None
    histogram: tuple[tuple[int, int], ...]
    avoided: tuple[Avoided, ...]
    avoided_in_all: int


class Runs(Frozen):
    """Update runs that are over.

    `against` were begun against the advice, `stumbled` had a step that failed on the way, `alone`
    follow no decision that was kept.
    """

    finished: int = 0
    abandoned: int = 0
    against: int = 0
    stumbled: int = 0
    alone: int = 0


class Stats(Frozen):
    """Everything `triage journal stats` shows. `certainty` speaks of all followed advice.

    Runs are counted by themselves and move no other figure: how an update went is told by an
    outcome, once it was flown.
    """

    decisions: int
    rows: tuple[Row, ...]
    certainty: Share
    stated: float
    groups: tuple[Firmness, ...]
    waiting: Waiting
    rates: tuple[OwnRate, ...]
    runs: Runs = Runs()


@dataclass
class _Stretch:
    since: dt.date
    seen: dict[str, Ahead]


@dataclass
class _Waits:
    """Open stretches by pilot and unit, and what those that ended were like."""

    open: dict[tuple[str, str], _Stretch] = field(default_factory=dict)
    days: Counter[int] = field(default_factory=Counter)
    avoided: list[Avoided] = field(default_factory=list)
    in_all: int = 0

    def take(self, case: PastDecision) -> None:
        now = _by_version(case.advised.ahead)
        for label in case.decision.units:
            if stretch := self.open.get((case.pilot, label)):
                self._compare(case.seq, stretch, now)
        if case.updated:
            ended = {
                self.open.pop((case.pilot, label)).since
                for label in case.decision.units
                if (case.pilot, label) in self.open
            }
            for since in ended:
                self.days[max(0, (case.day - since).days)] += 1
            return
        for words in case.avoided:
            self._note(Avoided(seq=case.seq, version="", withdrawn=False, users=0, words=words))
        first = (case.pilot, case.decision.units[0])
        if not any((case.pilot, label) in self.open for label in case.decision.units):
            self.open[first] = _Stretch(case.day, now)

    def _compare(self, seq: int, stretch: _Stretch, now: dict[str, Ahead]) -> None:
        for version, then in stretch.seen.items():
            new = now.get(version)
            if new is None:
                continue
            withdrawn = new.withdrawn and not then.withdrawn
            users = max(0, new.trouble - then.trouble)
            if withdrawn or users:
                self._note(
                    Avoided(seq=seq, version=version, withdrawn=withdrawn, users=users, words="")
                )
        stretch.seen.update(now)

    def _note(self, avoided: Avoided) -> None:
        self.in_all += 1
        self.avoided.append(avoided)
        del self.avoided[: -learning().avoided_shown]

    def told(self) -> Waiting:
        return Waiting(
            over=self.days.total(),
            still=len(self.open),
            median=_median(self.days),
            longest=max(self.days, default=None),
            histogram=tuple(sorted(self.days.items())),
            avoided=tuple(self.avoided),
            avoided_in_all=self.in_all,
        )


@dataclass
class _Count:
    decisions: int = 0
    well: int = 0
    problem: int = 0
    went_back: int = 0

    def take(self, case: PastDecision) -> None:
        self.decisions += 1
        if case.outcome is not None:
            self.well += case.outcome.result is Result.WELL
            self.problem += case.outcome.result is Result.PROBLEM
            self.went_back += any(o.went_back for o in case.problems)

    def row(self, followed: bool, updated: bool) -> Row:
        told = self.well + self.problem
        return Row(
            followed=followed,
            updated=updated,
            decisions=self.decisions,
            well=self.well,
            problem=self.problem,
            went_back=self.went_back,
            open=self.decisions - told,
            problems=share_of(self.problem, told),
        )


@dataclass
class _Firm:
    of: int = 0
    held: int = 0
    stated: float = 0.0

    def take(self, stated: float, held: bool) -> None:
        self.of += 1
        self.held += held
        self.stated += stated


def stats(cases: Iterable[PastDecision], updates: Iterable[JournalEntry] = ()) -> Stats:
    """Count all cases, in the order they were decided, and all update runs."""
    numbers = learning()
    counts = {(f, u): _Count() for f in (True, False) for u in (True, False)}
    groups = [_Firm() for _ in range(numbers.groups)]
    whole, waits, tally = _Firm(), _Waits(), Tally()
    for case in cases:
        counts[case.followed, case.updated].take(case)
        waits.take(case)
        tally.take(case)
        if case.followed and case.outcome is not None:
            held, stated = case.outcome.result is Result.WELL, case.advised.share
            whole.take(stated, held)
            groups[min(int(stated * numbers.groups), numbers.groups - 1)].take(stated, held)
    return Stats(
        decisions=sum(count.decisions for count in counts.values()),
        rows=tuple(count.row(*key) for key, count in counts.items()),
        certainty=share_of(whole.held, whole.of, numbers.least_certainties),
        stated=whole.stated / whole.of if whole.of else 0.0,
        groups=tuple(_firmness(n, group) for n, group in enumerate(groups) if group.of),
        waiting=waits.told(),
        rates=tally.rates(),
        runs=_runs(updates),
    )


def _runs(updates: Iterable[JournalEntry]) -> Runs:
    counts: Counter[str] = Counter()
    for entry in updates:
        payload = entry.record.payload
        if isinstance(payload, Updated):
            over = payload.summary
            counts["abandoned" if over.abandoned else "finished"] += 1
            counts["against"] += over.against
            counts["stumbled"] += bool(over.failed)
            counts["alone"] += payload.about == entry.seq
    return Runs(**counts)


def _firmness(n: int, group: _Firm) -> Firmness:
    numbers = learning()
    return Firmness(
        low=n / numbers.groups,
        high=(n + 1) / numbers.groups,
        stated=group.stated / group.of,
        held=share_of(group.held, group.of, numbers.least_in_group),
    )


def _by_version(ahead: Iterable[Ahead]) -> dict[str, Ahead]:
    """One line a version: a document may state a release more than once."""
    found: dict[str, Ahead] = {}
    for one in ahead:
        other = found.get(one.version)
        if one.version and other is not None:
            one = Ahead(
                version=one.version,
                withdrawn=one.withdrawn or other.withdrawn,
                clean=max(one.clean, other.clean),
                trouble=max(one.trouble, other.trouble),
            )
        if one.version:
            found[one.version] = one
    return found


def _median(days: Counter[int]) -> float | None:
    of = days.total()
    if not of:
        return None
    middle, seen, found = {(of - 1) // 2, of // 2}, 0, []
    for day, count in sorted(days.items()):
        found += [day for at in middle if seen <= at < seen + count]
        seen += count
    return sum(found) / len(found)
