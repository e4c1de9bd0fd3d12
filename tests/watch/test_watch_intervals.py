from __future__ import annotations

import datetime as dt

import pytest

from triage.errors import ConfigError
from triage.storage.toml_file import parse_toml
from triage.watch.watch_intervals import Intervals, every, intervals, next_check

RELEASED = dt.date(2026, 11, 1)
ADDED = dt.date(2026, 11, 3)


def on(day: int, month: int = 11) -> dt.date:
    return dt.date(2026, month, day)


def test_twice_a_week_for_two_weeks_then_weekly() -> None:
    """Common practice, no source: reports are thickest soon after a release."""
    assert all(7 // every(age) >= 2 for age in range(15))
    assert {every(age) for age in range(15, 400)} == {7}
    assert every(-3) == every(0)  # announced for a day to come
    assert all(row.reason and row.status == "assumption" for row in intervals())


def test_the_first_report_is_due_at_once_and_the_next_after_the_last() -> None:
    assert next_check(ADDED, RELEASED, None, None) == (ADDED, 3)
    assert next_check(ADDED, RELEASED, on(15), None) == (on(18), 3)  # fourteen days old
    assert next_check(ADDED, RELEASED, on(16), None) == (on(23), 7)
    assert next_check(ADDED, None, on(17), None) == (on(20), 3)  # counted from the watch


def test_no_report_is_later_than_the_day_the_advice_turns() -> None:
    assert next_check(ADDED, RELEASED, on(28), on(30)) == (on(30), 7)
    assert next_check(ADDED, RELEASED, on(28), on(20, 12)) == (on(5, 12), 7)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ((14, 30), "only the last row is without to_days"),
        ((None, None), "only the last row is without to_days"),
        ((30, 14, None), "to_days do not rise"),
        ((), "only the last row"),
    ],
)
def test_rows_that_do_not_hold(rows: tuple[int | None, ...], words: str) -> None:
    text = "".join(
        f"[[interval]]\n{f'to_days = {to}' if to is not None else ''}\nevery_days = 3\n"
        'reason = "x"\nstatus = "y"\n'
        for to in rows
    )
    with pytest.raises(ConfigError, match=words):
        parse_toml(text or "interval = []", Intervals, where="own.toml")
