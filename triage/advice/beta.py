"""The Beta distribution without scipy, whose import costs more than the whole advice."""

from __future__ import annotations

from functools import lru_cache
from math import exp, lgamma, log, log1p

_TINY = 1e-300
_STEPS = 500


def _fraction(a: float, b: float, x: float) -> float:
    """Continued fraction of the incomplete beta function (DLMF 8.17.22), by Lentz's method."""
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > _TINY else _TINY)
    value = d
    for m in range(1, _STEPS):
        for top in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1.0 + top * d
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = 1.0 + top / c
            c = c if abs(c) > _TINY else _TINY
            value *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return value


def _log_density_scale(a: float, b: float) -> float:
    return lgamma(a + b) - lgamma(a) - lgamma(b)


def cdf(a: float, b: float, x: float) -> float:
    """Chance that a Beta(a, b) variable is at most x; relative error about 1e-12.

    Source: DLMF 8.17.
    """
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    front = exp(_log_density_scale(a, b) + a * log(x) + b * log1p(-x))
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _fraction(a, b, x) / a
    return 1.0 - front * _fraction(b, a, 1.0 - x) / b


@lru_cache(maxsize=65536)
def quantile(a: float, b: float, q: float) -> float:
    """The x with `cdf(a, b, x) == q`, for 0 < q < 1; relative error about 1e-10.

    Newton's steps in log x, kept inside a shrinking bracket.
    """
    scale = _log_density_scale(a, b)
    # log-space start from the leading term x**a / (a B(a, b)), exact as q goes to 0
    start = (log(q) + log(a) - scale) / a
    low, high = -740.0, 0.0
    t = min(max(start, low + 1.0), log(a / (a + b)) if start > -1e-3 else start)
    for _ in range(200):
        x = exp(t)
        miss = cdf(a, b, x) - q
        if miss > 0.0:
            high = t
        else:
            low = t
        slope = exp(scale + a * t + (b - 1.0) * log1p(-x)) if x < 1.0 else 0.0
        step = miss / slope if slope > 0.0 else 0.0
        following = t - step
        if slope <= 0.0 or not low < following < high:
            following = 0.5 * (low + high)
        if abs(following - t) < 1e-13 * max(1.0, abs(t)):
            return exp(following)
        t = following
    return exp(t)
