"""Policies between the ready ones, and where along them the advice turns."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from triage.advice.assess import Beside, ground_of
from triage.advice.evaluation import matter_of
from triage.advice.first_questions import Facts
from triage.advice.hazards import build
from triage.advice.policy import presets
from triage.domain.advice import Candidate, Evidence, Verdict
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit
from triage.domain.notes import Status
from triage.domain.policy import Level, Policy, Worth

STEPS = 20
"""From 0, the strictest preset, to the most lenient; the middle one stands half way."""

_ORDERS: tuple[Sequence[object], ...] = (
    tuple(Level),
    tuple(Worth),
    (Status.ALPHA, Status.BETA, Status.CANDIDATE, Status.RELEASED),
)
_FINE = ("credible", "trouble_share", "problem_weight", "clean_weight")


def between(step: int) -> Policy:
    """The policy at a step from 0 to `STEPS`; at a preset's own step it is that preset.

    Numbers run evenly between neighbouring presets, whole ones rounded to the strict side; what
    has no numbers (levels, worths, statuses) stays that of the stricter preset until the next.
    """
    ready = [preset.policy for preset in presets().values()]
    share = STEPS / (len(ready) - 1)
    at = min(int(step / share), len(ready) - 1)
    low, part = ready[at], step / share - at
    if part == 0:
        return low
    high = ready[at + 1]
    values: dict[str, object] = {"name": f"between {low.name} and {high.name}"}
    for field in Policy.model_fields:
        a, b = getattr(low, field), getattr(high, field)
        if field == "name" or any(a in order for order in _ORDERS):
            continue
        value = a + (b - a) * part
        values[field] = round(value, 4) if field in _FINE else -(-value // 1)
    return Policy.model_validate(low.model_dump() | values)


def scale_step(policy: Policy) -> int | None:
    """The step at which a preset stands, None for any other policy."""
    return next((n for n in range(STEPS + 1) if between(n) == policy), None)


def verdicts(
    notes: JudgedNotes,
    kit: Kit,
    scope: Sequence[Candidate],
    evidence: Sequence[Evidence] = (),
    *,
    today: dt.date,
    beside: Beside | None = None,
) -> tuple[Verdict, ...]:
    """The advice at each step, for one kind of unit; arguments as those of `assess`."""
    beside = beside or Beside()
    ground = ground_of(notes, kit, scope, evidence, today, beside)
    facts = [Facts(build(ground, c), ground, tuple(scope), beside.conflicts) for c in scope]

    def updates(policy: Policy) -> bool:
        return any(matter_of(one, policy).updates for one in facts)

    found = [updates(between(step)) for step in range(STEPS + 1)]
    return tuple(Verdict.UPDATE if update else Verdict.WAIT for update in found)
