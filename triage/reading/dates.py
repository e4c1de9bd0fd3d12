"""Dates in all usual forms; 04/03 is reported with both readings and never guessed silently."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from typing import NamedTuple

from triage.domain.notes import StatedDate

# Month names of the languages that makers publish in; three letters decide unless they clash.
_MONTHS = (
    "january janvier januar enero gennaio janeiro januari",
    "february fevrier février februar febrero febbraio fevereiro februari",
    "march mars märz maerz marzo março maart mrz",
    "april avril abril aprile",
    "may mai mayo maggio maio mei",
    "june juin juni junio giugno junho",
    "july juillet juli julio luglio julho",
    "august août aout agosto augustus",
    "september septembre septiembre settembre setembro sept",
    "october octobre oktober octubre ottobre outubro",
    "november novembre noviembre novembro",
    "december décembre decembre dezember diciembre dicembre dezembro",
)
_SHORT = (
    ("jan", "janv", "ene", "gen"),
    ("feb", "fév", "fev", "febr", "févr"),
    ("mar", "mär", "mrz", "mrt"),
    ("apr", "avr", "abr"),
    ("may", "mag"),
    ("jun", "giu"),
    ("jul", "juil", "lug"),
    ("aug", "ago", "aoû"),
    ("sep", "sept", "set"),
    ("oct", "okt", "ott", "out"),
    ("nov",),
    ("dec", "déc", "dez", "dic"),
)
MONTH = {
    name: number
    for number, (full, short) in enumerate(zip(_MONTHS, _SHORT, strict=True), 1)
    for name in (*full.split(), *short)
}
_NAME = "(?:" + "|".join(sorted(MONTH, key=len, reverse=True)) + r")\b\.?"
_YEAR = r"(?:19|20)\d\d"
_FORM = re.compile(
    rf"""(?<![\w.])(?:
      (?P<y1>{_YEAR})(?P<s1>[-/._])(?P<m1>\d{{1,2}})(?P=s1)(?P<d1>\d{{1,2}})
      (?:[T ]\d\d:\d\d\S{{0,12}})?
    | (?P<y2>{_YEAR})(?P<m2>0[1-9]|1[0-2])(?P<d2>[0-2]\d|3[01])
    | (?P<d3>\d{{1,2}})(?:st|nd|rd|th|\.|º)?(?:\s{{1,3}}(?:of|de)\s{{1,3}}|[\s\-/.,_]{{0,3}})
      (?P<n3>{_NAME})(?:\s{{1,3}}de)?[\s\-/.,']{{0,3}}(?P<y3>{_YEAR}|\d\d(?=\b))
    | (?P<n4>{_NAME})[\s\-/.]{{0,3}}(?P<d4>\d{{1,2}})(?:st|nd|rd|th)?[\s\-/.,]{{1,3}}(?P<y4>{_YEAR})
    | (?P<a5>\d{{1,2}})(?P<s5>[-/.])(?P<b5>\d{{1,2}})(?P=s5)(?P<y5>{_YEAR}|\d\d)
    | (?P<y6>{_YEAR})\s?年\s?(?P<m6>\d{{1,2}})\s?月\s?(?P<d6>\d{{1,2}})\s?日
    | (?P<y7>{_YEAR})[\s\-/.,]{{1,2}}(?P<n7>{_NAME})[\s\-/.,]{{1,2}}(?P<d7>\d{{1,2}})
    | (?P<n8>{_NAME})[\s,]{{1,2}}(?P<y8>{_YEAR})
    )(?![\w]|[.\-]\d)""",
    re.I | re.X,
)


class FoundDate(NamedTuple):
    """A date in a text: characters [start, end), what it says, and the form it is written in."""

    start: int
    end: int
    date: StatedDate
    form: str


def find_dates(text: str) -> list[FoundDate]:
    """All dates of a short text (a header line), in order."""
    found = []
    for match in _FORM.finditer(text):
        stated = _read(match)
        if stated:
            found.append(FoundDate(match.start(), match.end(), stated[0], stated[1]))
    return found


def _read(match: re.Match[str]) -> tuple[StatedDate, str] | None:
    group, text = match.groupdict(), match.group().strip()
    if group["a5"]:
        return _numeric(text, int(group["a5"]), int(group["b5"]), _year(group["y5"]), group["s5"])
    if group["y8"]:
        return StatedDate(text=text, day=None), "month"
    for key in "123467":
        if group[f"y{key}"]:
            month = group.get(f"m{key}") or str(MONTH[group[f"n{key}"].rstrip(".").lower()])
            day = _day(_year(group[f"y{key}"]), int(month), int(group[f"d{key}"]))
            if day is None and key in "12":
                return None  # a version such as 2024.31.2 or a serial number
            return StatedDate(text=text, day=day), f"form{key}"
    return None


def _numeric(
    text: str, first: int, second: int, year: int, mark: str
) -> tuple[StatedDate, str] | None:
    day_first, month_first = _day(year, second, first), _day(year, first, second)
    if day_first is None and month_first is None:
        return None
    if mark == ".":  # dotted dates put the day first wherever they are in use
        if day_first is None or (len(text) - text.rindex(".") == 3 and len(text) != 8):
            return None  # 1.3.83 is a version
        return StatedDate(text=text, day=day_first), "dotted2" if len(text) == 8 else "dotted"
    if day_first is None or month_first is None or day_first == month_first:
        order = "same" if day_first == month_first else "dmy" if day_first else "mdy"
        return StatedDate(text=text, day=day_first or month_first), f"{order}{mark}"
    return StatedDate(text=text, day=day_first, or_else=month_first), f"either{mark}"


def _year(digits: str) -> int:
    return int(digits) if len(digits) == 4 else 2000 + int(digits)


def _day(year: int, month: int, day: int) -> dt.date | None:
    try:
        return dt.date(year, month, day)
    except ValueError:
        return None


class Order(NamedTuple):
    """How the document's other dates order day and month, '' when they do not tell."""

    order: str
    witness: str


def order_of(found: Iterable[FoundDate]) -> Order:
    """Tell the order from dates such as 20-03-2023, unless the document mixes both."""
    witnesses = {date.form[:3]: date.date.text for date in found if date.form[:3] in ("dmy", "mdy")}
    if len(witnesses) != 1:
        return Order("", "")
    return Order(*next(iter(witnesses.items())))


def order_of_days(stated: Iterable[StatedDate]) -> Order:
    """The order of the dates that a document's releases state."""
    return order_of(found for date in stated for found in find_dates(date.text))


def settle(date: StatedDate, order: Order) -> tuple[StatedDate, str]:
    """Choose between two readings by the document's own order; returns the date and a remark."""
    if date.or_else is None:
        return date, ""
    if not order.order:
        return date, (
            f"the date {date.text} can be {date.day:%d %B %Y} or {date.or_else:%d %B %Y}; "
            "the day was taken to come first"
        )
    day = date.day if order.order == "dmy" else date.or_else
    first = "day" if order.order == "dmy" else "month"
    return StatedDate(text=date.text, day=day), (
        f"the date {date.text} was read with the {first} first, as in {order.witness}"
    )
