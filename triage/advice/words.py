"""Numbers and days as a person writes them."""

from __future__ import annotations

import datetime as dt


def count_of(count: float, one: str, many: str = "") -> str:
    """`3 changes`, `1 change`; figures with thousands separators."""
    figure = f"{count:,.0f}"
    return f"{figure} {one if count == 1 else many or one + 's'}"


def day_text(day: dt.date) -> str:
    """A date as a person writes it: 3 Feb 2026."""
    return f"{day.day} {day:%b %Y}"


def in_series(parts: list[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
