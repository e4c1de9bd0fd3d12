"""The rule: hazards of staying against hazards of moving, the policy's ceiling, and the gates.

Every quantity is monotone by construction: more clean users lower each chance and open the looks
gate; more trouble raises chances and stops their decay; a stricter policy reads higher chances,
accepts less and asks for more. The hazards of staying and the gain do not depend on the policy.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from triage.advice import beta, discovery, matrix, tables
from triage.advice.stakes import Bools, Floats, Ints, Kinds, rank
from triage.advice.weigh import Case, blocked
from triage.domain.advice import Passed
from triage.domain.notes import Status
from triage.domain.policy import Level, Policy, Worth

_STATUS_ORDER = (Status.ALPHA, Status.BETA, Status.CANDIDATE, Status.RELEASED)
_WORTH_ORDER = {worth: i for i, worth in enumerate(Worth)}
_LEVELS = np.array(
    [[matrix.RANK[matrix.RISK[s, band]] for s in (1, 2, 3, 4)] for band in "ABCDE"], dtype=np.int64
)
_PRESSES_CATASTROPHIC = 5 - 1


@dataclass(frozen=True)
class Outlook:
    """What is supposed besides the case: days from today (rows), further users, jobs."""

    shift: Floats
    job_distance: tuple[int, ...] = ()
    more_clean: float = 0.0
    more_trouble: float = 0.0
    trouble_function: int = -1


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
    chance: Floats
    level: Ints
    present: Bools
    staying: Ints


def posterior(
    case: Case, policy: Policy, kinds: Kinds, outlook: Outlook
) -> tuple[Floats, Floats, Bools, Floats]:
    """Beta parameters a and b of each column, whether it is present, and the trouble in it."""
    prior = tables.priors().prior
    flight = kinds.flight.astype(np.float32)
    fix = kinds.fix.astype(np.float32)
    changed = (flight * (1 - fix)) @ case.flight_map
    fixed = (flight * fix) @ case.flight_map
    together = (kinds.compatibility.astype(np.float32) * (1 - flight)) @ case.plain_map
    rows, columns = changed.shape[0], case.severity.size
    count = np.zeros((rows, columns))
    count[:, 0:-1:2] = changed + fixed
    count[:, 1:-1:2] = together
    count[:, -1] = 1
    flights = np.full((rows, columns), prior.compatibility.flights)
    flights[:, 0:-1:2] = np.select(
        [changed > 0, fixed > 0],
        [prior.change.flights, prior.fix.flights],
        prior.unnamed.flights,
    )
    flights[:, -1] = prior.unnamed.flights
    trouble = case.trouble.copy()
    if outlook.more_trouble:
        at = outlook.trouble_function
        trouble[slice(None) if at < 0 else slice(2 * at, 2 * at + 2)] += outlook.more_trouble
    weighted = trouble * policy.problem_weight
    present = count > 0
    present[:, 0:-1:2] |= trouble[0:-1:2] > 0
    a = prior.shape * (1 + np.log2(np.maximum(count, 1))) + weighted
    b = flights - prior.shape + (case.clean + outlook.more_clean) * policy.clean_weight
    return a, b, present, trouble


def quantiles(a: Floats, b: Floats, present: Bools, credible: float) -> Floats:
    """The credible level read off each posterior; 0 where the column is absent."""
    out = np.zeros_like(a)
    for row, column in np.argwhere(present):
        out[row, column] = beta.quantile(float(a[row, column]), float(b[row, column]), credible)
    return out


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
    a, b, present, trouble = posterior(case, policy, kinds, outlook)
    if rng is None:
        fresh = quantiles(a, b, present, policy.credible)
    else:
        fresh = np.where(present, rng.beta(a, b), 0.0)
    rate = discovery.rate_of(tables.priors().surfacing.half_life_days)
    days = case.days + outlook.shift[:, None]
    chance = fresh * np.where(trouble > 0, 1.0, np.exp(-rate * days))
    bands = sum((chance < edge).astype(np.int64) for edge in matrix.EDGES)
    level = _LEVELS[np.asarray(bands), case.severity - 1]
    moving = np.where(present, rank(level, case.severity), -1).max(axis=1)
    ceiling = np.where(
        case.severity == 1, matrix.RANK[policy.accept_catastrophic], matrix.RANK[policy.accept]
    )
    within = (~present | (level <= ceiling)).all(axis=1)
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
    return Ruling(update, move, presses, within, gates, chance, level, present, staying)


def _staying(case: Case, kinds: Kinds) -> Ints:
    if not case.stakes:
        return np.full(kinds.fix.shape[0], -1)
    each = np.where(kinds.flight, case.stay_flight, case.stay_plain)
    worst: Ints = np.where(kinds.fix & case.counted, each, -1).max(axis=1)
    return worst


def _gates(case: Case, policy: Policy, outlook: Outlook, grave: Bools) -> dict[str, Bools]:
    out = case.days[-1] + outlook.shift
    clean = (case.release_clean + outlook.more_clean) * policy.clean_weight
    reported = case.grave_trouble
    if outlook.more_trouble and (
        outlook.trouble_function < 0 or tables.functions()[outlook.trouble_function].severity <= 2
    ):
        reported += outlook.more_trouble
    reported *= policy.problem_weight
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
    if status not in _STATUS_ORDER or policy.least_status not in _STATUS_ORDER:
        return status is Status.RELEASED
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
