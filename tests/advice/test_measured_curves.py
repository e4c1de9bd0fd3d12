"""The curves and tables of the reference data against what they were taken from."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy import optimize

from triage.advice import tables
from triage.advice.reliability_growth import weibull
from triage.domain.outcomes import Outcome
from triage.domain.policy import Worth

SHARED = Path(__file__).parents[3] / "shared" / "real-releases.json"
RULE = tables.priors().surfacing


@pytest.fixture(scope="module")
def measured() -> dict[str, Any]:
    """Source: days to the next point release of 515 stable releases of nine open flight, radio and
    motor projects (betaflight, EdgeTX, crazyflie-firmware, ExpressLRS, bluejay, rotorflight,
    ArduCopter, ArduPlane, Rover), from public tags and release notes."""
    if not SHARED.exists():
        pytest.skip("the measured releases are not beside this checkout")
    found: dict[str, Any] = json.loads(SHARED.read_text("utf-8"))
    return found


def fitted(rows: list[dict[str, Any]], *, exponential: bool = False) -> tuple[float, ...]:
    """Shape, scale, share that ever comes, and -log L, by maximum likelihood."""
    days = np.array([max(row["days"], 0.5) for row in rows], float)
    came = np.array([row["followed"] for row in rows])

    def loss(p: np.ndarray) -> float:
        shape, scale = (1.0 if exponential else np.exp(p[2])), np.exp(p[0])
        ever = 1 / (1 + np.exp(-p[1]))
        z = (days / scale) ** shape
        density = np.log(ever * shape / scale * (days / scale) ** (shape - 1)) - z
        return -float(density[came].sum() + np.log(1 - ever + ever * np.exp(-z))[~came].sum())

    start = [np.log(44), 0.2] if exponential else [np.log(44), 0.2, 0.0]
    best = optimize.minimize(loss, start, method="Nelder-Mead",
                             options={"maxiter": 9000, "xatol": 1e-8, "fatol": 1e-8})  # fmt: skip
    shape = 1.0 if exponential else float(np.exp(best.x[2]))
    ever = 1 / (1 + np.exp(-best.x[1]))
    return shape, float(np.exp(best.x[0])), float(ever), float(best.fun)


def observed(rows: list[dict[str, Any]], day: int) -> float:
    """Share followed by a day, by Kaplan and Meier."""
    days = np.array([row["days"] for row in rows])
    came = np.array([row["followed"] for row in rows])
    left = 1.0
    for at in np.unique(days[came]):
        if at <= day:
            left *= 1 - ((days == at) & came).sum() / (days >= at).sum()
    return 1 - left


def test_mended_releases(measured: dict[str, Any]) -> None:
    rows = measured["rows"]
    assert len(rows) == 515
    shape, scale, ever, _ = fitted(rows)
    assert shape == pytest.approx(RULE.mended_shape, abs=0.005)
    assert scale == pytest.approx(RULE.mended_scale, abs=0.5)
    assert ever == pytest.approx(RULE.mended_ever, abs=0.005)
    for day, share in measured["kaplan_meier_all"].items():
        assert observed(rows, int(day)) == pytest.approx(share, abs=0.006)


def test_releases_of_a_new_line(measured: dict[str, Any]) -> None:
    """Shape .69, scale 44 days, share ever .55; -log L 531.5 against 547.8 of the exponential."""
    rows = [r for r in measured["rows"] if re.search(r"\d+\.\d+\.0$", r["version"])]
    shape, scale, ever, loss = fitted(rows)
    assert (shape, ever) == pytest.approx((0.69, 0.55), abs=0.01)
    assert scale == pytest.approx(44, abs=1)
    assert loss == pytest.approx(531.5, abs=0.1)
    assert fitted(rows, exponential=True)[3] == pytest.approx(547.8, abs=0.1)


def test_news(measured: dict[str, Any]) -> None:
    """First public sign of the next point release: median 16 days, 58 pairs of one project."""
    shares = measured["first_public_sign"]["share_by_day"]
    days = np.array([float(day) for day in shares])
    ours = weibull(RULE.news_shape, RULE.news_scale, days)
    assert np.abs(ours - np.array(list(shares.values()))).max() < 0.07
    assert weibull(RULE.news_shape, RULE.news_scale, np.array([16.0]))[0] == pytest.approx(
        0.5, abs=0.04
    )


def test_priors_lie_within_the_published_shares() -> None:
    """14.8 to 24.4 % of sampled fixes wrong (Yin et al., FSE 2011, abstract SEEN); nearly 5 % of
    security fixes harmed (Li & Paxson, CCS 2017, SEEN); 5 to 10 % of upgrades have problems
    (Crameri et al., SOSP 2007, SECONDARY)."""
    prior = tables.priors().prior
    assert 0.148 <= prior.change.bad <= 0.244
    assert 0.05 <= prior.fix.bad <= 0.148
    assert 0.05 <= prior.compatibility.bad <= 0.10
    assert 0.05 <= prior.unnamed.bad <= 0.10
    for name, row in prior.rows.items():
        assert prior.bad(name) == pytest.approx(row.bad)


def test_outcomes_are_graver_first_and_functions_hang_on_them() -> None:
    severities = [tables.severity_of(o) for o in Outcome if o is not Outcome.NONE]
    assert severities == sorted(severities)
    for function in tables.functions():
        assert tables.severity_of(function.unstated) >= function.severity
        assert function.gain in Worth
