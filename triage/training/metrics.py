"""How good the model is: precision, recall, F1, Brier score, calibration error, with intervals.

All measures are our own few lines of numpy, checked in the tests against scikit-learn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from triage.classify.vectoriser import Floats
from triage.domain.base import Frozen
from triage.domain.kinds import Kind

Truths = npt.NDArray[np.bool_]
Measure = Callable[[npt.NDArray[np.int64]], float]
_BINS = 10


class Interval(Frozen):
    """A value with its 95 % bootstrap interval."""

    value: float
    low: float
    high: float


class KindReport(Frozen):
    """The measures of one kind over `items` items, of which `positives` are of the kind."""

    kind: Kind
    items: int
    positives: int
    precision: Interval
    recall: Interval
    f1: Interval
    brier: Interval
    calibration_error: Interval


class Report(Frozen):
    """The measures of one set of items; `macro_f1` is the mean over the kinds that occur."""

    name: str
    items: int
    kinds: tuple[KindReport, ...]
    macro_f1: Interval
    calibration_error: Interval


def precision(truth: Truths, said: Truths) -> float:
    """Share of what was said that is true; 0 when nothing was said."""
    return float((truth & said).sum() / said.sum()) if said.any() else 0.0


def recall(truth: Truths, said: Truths) -> float:
    """Share of what is true that was said; 0 when nothing is true."""
    return float((truth & said).sum() / truth.sum()) if truth.any() else 0.0


def f1(truth: Truths, said: Truths) -> float:
    """Harmonic mean of precision and recall; 0 when both are."""
    both = truth.sum() + said.sum()
    return float(2 * (truth & said).sum() / both) if both else 0.0


def brier(truth: Truths, chance: Floats) -> float:
    """Mean squared difference of chance and truth (G. W. Brier, 1950)."""
    return float(np.mean((chance - truth) ** 2)) if len(truth) else 0.0


def calibration_error(truth: Truths, chance: Floats) -> float:
    """Expected calibration error over ten bins of equal width, weighted by their items."""
    if not len(truth):
        return 0.0
    bins = np.minimum((chance * _BINS).astype(int), _BINS - 1)
    total = np.bincount(bins, minlength=_BINS)
    gap = np.abs(
        np.bincount(bins, chance, minlength=_BINS) - np.bincount(bins, truth, minlength=_BINS)
    )
    return float(gap[total > 0].sum() / len(truth))


def report(
    name: str,
    truth: Truths,
    chance: Floats,
    thresholds: Sequence[float],
    *,
    groups: Sequence[str] | None = None,
    draws: int = 500,
    seed: int = 0,
) -> Report:
    """Measures of chances (items, kinds) said at `thresholds`, resampled by group or item."""
    said = chance >= np.array(thresholds)
    samples = _resamples(len(truth), groups, draws, seed)
    kinds = []
    for k, kind in enumerate(Kind):
        t, s, c = truth[:, k], said[:, k], chance[:, k]
        kinds.append(
            KindReport(
                kind=kind,
                items=len(t),
                positives=int(t.sum()),
                precision=_with_interval(samples, _of(precision, t, s)),
                recall=_with_interval(samples, _of(recall, t, s)),
                f1=_with_interval(samples, _of(f1, t, s)),
                brier=_with_interval(samples, _of(brier, t, c)),
                calibration_error=_with_interval(samples, _of(calibration_error, t, c)),
            )
        )
    present = [k for k in range(truth.shape[1]) if truth[:, k].any()]

    def macro(i: npt.NDArray[np.int64]) -> float:
        return float(np.mean([f1(truth[i, k], said[i, k]) for k in present])) if present else 0.0

    def pooled(i: npt.NDArray[np.int64]) -> float:
        return calibration_error(truth[i].ravel(), chance[i].ravel())

    return Report(
        name=name,
        items=len(truth),
        kinds=tuple(kinds),
        macro_f1=_with_interval(samples, macro),
        calibration_error=_with_interval(samples, pooled),
    )


def _of(measure: Callable[..., float], truth: Truths, other: Floats | Truths) -> Measure:
    return lambda i: measure(truth[i], other[i])


def _resamples(
    n: int, groups: Sequence[str] | None, draws: int, seed: int
) -> list[npt.NDArray[np.int64]]:
    """The whole set first, then `draws` bootstrap samples of items, or of whole groups."""
    random = np.random.default_rng(seed)
    whole = [np.arange(n)]
    if groups is None:
        return whole + [random.integers(0, n, n) for _ in range(draws)] if n else whole
    names, owner = np.unique(np.array(groups), return_inverse=True)
    members = [np.flatnonzero(owner == g) for g in range(len(names))]
    return whole + [
        np.concatenate([members[g] for g in random.integers(0, len(names), len(names))])
        for _ in range(draws)
    ]


def _with_interval(samples: list[npt.NDArray[np.int64]], measure: Measure) -> Interval:
    value = measure(samples[0])
    drawn = [measure(sample) for sample in samples[1:]] or [value]
    low, high = np.quantile(drawn, [0.025, 0.975])
    return Interval(value=value, low=float(low), high=float(high))
