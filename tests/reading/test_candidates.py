"""Versions, days and values are found by their form."""

from __future__ import annotations

import pytest

from triage.reading.candidates import days_in, values_in, versions_in


# Forms of versions: common practice, no source.
@pytest.mark.parametrize(
    ("text", "versions"),
    [
        ("Firmware v01.04.0112", ["01.04.0112"]),
        ("Release R12b", ["R12b"]),
        ("Version 7", ["7"]),
        ("build 5512", ["5512"]),
        ("4.5.0-beta3", ["4.5.0-beta3"]),
        ("4.5.0 RC2", ["4.5.0 RC2"]),
        ("Package 2026.11 holds 2026.09", ["2026.11", "2026.09"]),
        ("5.x", ["5.x"]),
    ],
)
def test_versions_by_form(text: str, versions: list[str]) -> None:
    assert [found.words for found in versions_in(text)] == versions


@pytest.mark.parametrize(
    "text",
    [
        "1.5 m above ground",
        "4.2 V per cell",
        "12 %",
        "3.5 GHz",
        "five steps",
        "lasts 25 min",
        "2.4 s",
    ],
)
def test_a_measure_is_no_version(text: str) -> None:
    assert versions_in(text) == []


def test_a_day_is_found_with_both_readings() -> None:
    (found,) = days_in("Released 04/03/2026")
    assert found.day is not None and found.day.day is not None and found.day.or_else is not None
    assert {found.day.day.isoformat(), found.day.or_else.isoformat()} == {
        "2026-03-04",
        "2026-04-03",
    }


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("Wind warning at 10 m/s", "10 m/s"),
        ("the reserve is raised to 20 %", "20 %"),
        ('now called "Swift"', "Swift"),
        ("Dynamic power is off", "off"),
        ("radius 5 to 50 m", "5 to 50 m"),
    ],
)
def test_values_by_form(text: str, value: str) -> None:
    assert value in [found.words for found in values_in(text)]
