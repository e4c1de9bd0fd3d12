"""The advice's arithmetic against published tables and scipy; source and status beside each."""

from __future__ import annotations

from collections import Counter
from itertools import accumulate
from math import exp, log

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import optimize, special

from triage.advice import beta, matrix, reliability_growth
from triage.domain.policy import Level

# MIL-STD-882E, Table III. Status: SECONDARY, three or more independent transcriptions agree.
# Many public copies wrongly have 3E = Low; E is M M M L.
TABLE_III = {
    "A": "High High Serious Medium",
    "B": "High High Serious Medium",
    "C": "High Serious Medium Low",
    "D": "Serious Medium Medium Low",
    "E": "Medium Medium Medium Low",
}


@pytest.mark.parametrize(
    ("band", "severity", "expected"),
    [
        (band, severity, level.lower())
        for band, row in TABLE_III.items()
        for severity, level in enumerate(row.split(), start=1)
    ],
)
def test_risk_matrix_cell(band: str, severity: int, expected: str) -> None:
    assert matrix.level(severity, band).value == expected


def test_risk_matrix_counts() -> None:
    """MIL-STD-882E, Table III: 5 High, 4 Serious, 8 Medium, 3 Low (SECONDARY)."""
    assert Counter(matrix.RISK.values()) == {
        Level.HIGH: 5,
        Level.SERIOUS: 4,
        Level.MEDIUM: 8,
        Level.LOW: 3,
    }


@pytest.mark.parametrize(
    ("chance", "band"),
    [(0.5, "A"), (0.05, "B"), (0.005, "C"), (1e-4, "D"), (1e-7, "E"), (0.0, "E")],
)
def test_probability_levels(chance: float, band: str) -> None:
    """MIL-STD-882E, Table A-II (SECONDARY, guidance); away from the edges on purpose."""
    assert matrix.band(chance) == band


@pytest.mark.parametrize(("n", "upper"), [(14, 0.1926), (112, 0.02639), (167, 0.01778)])
def test_rule_of_three(n: int, upper: float) -> None:
    """0 of n, one-sided 95 %: exact values COMPUTED; about 3/n, Hanley & Lippman-Hand,
    JAMA 249 (1983), SEEN."""
    exact = beta.quantile(1, n, 0.95)
    assert exact == pytest.approx(upper, abs=5e-5)
    assert exact == pytest.approx(3 / n, rel=0.11)


def test_clopper_pearson() -> None:
    """4 of 20, 95 %: .0573 to .4366, Geigy scientific tables (SEEN)."""
    assert beta.quantile(4, 17, 0.025) == pytest.approx(0.0573, abs=5e-5)
    assert beta.quantile(5, 16, 0.975) == pytest.approx(0.4366, abs=5e-5)


def test_jeffreys() -> None:
    """0/10 upper .217196 and 1/10 .011012 to .381315, 95 % (COMPUTED with scipy)."""
    assert beta.quantile(0.5, 10.5, 0.975) == pytest.approx(0.217196, abs=5e-7)
    assert beta.quantile(1.5, 9.5, 0.025) == pytest.approx(0.011012, abs=5e-7)
    assert beta.quantile(1.5, 9.5, 0.975) == pytest.approx(0.381315, abs=5e-7)


def test_beta_posterior() -> None:
    """Beta(438, 544): 95 % from .41506549 to .47719977, mean .44602851.

    Gelman et al., Bayesian Data Analysis, the placenta praevia example (SEEN).
    """
    assert beta.quantile(438, 544, 0.025) == pytest.approx(0.41506549, abs=5e-9)
    assert beta.quantile(438, 544, 0.975) == pytest.approx(0.47719977, abs=5e-9)
    assert pytest.approx(0.44602851, abs=5e-9) == 438 / (438 + 544)


shapes = st.floats(0.4, 2e3)
flights = st.floats(0.4, 1e6)


@given(shapes, flights, st.floats(0.01, 0.999))
def test_quantile_against_scipy(a: float, b: float, q: float) -> None:
    """scipy.special.betaincinv (Boost) is the reference library."""
    assert beta.quantile(a, b, q) == pytest.approx(special.betaincinv(a, b, q), rel=1e-6)


@given(shapes, flights, st.floats(1e-6, 1 - 1e-6))
def test_cdf_against_scipy(a: float, b: float, x: float) -> None:
    """scipy.special.betainc (Boost) is the reference library."""
    assert beta.cdf(a, b, x) == pytest.approx(special.betainc(a, b, x), rel=1e-7, abs=1e-12)


# Naval Tactical Data System: days between software failures. Goel & Okumoto (1979).
# Copies that sum to 245 are wrong.
NTDS = [9, 12, 11, 4, 7, 2, 5, 8, 5, 7, 1, 6, 1, 9, 4, 1, 3, 3, 6, 1, 11, 33, 7, 91, 2, 1]


def _surfaced(rate: float, days: float) -> float:
    return float(reliability_growth.surfaced(rate, np.array(days)))


def _log_likelihood(a: float, b: float, times: list[int]) -> float:
    """Of a Poisson process with mean a * surfaced(b, t), observed up to the last failure."""
    rates = [a * b * exp(-b * t) for t in times]
    return sum(map(log, rates)) - a * _surfaced(b, times[-1])


def test_goel_okumoto_on_ntds() -> None:
    """a 33.9935, b .00579016, log-likelihood -82.69015 (COMPUTED); published 33.99 and .00579."""
    assert sum(NTDS) == 250
    times = list(accumulate(NTDS))

    def profile(b: float) -> float:
        return -_log_likelihood(len(times) / _surfaced(b, times[-1]), b, times)

    best = optimize.minimize_scalar(profile, bounds=(1e-4, 0.1), method="bounded",
                                    options={"xatol": 1e-12})  # fmt: skip
    a = len(times) / _surfaced(best.x, times[-1])
    assert best.x == pytest.approx(0.00579016, rel=2e-5)
    assert a == pytest.approx(33.9935, rel=2e-5)
    assert -best.fun == pytest.approx(-82.69015, abs=1e-5)
