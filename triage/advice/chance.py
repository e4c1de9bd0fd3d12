"""The chance and the level of every hazard, from the two-part prior and what was reported.

A change is bad with some chance; a bad one shows on a flight with a chance that is not known. News
of a bad change comes in as days go by, and clean flights speak against it: both by Bayes' rule.
Nothing here depends on the policy.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np

from triage.advice import beta, matrix, reliability_growth, tables
from triage.advice.ground import Stated, one_category
from triage.advice.hazards import Case
from triage.advice.items_matrix import Bools, Floats, Ints, Kinds
from triage.domain.advice import HazardKind
from triage.domain.policy import Level, Policy

_GRID = 41
_LEVELS = np.array(
    [[matrix.RANK[matrix.RISK[s, band]] for s in (1, 2, 3, 4)] for band in "ABCDE"], dtype=np.int64
)
_REPORT_SHAPE, _REPORT_FLIGHTS = 0.5, 60.0  # a report stands for a fleet that flew, unreported


@dataclass(frozen=True)
class Outlook:
    """What is supposed besides the case: days from today (rows), jobs, further users.

    `job_distance` are days from today; `trouble_function` is the place of a function. `older` are
    days by which the release may be older than taken (rows, or 0).
    """

    shift: Floats
    job_distance: tuple[int, ...] = ()
    more_clean: float = 0.0
    more_trouble: float = 0.0
    trouble_function: int = 0
    older: Floats | float = 0.0


@dataclass(frozen=True)
class Noise:
    """Factors on the priors and on stated chances, and stated hazards that are real; row by row."""

    prior: Floats
    chance: Floats
    real: Bools
    category: Ints


@dataclass(frozen=True)
class Risks:
    """Rows x columns: which changes there are, their chance per flight and level (from 0).

    `stated_chance` and `stated_level` are rows x stated hazards, `harm` is the weighted harm of
    moving per flight. Of the columns touched, in their order: `alive` the chance that it is bad,
    `tails` that it then shows at least as often as each edge of the matrix, `split` how badly.
    """

    present: Bools
    chance: Floats
    level: Ints
    alive: Floats
    stated_chance: Floats
    stated_level: Ints
    harm: Floats
    tails: Floats
    split: Floats
    stated: tuple[Stated, ...]


def levels(chance: Floats, categories: Floats) -> Ints:
    """The worst risk level over the categories; `chance` per flight, `categories` their shares.

    A category counts with the chance of it or worse.
    """
    worse = np.cumsum(categories, axis=-1)
    each = chance[..., None] * worse
    bands = np.zeros(each.shape, np.int64)
    for edge in matrix.EDGES:
        bands += each < edge
    found = _LEVELS[bands, np.arange(4)]
    found = np.where(np.broadcast_to(categories > 0, found.shape), found, -1)
    best: Ints = found.max(axis=-1)
    return np.maximum(best, 0)


def hidden(days: Floats) -> Floats:
    """Share of bad changes of which no news has come; silence never takes it to nothing."""
    rule = tables.priors().surfacing
    shown = reliability_growth.weibull(rule.news_shape, rule.news_scale, days)
    return np.maximum(rule.least_hidden, 1 - shown)


def risks_of(case: Case, kinds: Kinds, outlook: Outlook, noise: Noise | None = None) -> Risks:
    """The hazards of moving, for each row of `kinds` or of `outlook.shift` (either may be one)."""
    count, bad = _opened(case, kinds)
    columns = np.flatnonzero((count > 0).any(axis=0))  # few of the many are ever touched
    bad, present = bad[:, columns], count[:, columns] > 0
    if noise is not None:
        bad = np.minimum(0.95, bad * noise.prior[:, None])
    split, weights = case.split[columns], np.array(tables.weights())
    likely, mean, tails = _posterior(case, case.clean[columns] + outlook.more_clean)
    days = case.days[columns][None, :] + (outlook.shift + outlook.older)[:, None]
    quiet = hidden(days) * likely
    alive = bad * quiet / (bad * quiet + 1 - bad)
    alive = np.where(np.broadcast_to(present, alive.shape), alive, 0.0)
    chance = alive * mean
    stated = (*case.stated, *_supposed(outlook))
    stated_chance, shares = _stated(stated, outlook, noise, len(alive))
    counted = np.array([s.weighs for s in stated], bool)
    harm = chance @ (split @ weights)
    harm = harm + (stated_chance * counted * (shares @ weights)).sum(axis=1)
    spread = _Spread(columns, len(alive), count.shape[1])
    return Risks(
        present=spread.whole(np.broadcast_to(present, alive.shape), bool),
        chance=spread.whole(chance, float),
        level=spread.whole(levels(chance, split[None, :, :]), np.int64),
        alive=alive,
        stated_chance=stated_chance,
        stated_level=levels(stated_chance, shares),
        harm=harm,
        tails=tails,
        split=split,
        stated=stated,
    )


class _Spread(NamedTuple):
    """Puts the columns that are touched back among all of them."""

    columns: Ints
    rows: int
    width: int

    def whole(self, part: np.ndarray, kind: type) -> np.ndarray:
        """An array of all columns, zero where none is touched."""
        found: np.ndarray = np.zeros((self.rows, self.width), kind)
        found[:, self.columns] = part
        return found


def _posterior(case: Case, flights: Floats) -> tuple[Floats, Floats, Floats]:
    """After so many clean flights: how likely they were of a bad change, its mean chance of
    showing, and the chance that it shows at least as often as each edge of the matrix."""
    shows, weight = _shows(case.prior.least, case.prior.most)
    kept = weight[None, :] * (1 - shows[None, :]) ** flights[:, None]
    likely = kept.sum(axis=1)
    over = shows[:, None] >= np.array([1.0, *matrix.EDGES])[None, :]
    return likely, (kept @ shows) / likely, (kept @ over) / likely[:, None]


def doubt(found: Risks, policy: Policy) -> Floats:
    """The chance that moving brings a hazard above what the policy accepts, a row each."""
    over = np.array([_edge(s, policy) for s in (1, 2, 3, 4)])
    bands = [[1.0, *matrix.EDGES].index(edge) if edge in matrix.EDGES else -1 for edge in over]
    tail = np.stack(
        [found.tails[:, b] if b >= 0 else np.zeros(len(found.tails)) for b in bands], axis=1
    )
    each = found.alive * (found.split * tail).sum(axis=1)[None, :]
    clear = np.prod(1 - each, axis=1)
    for stated in found.stated:
        if stated.weighs:
            surpass = [_surpasses(stated, edge) for edge in over]
            share = stated.real * sum(c * s for c, s in zip(stated.chances, surpass, strict=True))
            clear = clear * (1 - min(1.0, share))
    return np.asarray(1 - clear)


def _edge(severity: int, policy: Policy) -> float:
    ceiling: Level = policy.accept_catastrophic if severity == 1 else policy.accept
    return matrix.allowed(severity, ceiling)


def _surpasses(stated: Stated, edge: float) -> float:
    """Chance that a stated hazard shows at least that often."""
    if edge >= 1.0:
        return 0.0
    if stated.trouble:
        a, b = _report(stated, 0.0)
        return 1 - beta.cdf(a, b, edge)
    return float(stated.shows >= edge)


def _report(stated: Stated, more_clean: float) -> tuple[float, float]:
    return _REPORT_SHAPE + stated.trouble, _REPORT_FLIGHTS + stated.clean + more_clean


@cache
def _shows(least: float, most: float) -> tuple[Floats, Floats]:
    """Chances per flight at which a bad change may show, even by order of magnitude."""
    edges = np.geomspace(least, most, _GRID + 1)
    shows = (edges[1:] - edges[:-1]) / np.log(edges[1:] / edges[:-1])
    return shows, np.full(_GRID, 1 / _GRID)


def _opened(case: Case, kinds: Kinds) -> tuple[Floats, Floats]:
    """How many changes each column has, and the chance that they are bad (the worst kind's)."""
    flight = kinds.flight.astype(np.float32)
    fix = kinds.fix.astype(np.float32)
    changed = (flight * (1 - fix)) @ case.flight_map
    fixed = (flight * fix) @ case.flight_map
    count = np.zeros((len(changed), case.severity.size))
    count[:, 0:-1:2] = changed + fixed
    count[:, 1:-1:2] = (kinds.compatibility.astype(np.float32) * (1 - flight)) @ case.plain_map
    count[:, -1] = 1
    prior = case.prior
    bad = np.full(count.shape, prior.bad("compatibility"))
    bad[:, 0:-1:2] = np.where(changed > 0, prior.bad("change"), prior.bad("fix"))
    bad[:, -1] = prior.bad("unnamed")
    return count, 1 - (1 - bad) ** (1 + np.log2(np.maximum(count, 1)))


def _supposed(outlook: Outlook) -> tuple[Stated, ...]:
    """Trouble that is supposed to be reported, to find what would turn the advice."""
    if not outlook.more_trouble:
        return ()
    function = tables.functions()[outlook.trouble_function]
    credible = tables.priors().reports.credible
    return (
        Stated(
            kind=HazardKind.REPORTED,
            name=function.name,
            outcome=function.worst,
            function=function.id,
            chances=one_category(function.severity),
            real=1 - (1 - credible) ** outlook.more_trouble,
            shows=0.0,
            trouble=outlook.more_trouble,
        ),
    )


def _stated(
    stated: tuple[Stated, ...], outlook: Outlook, noise: Noise | None, rows: int
) -> tuple[Floats, Floats]:
    """Chance per flight of each stated hazard, rows x hazards, and the shares of categories."""
    chance = np.zeros((rows, len(stated)))
    shares = np.zeros((rows, len(stated), 4))
    for at, one in enumerate(stated):
        shows = one.shows
        if one.trouble:
            a, b = _report(one, outlook.more_clean)
            shows = a / (a + b)
        if noise is None or at >= noise.real.shape[1]:
            chance[:, at] = one.real * shows
            shares[:, at] = one.chances
        else:
            chance[:, at] = noise.real[:, at] * np.minimum(1.0, shows * noise.chance)
            hit = noise.category[:, at]
            inside = hit < 4
            shares[np.flatnonzero(inside), at, hit[inside]] = 1.0
    return chance, shares
