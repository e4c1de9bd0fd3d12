"""Our measures against scikit-learn's."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sklearn import metrics

from triage.training.metrics import brier, calibration_error, f1, precision, recall, report

PAIRS = st.lists(st.tuples(st.booleans(), st.floats(0, 1)), min_size=2, max_size=60)


@given(PAIRS)
def test_measures_equal_scikit_learns(pairs: list[tuple[bool, float]]) -> None:
    """Source: sklearn.metrics, with 0 where a measure is undefined."""
    truth = np.array([t for t, _ in pairs])
    chance = np.array([c for _, c in pairs])
    said = chance >= 0.5
    assert precision(truth, said) == pytest.approx(
        metrics.precision_score(truth, said, zero_division=0)
    )
    assert recall(truth, said) == pytest.approx(metrics.recall_score(truth, said, zero_division=0))
    assert f1(truth, said) == pytest.approx(metrics.f1_score(truth, said, zero_division=0))
    assert brier(truth, chance) == pytest.approx(
        metrics.mean_squared_error(truth.astype(float), chance)
    )


def test_calibration_error_of_a_worked_example() -> None:
    """Worked by hand: bins 0.2 (1 of 2 true, gap .3) and 0.9 (1 of 2 true, gap .4)."""
    truth = np.array([True, False, True, False])
    chance = np.array([0.2, 0.2, 0.9, 0.9])
    assert calibration_error(truth, chance) == pytest.approx((2 * 0.3 + 2 * 0.4) / 4)


def test_perfect_chances_have_no_error() -> None:
    truth = np.array([True, False])
    assert calibration_error(truth, truth.astype(float)) == 0.0 == brier(truth, truth.astype(float))


def test_intervals_hold_the_value_and_repeat() -> None:
    random = np.random.default_rng(1)
    truth = random.random((80, 4)) < 0.4
    chance = np.clip(truth * 0.6 + random.random((80, 4)) * 0.4, 0, 1)
    first = report("x", truth, chance, [0.5] * 4, draws=50)
    assert first == report("x", truth, chance, [0.5] * 4, draws=50)
    for kind in first.kinds:
        assert kind.f1.low <= kind.f1.value <= kind.f1.high
