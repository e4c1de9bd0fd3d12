"""How hidden defects come to notice after a release: the curve of Goel and Okumoto (1979)."""

from __future__ import annotations

from math import log

import numpy as np
from numpy.typing import NDArray


def surfaced(rate: float, days: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of the defects that will ever show which have shown after `days`.

    `rate` is per day; the expected number found is this share times their whole number.
    Source: Goel & Okumoto, IEEE Transactions on Reliability R-28 (1979), m(t) = a(1 - exp(-bt)).
    """
    return -np.expm1(-rate * np.maximum(0.0, days))


def rate_of(half_life_days: float) -> float:
    """The rate per day at which half of the defects have shown after `half_life_days`."""
    return log(2.0) / half_life_days
