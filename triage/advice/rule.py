"""The rule: hazards of staying against hazards of moving, the policy's ceiling, and the gates.

Every quantity is monotone by construction: more clean users lower each chance and open the looks
gate; more trouble raises chances and stops their decay; a stricter policy reads higher chances,
accepts less and asks for more. The hazards of staying and the gain do not depend on the policy.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from triage.advice import matrix, tables
from triage.advice.risk import Outlook, Risks, risks_of
from triage.advice.stakes import Bools, Ints, Kinds
from triage.advice.weigh import Case, blocked
from triage.domain.advice import Passed
from triage.domain.notes import Status
from triage.domain.policy import Level, Policy, Worth

_STATUS_ORDER = (Status.ALPHA, Status.BETA, Status.CANDIDATE, Status.RELEASED)
_WORTH_ORDER = {worth: i for i, worth in enumerate(Worth)}
_PRESSES_CATASTROPHIC = 5 - 1


@dataclass(frozen=True)
class Ruling:
    """What the rule finds, a row for each reading or day.

    `move` is whether the risk and the gates allow it, `update` whether something is gained too.
    """

    update: Bools
    move: Bools
    presses: Bools
    within: Bools
    gates: dict[str, Bools]
    risks: Risks
    staying: Ints


def judge(
    case: Case,
    policy: Policy,
    kinds: Kinds,
    outlook: Outlook,
    gain: Ints,
    *,
    rng: np.random.Generator | None = None,
) -> Ruling:
    """Apply the rule to each row of `kinds` (or of `outlook.shift`, where `kinds` has one row).

    With `rng` the chances are drawn from the posteriors instead of read at the credible level.
    """
    risks = risks_of(case, policy, kinds, outlook, rng)
    present, moving = risks.present, risks.worst
    ceiling = np.where(
        case.severity == 1, matrix.RANK[policy.accept_catastrophic], matrix.RANK[policy.accept]
    )
    within: Bools = np.all(~present | (risks.level <= ceiling), axis=1)
    staying = _staying(case, kinds)
    outweighs = (staying > moving) | ((staying == moving) & (staying % 10 == _PRESSES_CATASTROPHIC))
    presses = (staying // 10 >= matrix.RANK[tables.priors().defect.presses]) & outweighs
    grave: Bools = np.any(present[:, :-1] & (case.severity[:-1] <= 2), axis=1)
    gates = _gates(case, policy, outlook, grave)
    open_ = np.logical_and.reduce(list(gates.values()))
    worth = gain >= _WORTH_ORDER[policy.least_gain]
    allowed = not blocked(case)
    pressing, free = presses & gates["status"], within & open_
    move, update = allowed & (pressing | free), allowed & (pressing | (free & worth))
    return Ruling(update, move, presses, within, gates, risks, staying)


def _staying(case: Case, kinds: Kinds) -> Ints:
    if not case.stakes:
        return np.full(kinds.fix.shape[0], -1)
    each = np.where(kinds.flight, case.stay_flight, case.stay_plain)
    worst: Ints = np.where(kinds.fix & case.counted, each, -1).max(axis=1)
    return worst


def _gates(case: Case, policy: Policy, outlook: Outlook, grave: Bools) -> dict[str, Bools]:
    out = case.days[-1] + outlook.shift
    clean = (case.release_clean + outlook.more_clean) * policy.clean_weight
    grave_more = tables.functions()[outlook.trouble_function].severity <= 2
    users = case.grave_trouble + (outlook.more_trouble if grave_more else 0)
    reported = users * policy.problem_weight
    quiet = reported == 0 or reported / (reported + clean) <= policy.trouble_share
    job = np.zeros_like(outlook.shift, dtype=bool)
    for distance in outlook.job_distance:
        ahead = distance - outlook.shift
        job |= (ahead >= 0) & (ahead <= policy.job_days)
    rows = np.broadcast_shapes(out.shape, grave.shape)
    least = np.where(grave, policy.min_days_flight, policy.min_days_other)
    watched = ~grave | (clean >= policy.min_clean_users) | (out >= policy.days_instead_of_looks)
    back = case.way_back is not False or policy.no_way_back_days
    found = {
        "status": status_allowed(case.release.status, policy),
        "days": out >= least,
        "looks": watched,
        "trouble": quiet,
        "job": ~job,
        "way-back": True if back is True else out >= policy.no_way_back_days,
    }
    return {name: np.broadcast_to(np.asarray(value), rows) for name, value in found.items()}


def status_allowed(status: Status, policy: Policy) -> bool:
    """Whether the policy takes a release of that status."""
    if status not in _STATUS_ORDER:
        return False
    return _STATUS_ORDER.index(status) >= _STATUS_ORDER.index(policy.least_status)


def worth_order(worth: Worth) -> int:
    """Place of a worth, 0 for none."""
    return _WORTH_ORDER[worth]


def accepted(level: Level, severity: int, policy: Policy) -> bool:
    """Whether the policy takes a hazard of that level and severity."""
    ceiling = policy.accept_catastrophic if severity == 1 else policy.accept
    return matrix.RANK[level] <= matrix.RANK[ceiling]


def passed(value: bool) -> Passed:
    """A gate's standing."""
    return Passed.YES if value else Passed.NO
