"""Exact intervals for counts."""

from __future__ import annotations

from triage.advice.beta import quantile
from triage.domain.base import Frozen
from triage.journal.journal_tables import learning


class Share(Frozen):
    """`hits` of `of` with the exact two-sided interval; `tells` is false where too few."""

    hits: int
    of: int
    low: float
    high: float
    tells: bool

    @property
    def share(self) -> float:
        """The observed share; 0 of none."""
        return self.hits / self.of if self.of else 0.0


def clopper_pearson(hits: int, of: int, level: float) -> tuple[float, float]:
    """The exact two-sided interval of a share at a level such as 0.95.

    Source: Clopper & Pearson 1934, by quantiles of the Beta distribution.
    """
    if not 0 <= hits <= of:
        raise ValueError("hits must lie between 0 and the number of trials")
    tail = (1.0 - level) / 2
    low = quantile(hits, of - hits + 1, tail) if hits else 0.0
    high = quantile(hits + 1, of - hits, 1.0 - tail) if hits < of else 1.0
    return low, high


def share_of(hits: int, of: int, least: int | None = None) -> Share:
    """The share with its interval at the level of journal_learning.toml."""
    low, high = clopper_pearson(hits, of, learning().interval)
    enough = of >= (learning().least_outcomes if least is None else least)
    return Share(hits=hits, of=of, low=low, high=high, tells=enough)
