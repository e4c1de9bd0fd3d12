"""Dates in all usual forms, checked against python-dateutil and dateparser."""

import datetime as dt

import dateparser  # type: ignore[import-untyped]
import pytest
from dateutil import parser
from hypothesis import given
from hypothesis import strategies as st

from tests.reading.conftest import ReadText
from triage.reading.dates import find_dates

FORMS = [
    "%Y-%m-%d",
    "%Y/%m/%d",
    "%Y.%m.%d",
    "%d %b %Y",
    "%d %B %Y",
    "%B %d, %Y",
    "%b %d %Y",
    "%d-%B-%Y",
    "%d-%b-%Y",
    "%b. %d, %Y",
    "%d. %B %Y",
    "%Y-%m-%d %H:%M",
    "%a, %d %b %Y",
    "%B %d %Y",
    "%Y-%b-%d",
]
DAYS = st.dates(min_value=dt.date(2000, 1, 1), max_value=dt.date(2098, 12, 31))


@given(DAYS, st.sampled_from(FORMS))
def test_unambiguous_forms_agree_with_dateutil(day: dt.date, form: str) -> None:
    text = day.strftime(form)
    (found,) = find_dates(text)
    assert found.date.day == parser.parse(text).date() == day
    assert found.date.or_else is None


@pytest.mark.parametrize(
    "text",
    [
        "3. März 2026",
        "12 février 2025",
        "7 de junio de 2024",
        "21 settembre 2023",
        "5 augustus 2026",
        "14 Dezember 2025",
        "2026年3月4日",
    ],
)
def test_other_languages_agree_with_dateparser(text: str) -> None:
    (found,) = find_dates(text)
    assert found.date.day == dateparser.parse(text).date()


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("1st August 2024", dt.date(2024, 8, 1)),
        ("22nd March 2024", dt.date(2024, 3, 22)),
        ("Sept 10, 2024", dt.date(2024, 9, 10)),
        ("20240903", dt.date(2024, 9, 3)),
        ("3.9.2024", dt.date(2024, 9, 3)),
        ("25/12/2025", dt.date(2025, 12, 25)),
        ("12/25/2025", dt.date(2025, 12, 25)),
        ("05/05/2025", dt.date(2025, 5, 5)),
    ],
)
def test_further_forms(text: str, day: dt.date) -> None:
    (found,) = find_dates(text)
    assert (found.date.day, found.date.or_else) == (day, None)


@pytest.mark.parametrize("text", ["04/03/2026", "4-3-2026", "04/03/26"])
def test_day_and_month_that_could_be_swapped_are_both_told(text: str, read_text: ReadText) -> None:
    (found,) = find_dates(text)
    assert {found.date.day, found.date.or_else} == {dt.date(2026, 3, 4), dt.date(2026, 4, 3)}
    notes = read_text(f"Version 1.2 ({text})\n- New hover mode", "paste")
    stated = notes.releases[0].date
    assert (
        any("can be" in remark for remark in notes.remarks)
        and stated is not None
        and stated.or_else is not None
    )


def test_another_date_of_the_document_settles_the_order_and_says_so(read_text: ReadText) -> None:
    notes = read_text(
        "Deck 1.3 - 04-03-2026\n- New map\n\nDeck 1.2 - 20-02-2026\n- Night mode", "paste"
    )
    stated = notes.releases[0].date
    assert stated is not None
    assert (stated.day, stated.or_else) == (dt.date(2026, 3, 4), None)
    assert "the date 04-03-2026 was read with the day first, as in 20-02-2026" in notes.remarks


@pytest.mark.parametrize(
    "text", ["1.3.83", "01.00.0500", "4.5.6", "v2024", "2024.31.2", "99/99/2024"]
)
def test_versions_are_no_dates(text: str) -> None:
    assert find_dates(text) == []


def test_month_and_year_alone_are_stated_without_a_day() -> None:
    (found,) = find_dates("March 2026")
    assert found.date.day is None and found.date.text == "March 2026"
