"""How the ground of an advice moves with the days: what is reported, what the risk comes to."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import numpy as np

from triage.advice import matrix, tables
from triage.advice.assess import Beside, ground_of
from triage.advice.chance import Outlook
from triage.advice.evaluation import matter_of
from triage.advice.first_questions import Facts
from triage.advice.ground import release_day
from triage.advice.hazards import Case, build, reports_on
from triage.advice.items_matrix import Bools, Floats
from triage.domain.advice import Candidate, Evidence
from triage.domain.base import Frozen
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit
from triage.domain.policy import Policy

_AHEAD = 14  # days shown beyond the last that matters
_LEAST_SHOWN = 30


class Course(Frozen):
    """The subject of an advice over days since its release; day 0 is the release.

    `today` and `turns` are such days (`turns` None when no wait turns the advice). `reported` are
    (day, clean users counted by then), as the policy counts them. `users_asked` and `days_instead`
    are 0 where reports are not asked for; `days_asked` is the least age.
    `chance` gives (day, chance per flight) of the gravest hazard of moving from today on, supposing
    that no trouble comes to notice, and `allowed` the chance below which the policy takes it.
    """

    released: dt.date | None
    today: int
    last: int
    turns: int | None
    reported: tuple[tuple[int, float], ...]
    users_asked: int
    days_asked: int
    days_instead: int
    hazard: str
    chance: tuple[tuple[int, float], ...]
    allowed: float


def course(
    notes: JudgedNotes,
    kit: Kit,
    candidate: Candidate,
    policy: Policy,
    evidence: Sequence[Evidence] = (),
    *,
    today: dt.date,
    until: dt.date | None,
    beside: Beside | None = None,
) -> Course:
    """The course of one candidate; arguments as those of `assess`, `until` its day."""
    beside = beside or Beside()
    ground = ground_of(notes, kit, (candidate,), evidence, today, beside)
    case = build(ground, candidate)
    out = int(case.out)
    turns = None if until is None else out + (until - today).days
    now = matter_of(Facts(case, ground, (candidate,), beside.conflicts), policy)
    ruling = now.rule()
    grave = bool(ruling.grave[0])
    days_asked = policy.min_days_flight if grave else policy.min_days_other
    instead = policy.days_instead_of_looks if grave else 0
    last = max(turns or 0, days_asked, instead, out, _LEAST_SHOWN - _AHEAD) + _AHEAD
    shift = np.arange(last - out + 1, dtype=float)
    risks = now.rule(Outlook(shift=shift)).risks
    worst = risks.chance * case.split[np.arange(case.severity.size), case.severity - 1]
    column = _gravest(case, policy, ruling.risks.present[0], worst[0])
    chances = worst[:, column] if column is not None else ()
    return Course(
        released=release_day(case.release.date, today),
        today=out,
        last=last,
        turns=turns,
        reported=_reported(case, reports_on(ground, candidate.release), policy, today),
        users_asked=policy.min_clean_users if grave else 0,
        days_asked=days_asked,
        days_instead=instead,
        hazard=_name(case, column),
        chance=tuple((out + n, float(chance)) for n, chance in enumerate(chances)),
        allowed=1.0 if column is None else chance_allowed(int(case.severity[column]), policy),
    )


def chance_allowed(severity: int, policy: Policy) -> float:
    """The chance per flight below which the policy takes a hazard of that severity category."""
    return matrix.allowed(severity, policy.accept_catastrophic if severity == 1 else policy.accept)


def _gravest(case: Case, policy: Policy, present: Bools, chance: Floats) -> int | None:
    """The column whose chance stands highest against what the policy takes."""
    columns = [int(k) for k in np.flatnonzero(present)]
    if not columns:
        return None

    def pressing(k: int) -> tuple[float, int]:
        taken = chance_allowed(int(case.severity[k]), policy)
        return (float(chance[k]) / taken if taken else float("inf"), -int(case.severity[k]))

    return max(columns, key=pressing)


def _name(case: Case, column: int | None) -> str:
    if column is None:
        return ""
    if column == case.severity.size - 1:
        return "changes the notes leave out"
    return tables.functions()[column // 2].name


def _reported(
    case: Case, evidence: Sequence[Evidence], policy: Policy, today: dt.date
) -> tuple[tuple[int, float], ...]:
    out = int(case.out)
    steps: list[tuple[int, float]] = []
    counted = 0.0
    for seen in sorted(evidence, key=lambda e: e.day):
        if seen.release == case.candidate.release and seen.clean and seen.day <= today:
            counted += seen.users * policy.clean_weight
            steps.append((max(0, out - (today - seen.day).days), counted))
    return tuple(steps)
