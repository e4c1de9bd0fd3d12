"""How often to check: the numbers of watch_intervals.toml, and the day that follows from them."""

from __future__ import annotations

import datetime as dt
from functools import cache

from pydantic import Field, field_validator

from triage.domain.base import Frozen
from triage.reference.loader import load_table

NAME = "watch_intervals.toml"


class CheckInterval(Frozen):
    """Days between checks while a release is no older than `to_days`; None from then on."""

    to_days: int | None = Field(default=None, ge=0)
    every_days: int = Field(gt=0)
    reason: str = Field(min_length=1)
    status: str = Field(min_length=1)


class Intervals(Frozen):
    """The file watch_intervals.toml, the youngest age first."""

    interval: tuple[CheckInterval, ...]

    @field_validator("interval")
    @classmethod
    def _in_order(cls, rows: tuple[CheckInterval, ...]) -> tuple[CheckInterval, ...]:
        ages = [row.to_days for row in rows[:-1]]
        known = [age for age in ages if age is not None]
        if not rows or rows[-1].to_days is not None or len(known) != len(ages):
            raise ValueError("only the last row is without to_days; add to_days to the others")
        if known != sorted(set(known)):
            raise ValueError("to_days do not rise; put the youngest age first")
        return rows


@cache
def intervals() -> tuple[CheckInterval, ...]:
    """The shipped numbers."""
    return load_table(NAME, Intervals).interval


def every(age: int) -> int:
    """Days between checks of a release of that age in days."""
    return next(row.every_days for row in intervals() if row.to_days is None or age <= row.to_days)


def next_check(
    added: dt.date, released: dt.date | None, last: dt.date | None, until: dt.date | None
) -> tuple[dt.date, int]:
    """The day of the next check, and the interval it rests on.

    The first check is due on the day the notes came under watch, each further one an interval after
    the last, by the release's age on that day (from `added` where its day is not known); none
    later than `until`, the day on which the advice would turn by itself.
    """
    base = added if last is None else last
    days = every((base - (released or added)).days)
    due = base if last is None else base + dt.timedelta(days=days)
    return (min(due, until) if until else due), days
