"""How hidden defects come to notice after a release: the curve of Goel and Okumoto (1979)."""

from __future__ import annotations

from math import expm1, log


def surfaced(rate: float, days: float) -> float:
    """Share of the defects that will ever show which have shown after `days`.

    `rate` is per day; the expected number found is this share times their whole number.
    Source: Goel & Okumoto, IEEE Transactions on Reliability R-28 (1979), m(t) = a(1 - exp(-bt)).
    """
    return -expm1(-rate * max(0.0, days))


def rate_of(half_life_days: float) -> float:
    """The rate per day at which half of the defects have shown after `half_life_days`."""
    return log(2.0) / half_life_days
