"""How trouble comes to light after a release: published and measured curves."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def surfaced(rate: float, days: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of the defects that will ever show which have shown after `days`.

    `rate` is per day; the expected number found is this share times their whole number.
    Source: Goel & Okumoto, IEEE Transactions on Reliability R-28 (1979), m(t) = a(1 - exp(-bt)).
    """
    return -np.expm1(-rate * np.maximum(0.0, days))


def weibull(shape: float, scale: float, days: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share that has come by `days`, of what comes; `scale` in days.

    Source: for field defects, Li, Shaw, Herbsleb et al. (2004) found the Weibull best in 16 of 22
    releases.
    """
    return -np.expm1(-((np.maximum(0.0, days) / scale) ** shape))
