"""The numbers of journal_learning.toml, validated once."""

from __future__ import annotations

from functools import cache

from pydantic import Field

from triage.domain.base import Frozen
from triage.reference.loader import load_table


class Learning(Frozen):
    """Least numbers below which nothing is told; days; `interval` is a two-sided level."""

    review_days: int = Field(gt=0)
    review_reason: str
    least_outcomes: int = Field(gt=0)
    least_outcomes_reason: str
    least_certainties: int = Field(gt=0)
    least_certainties_reason: str
    least_in_group: int = Field(gt=0)
    least_in_group_reason: str
    least_flights: int = Field(gt=0)
    least_flights_reason: str
    groups: int = Field(gt=1)
    groups_reason: str
    interval: float = Field(gt=0.5, lt=1)
    avoided_shown: int = Field(gt=0)


@cache
def learning() -> Learning:
    """The shipped numbers."""
    return load_table("journal_learning.toml", Learning)
