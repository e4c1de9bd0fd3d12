"""The rule: first questions, then staying against moving, then the policy's ceiling and gates.

Every quantity is monotone by construction: more clean flights lower each chance and open the looks
gate; more trouble raises chances; a known issue adds harm to moving; a stricter policy accepts less
and asks for more. The chances, the hazards of staying and the gain do not depend on the policy.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from triage.advice import matrix, tables
from triage.advice.chance import Noise, Outlook, Risks, doubt, levels, risks_of
from triage.advice.first_questions import Facts, deadline_of, presses, stops
from triage.advice.gates import EVE, Asked, job_near, status_allowed, tested
from triage.advice.hazards import Case
from triage.advice.items_matrix import Bools, Floats, Kinds, severity_held
from triage.domain.policy import Level, Policy, Worth

_WORTH_ORDER = {worth: i for i, worth in enumerate(Worth)}


@dataclass(frozen=True)
class Staying:
    """Harm of staying per flight, and whether a grave defect keeps the aircraft on the ground."""

    harm: Floats
    grounds: Bools
    serious: Bools


@dataclass(frozen=True)
class Drawn:
    """What draws suppose of the defects: items x rows turned, with their category (4: none)."""

    present: Bools
    category: np.ndarray
    chance: Floats


@dataclass(frozen=True)
class Ruling:
    """What the rule finds, a row for each reading or day.

    `move` is whether the risk and the gates allow it, `update` whether something is gained too.
    `obliged` holds from the last good day before a deadline on.
    """

    update: Bools
    move: Bools
    presses: Bools
    grounds: Bools
    obliged: Bools
    within: Bools
    proven: Bools
    doubt: Floats
    gates: dict[str, Bools]
    grave: Bools
    risks: Risks
    staying: Staying


@dataclass(frozen=True)
class Settlement:
    """What the first questions settle for a candidate, once for all rows and policies.

    `last_day` is the last good day before a deadline, in days from today; None without one.
    """

    stopped: bool
    pressed: bool
    last_day: float | None


def standing_of(facts: Facts, job_distance: tuple[int, ...]) -> Settlement:
    """The first questions asked of a candidate."""
    pressed = presses(facts) is not None or bool(facts.case.candidate.pressed_by)
    found = deadline_of(facts.ground)
    last = None
    if found is not None:
        last = last_good_day((found[0] - facts.ground.today).days, job_distance)
    return Settlement(stops(facts) is not None, pressed, last)


def last_good_day(deadline: int, jobs: tuple[int, ...]) -> float:
    """The last day, in days from today, that leaves the lead before a deadline and is no eve.

    Where there is none, the first day from today that is no eve of a job, the deadline over or not.
    """
    latest = deadline - tables.priors().deadline.lead_days
    for day in (*range(latest, -1, -1), *range(max(0, latest + 1), max(deadline, 0) + 1)):
        if not any(0 <= job - day <= EVE for job in jobs):
            return float(day)
    return 0.0


def apply_rule(
    case: Case,
    standing: Settlement,
    policy: Policy,
    kinds: Kinds,
    outlook: Outlook,
    gain: np.ndarray,
    noise: Noise | None = None,
    drawn: Drawn | None = None,
) -> Ruling:
    """Apply the rule to each row of `kinds` (or of `outlook.shift`, where `kinds` has one row).

    `noise` and `drawn` are given for draws over what is uncertain.
    """
    risks = risks_of(case, kinds, outlook, noise)
    staying = staying_of(case, kinds, drawn)
    grave: Bools = np.any(risks.present[:, :-1] & (case.severity[:-1] <= 2), axis=1) | case.silent
    within = _within(case, risks, policy)
    sure = doubt(risks, policy)
    proven = sure <= 1 - policy.credible + 1e-12
    asked = Asked(case, policy, outlook, grave)
    gates = tested(asked)
    worth = gain >= _WORTH_ORDER[policy.least_gain]
    outweighs = staying.harm > risks.harm
    grounds = staying.grounds | standing.pressed
    pressing = ((staying.serious | staying.grounds) & outweighs) | standing.pressed
    calm = grounds | ~job_near(outlook, policy.job_days)
    allowed = status_allowed(case.release.status, policy) & (not standing.stopped)
    allowed = allowed & (not case.losses)
    allowed = allowed & (not any(held.never for held in case.candidate.held_by))
    last = np.inf if standing.last_day is None else standing.last_day
    obliged = outlook.shift >= last
    free = within & proven & np.logical_and.reduce(list(gates.values()))
    forced = (pressing & calm) | obliged
    return Ruling(
        update=allowed & (forced | (free & worth)),
        move=allowed & (forced | free),
        presses=pressing & calm,
        grounds=grounds,
        obliged=np.broadcast_to(obliged, np.broadcast_shapes(obliged.shape, grave.shape)),
        within=within,
        proven=proven,
        doubt=sure,
        gates=gates,
        grave=grave,
        risks=risks,
        staying=staying,
    )


def staying_of(case: Case, kinds: Kinds, drawn: Drawn | None = None) -> Staying:
    """The known defects of the installed version, a row for each reading."""
    rows = kinds.fix.shape[0]
    if not case.entries:
        nothing = np.zeros(rows, bool)
        return Staying(np.zeros(rows), nothing, nothing)
    weights, least = np.array(tables.weights()), tables.priors().defect.presses
    fix = kinds.fix & case.counted
    chance = case.matrix.defect_chance[case.rows]
    met = np.array([entry.met for entry in case.entries], bool)
    if drawn is None:
        present = case.matrix.present[case.rows]
        by_flight, by_plain = case.matrix.defect_flight, case.matrix.defect_plain
        harm = np.where(kinds.flight, by_flight[case.rows] @ weights, by_plain[case.rows] @ weights)
        each = harm * (chance * present)
        held = np.where(kinds.flight, *_held(case))
        real = fix & (present > 0)
    else:
        weigh = np.array([*tables.weights(), 0.0])
        each = weigh[drawn.category] * drawn.chance * drawn.present
        held = np.where(drawn.category < 4, drawn.category + 1, 5)
        real = fix & drawn.present
        chance = drawn.chance
    shares = np.eye(5)[np.minimum(held, 5) - 1][..., :4]
    rank = levels(np.broadcast_to(chance, held.shape), shares)
    serious = real & met & (held < 5) & (rank >= matrix.RANK[least])
    return Staying(
        harm=(each * fix).sum(axis=1),
        grounds=(real & met & (held <= 2)).any(axis=1),
        serious=np.asarray(serious.any(axis=1)),
    )


def _held(case: Case) -> tuple[np.ndarray, np.ndarray]:
    """The category held of each defect, as flight behaviour and otherwise; 5 for none."""
    found = [[severity_held(chances) or 5 for chances in entry.defect] for entry in case.entries]
    array = np.array(found, dtype=np.int64)
    return array[:, 0], array[:, 1]


def _within(case: Case, risks: Risks, policy: Policy) -> Bools:
    """Whether every hazard of moving is at a level that the policy accepts."""
    low, high = matrix.RANK[policy.accept], matrix.RANK[policy.accept_catastrophic]
    ceiling = np.where(case.severity == 1, high, low)
    within: Bools = np.all(~risks.present | (risks.level <= ceiling), axis=1)
    for at, stated in enumerate(risks.stated):
        grave = (severity_held(stated.chances) or 4) == 1
        within = within & (risks.stated_level[:, at] <= (high if grave else low))
    return within


def worth_order(worth: Worth) -> int:
    """Place of a worth, 0 for none."""
    return _WORTH_ORDER[worth]


def accepted(level: Level, severity: int, policy: Policy) -> bool:
    """Whether the policy takes a hazard of that level and severity."""
    ceiling = policy.accept_catastrophic if severity == 1 else policy.accept
    return matrix.RANK[level] <= matrix.RANK[ceiling]
