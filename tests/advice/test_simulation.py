"""The stated certainty on a few simulated operators; the whole of it is `bench_decisions.py`."""

from __future__ import annotations

import numpy as np

from tests.advice.simulation import calibration, payoff, simulate


def test_the_stated_share_is_right_about_as_often() -> None:
    """Within .05, and three standard errors for the few worlds of a test."""
    worlds = simulate(250)
    for stated, right, count in calibration(worlds):
        error = 3 * float(np.sqrt(max(stated * (1 - stated), 0.01) / count))
        assert abs(stated - right) <= 0.05 + error
    assert payoff(worlds) >= 0.9
