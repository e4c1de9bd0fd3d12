"""The hazards of moving: from priors and evidence to a chance and a risk level for each column."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from triage.advice import beta, discovery, matrix, tables
from triage.advice.stakes import Bools, Floats, Ints, Kinds, rank
from triage.advice.weigh import Case
from triage.domain.policy import Policy

_LEVELS = np.array(
    [[matrix.RANK[matrix.RISK[s, band]] for s in (1, 2, 3, 4)] for band in "ABCDE"], dtype=np.int64
)


@dataclass(frozen=True)
class Outlook:
    """What is supposed besides the case: days from today (rows), jobs, further users.

    `job_distance` are days from today; `trouble_function` is the place of a function.
    """

    shift: Floats
    job_distance: tuple[int, ...] = ()
    more_clean: float = 0.0
    more_trouble: float = 0.0
    trouble_function: int = 0


@dataclass(frozen=True)
class Risks:
    """Rows x columns: which hazards there are, their chance per flight and risk level (from 0).

    `worst` is the rank of the worst hazard of each row.
    """

    present: Bools
    chance: Floats
    level: Ints
    worst: Ints


def risks_of(
    case: Case,
    policy: Policy,
    kinds: Kinds,
    outlook: Outlook,
    rng: np.random.Generator | None = None,
) -> Risks:
    """The hazards of moving, for each row of `kinds` or of `outlook.shift` (either may be one).

    Chances are read off the posterior at the policy's credible level, or drawn with `rng`. What
    the prior gives to them fades as days go by, as hidden defects come to notice or are not
    there; what reported trouble adds does not fade.
    """
    count, flights = _opened(case, kinds)
    users, trouble, named = _seen(case, outlook)
    present = count > 0
    present[:, 0:-1:2] |= named[0:-1:2] > 0
    columns = np.flatnonzero(present.any(axis=0))
    shape = case.prior.shape
    a = (shape * (1 + np.log2(np.maximum(count, 1))))[:, columns]
    b = (flights - shape + users * policy.clean_weight)[:, columns]
    reported = (trouble * policy.problem_weight)[columns]
    hidden = _hidden(case.days[columns] + outlook.shift[:, None])
    if rng is None:
        here = present[:, columns]
        before = _quantiles(a, b, here, policy.credible)
        both = _quantiles(a + reported, b, here, policy.credible) if reported.any() else before
        chance = both - (1 - hidden) * before
    else:
        added = rng.beta(np.maximum(reported, 1e-9), b) * (reported > 0)
        chance = hidden * rng.beta(a, b) + added
    bands = np.zeros(chance.shape, np.int64)
    for edge in matrix.EDGES:
        bands += chance < edge
    severity = case.severity[columns]
    level = _LEVELS[bands, severity - 1]
    seen = np.broadcast_to(present[:, columns], level.shape)
    found = Risks(
        present=np.zeros((len(level), count.shape[1]), bool),
        chance=np.zeros((len(level), count.shape[1])),
        level=np.zeros((len(level), count.shape[1]), np.int64),
        worst=np.where(seen, rank(level, severity), -1).max(axis=1),
    )
    found.present[:, columns], found.chance[:, columns] = seen, chance
    found.level[:, columns] = level
    return found


def _hidden(days: Floats) -> Floats:
    """Share of the defects still hidden after so many days; silence never takes it to nothing."""
    surfacing = tables.priors().surfacing
    shown = discovery.surfaced(discovery.rate_of(surfacing.half_life_days), days)
    return np.maximum(surfacing.least_hidden, 1 - shown)


def _opened(case: Case, kinds: Kinds) -> tuple[Floats, Floats]:
    """How many changes each column has, and the pseudo-flights of its prior (the worst kind's)."""
    prior = case.prior
    flight = kinds.flight.astype(np.float32)
    fix = kinds.fix.astype(np.float32)
    changed = (flight * (1 - fix)) @ case.flight_map
    fixed = (flight * fix) @ case.flight_map
    count = np.zeros((len(changed), case.severity.size))
    count[:, 0:-1:2] = changed + fixed
    count[:, 1:-1:2] = (kinds.compatibility.astype(np.float32) * (1 - flight)) @ case.plain_map
    count[:, -1] = 1
    flights = np.full(count.shape, prior.compatibility.flights)
    flights[:, 0:-1:2] = np.select(
        [changed > 0, fixed > 0],
        [prior.change.flights, prior.fix.flights],
        prior.unnamed.flights,
    )
    flights[:, -1] = prior.unnamed.flights
    return count, flights


def _seen(case: Case, outlook: Outlook) -> tuple[Floats, Floats, Floats]:
    """Clean users, troubled users, and those who named the function, by column."""
    more = np.zeros(case.severity.size)
    if outlook.more_trouble:
        at = 2 * outlook.trouble_function
        more[at : at + 2] = outlook.more_trouble
    return case.clean + outlook.more_clean, case.trouble + more, case.named_trouble + more


def _quantiles(a: Floats, b: Floats, present: Bools, credible: float) -> Floats:
    out = np.zeros_like(a)
    for row, column in np.argwhere(present):
        out[row, column] = beta.quantile(float(a[row, column]), float(b[row, column]), credible)
    return out
