"""The conditions under which the policy lets a release in: one row each, in the order shown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from triage.advice import tables
from triage.advice.chance import Outlook
from triage.advice.hazards import Case
from triage.advice.items_matrix import Bools
from triage.advice.words import count_of
from triage.domain.advice import Gate, HazardKind, Passed
from triage.domain.notes import Status
from triage.domain.policy import Policy

_STATUS_ORDER = (Status.ALPHA, Status.BETA, Status.CANDIDATE, Status.RELEASED)
EVE = 1  # days: nobody updates on the eve of a job, whatever presses


@dataclass(frozen=True)
class Asked:
    """What a gate looks at; `grave` tells, row by row, whether flight is touched."""

    case: Case
    policy: Policy
    outlook: Outlook
    grave: Bools

    @property
    def out(self) -> np.ndarray:
        """Days since the release, a row each."""
        return np.asarray(self.case.out + self.outlook.shift + self.outlook.older)

    @property
    def clean(self) -> float:
        """Clean users as the policy counts them."""
        return (self.case.clean_users + self.outlook.more_clean) * self.policy.clean_weight

    @property
    def least_days(self) -> np.ndarray:
        """The least age, a row each."""
        return np.where(self.grave, self.policy.min_days_flight, self.policy.min_days_other)


class GateRow(NamedTuple):
    """A gate: what it is called when passed and when not, its test row by row, and why."""

    id: str
    passed: str
    shut: str
    test: Callable[[Asked], np.ndarray | bool]
    why: Callable[[Asked], str]


def status_allowed(status: Status, policy: Policy) -> bool:
    """Whether the policy takes a release of that status."""
    if status not in _STATUS_ORDER:
        return False
    return _STATUS_ORDER.index(status) >= _STATUS_ORDER.index(policy.least_status)


def job_near(outlook: Outlook, days: int) -> np.ndarray:
    """Whether a job lies within so many days, a row for each day supposed."""
    near = np.zeros_like(outlook.shift, dtype=bool)
    for distance in outlook.job_distance:
        ahead = distance - outlook.shift
        near |= (ahead >= 0) & (ahead <= days)
    return near


def _watched(asked: Asked) -> np.ndarray:
    policy = asked.policy
    enough = asked.clean >= policy.min_clean_users
    return ~asked.grave | enough | (asked.out >= policy.days_instead_of_looks)


def _quiet(asked: Asked) -> bool:
    unnamed = int(asked.case.severity[-1])
    at = tables.functions()[asked.outlook.trouble_function].severity
    supposed = asked.outlook.more_trouble if min(at, unnamed) <= 2 and at <= 2 else 0.0
    reported = (asked.case.grave_users + supposed) * asked.policy.problem_weight
    return reported == 0 or reported / (reported + asked.clean) <= asked.policy.trouble_share


def _way_back(asked: Asked) -> np.ndarray | bool:
    if asked.case.way_back is not False:
        return True
    return asked.out >= asked.policy.no_way_back_days


def _together(asked: Asked) -> np.ndarray | bool:
    """Whether the units that have to move with it may move by then."""
    open_ = np.ones_like(asked.outlook.shift, dtype=bool)
    for days in asked.case.held_days:
        open_ &= asked.outlook.shift >= days
    return open_


def _lost(asked: Asked) -> tuple[str, ...]:
    return tuple(s.name for s in asked.case.stated if s.kind is HazardKind.LOST)


def _unchecked(asked: Asked) -> tuple[str, ...]:
    return tuple(p.text for p in asked.case.candidate.problems if p.unchecked)


def _age(asked: Asked) -> str:
    if not asked.case.days_known and not asked.case.out:
        return "date of release not known, counted from today"
    known = "out" if asked.case.days_known else "since the notes were first seen"
    return f"{count_of(asked.case.out, 'day')} {known}"


def _why_watched(asked: Asked) -> str:
    if not asked.grave[0]:
        return "asked for only where flight is touched"
    return (
        f"{asked.clean:g} clean users counted of {asked.policy.min_clean_users}, "
        f"or {count_of(asked.policy.days_instead_of_looks, 'day')} without trouble"
    )


def _why_quiet(asked: Asked) -> str:
    if not asked.case.grave_users:
        return "no trouble recorded in a function that matters"
    return (
        f"trouble reported by {count_of(asked.case.grave_users, 'user')}, "
        f"against {count_of(asked.case.clean_users, 'clean user')}"
    )


def _why_losses(asked: Asked) -> str:
    if not asked.case.losses:
        return "by nobody"
    first = asked.case.losses[0]
    words = f": {first.words}" if first.words else ""
    return (
        f"{count_of(len(asked.case.losses), 'report')} of a loss, not explained{words}; "
        "explain it with a reason if the release is not to blame"
    )


def _why_job(asked: Asked) -> str:
    jobs = sorted(d for d in asked.outlook.job_distance if d >= 0)
    next_job = f"next job in {count_of(jobs[0], 'day')}" if jobs else "no job planned"
    return f"{next_job}, {count_of(asked.policy.job_days, 'day')} kept free"


def _why_back(asked: Asked) -> str:
    if asked.case.way_back is False:
        days = count_of(asked.policy.no_way_back_days, "day")
        return f"no way back: asked for are {days}, {_age(asked)}"
    return "there is a way back" if asked.case.way_back else "way back not known"


GATES = (
    GateRow(
        "status",
        "a final release",
        "still a preview",
        lambda a: status_allowed(a.case.release.status, a.policy),
        lambda a: f"the maker calls it {a.case.release.status.value}",
    ),
    GateRow(
        "days",
        "out long enough",
        "too few days since release",
        lambda a: a.out >= a.least_days,
        lambda a: f"{_age(a)}, at least {count_of(a.least_days[0], 'day')} asked for",
    ),
    GateRow("looks", "watched enough", "too few clean reports", _watched, _why_watched),
    GateRow("trouble", "little trouble reported", "trouble is reported", _quiet, _why_quiet),
    GateRow(
        "loss",
        "no loss reported",
        "a loss is reported",
        lambda a: not a.case.losses,
        _why_losses,
    ),
    GateRow(
        "job",
        "no job close by",
        "a job is close",
        lambda a: ~job_near(a.outlook, a.policy.job_days),
        _why_job,
    ),
    GateRow("way-back", "way back", "there is no way back", _way_back, _why_back),
    GateRow(
        "together",
        "the units it needs may move",
        "another unit has to move too, and may not yet",
        _together,
        lambda a: "; ".join(h.text for h in a.case.candidate.held_by) or "no unit holds it back",
    ),
    GateRow(
        "checked",
        "what it needs is known to be there",
        "it isn't known whether what it needs is there",
        lambda a: not _unchecked(a),
        lambda a: "; ".join(_unchecked(a)) or "nothing is left to be read off a unit",
    ),
    GateRow(
        "keeps",
        "nothing you need is lost",
        "something you need would be lost",
        lambda a: not _lost(a),
        lambda a: "; ".join(_lost(a)) or "no job and no need loses by it",
    ),
)
"""Every gate; a new one is a new row."""


def tested(asked: Asked) -> dict[str, Bools]:
    """Each gate's standing by its id, a row for each day or reading."""
    rows = np.broadcast_shapes(asked.outlook.shift.shape, asked.grave.shape)
    return {row.id: np.broadcast_to(np.asarray(row.test(asked)), rows) for row in GATES}


def gate_rows(asked: Asked, found: dict[str, Bools], blocking: str) -> tuple[Gate, ...]:
    """Every gate in words, passed or not, with what only the operator can check on the day."""
    rows = [
        Gate(
            id="possible",
            name="can't be installed" if blocking else "can be installed",
            passed=_passed(not blocking),
            why=blocking or "nothing in the notes or the kit stands against it",
        )
    ]
    for row in GATES:
        open_ = bool(found[row.id][0])
        name = row.passed if open_ else row.shut
        rows.append(Gate(id=row.id, name=name, passed=_passed(open_), why=row.why(asked)))
    rows += [
        Gate(id="needs", name="other units", passed=Passed.CHECK, why=problem.text)
        for problem in asked.case.candidate.problems
        if not problem.blocks
    ]
    charge = f"at least {asked.policy.min_charge} % in every unit, and power for the app's device"
    return (*rows, Gate(id="charge", name="charge", passed=Passed.CHECK, why=charge))


def _passed(value: bool) -> Passed:
    return Passed.YES if value else Passed.NO
