"""Values and ranges as release notes state them, read against the operator's own entry."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache
from typing import NamedTuple

from triage.domain.snapshots import SettingEntry, Value, ValueKind
from triage.settings.quantities import converted, dimension, same_quantity
from triage.settings.setting_tables import Field, measure_of, units_of_measure
from triage.settings.setting_values import ValueFaultError, read_value, value_words

_NUMBER = r"[-+−]?\d+(?:[.,]\d+)?"
_MOST = re.compile(
    r"\b(?:up to|at most|no more than|not above|maximum|max\.?|limited to|capped at)\b|≤|<=", re.I
)
_LEAST = re.compile(r"\b(?:at least|no less than|not below|minimum|min\.?|from)\b|≥|>=", re.I)


class Span(NamedTuple):
    """A range in one unit of measure; None where that end is open."""

    least: Value | None
    most: Value | None

    def holds(self, value: Value) -> bool | None:
        """Whether the value lies in it; None where they cannot be compared."""
        sides = [(end, sign) for end, sign in ((self.least, 1), (self.most, -1)) if end]
        if not sides or any(_gap(value, end) is None for end, _ in sides):
            return None
        return all((_gap(value, end) or Decimal(0)) * sign >= 0 for end, sign in sides)

    def nearest(self, value: Value) -> Value:
        """The end of it that lies nearest to a value outside."""
        if self.most is None or (self.least and (_gap(value, self.least) or Decimal(0)) < 0):
            assert self.least is not None
            return self.least
        return self.most

    @property
    def words(self) -> str:
        """'20 m to 120 m', 'up to 120 m'."""
        if self.least and self.most:
            return f"{value_words(self.least)} to {value_words(self.most)}"
        return f"up to {value_words(self.most)}" if self.most else f"from {value_words(self.least)}"  # type: ignore[arg-type]


def stated(text: str, field: Field | None) -> Value | None:
    """The value that the notes write, None for none; what is no quantity stands as written."""
    text = " ".join(text.split()).strip("'\"“”‘’.")
    if not text:
        return None
    for kind in (field, None):
        try:
            return read_value(text, kind)
        except ValueFaultError:
            continue
    return Value(kind=ValueKind.CHOICE, text=text)


def quantities_in(text: str, field: Field | None) -> list[Value]:
    """The quantities of the field's dimension that a text states, in its order."""
    found = []
    for match in re.finditer(rf"(?<![\w.])({_NUMBER})\s*({_spellings()})?(?!\w)", text, re.I):
        read = bool(match[2]) or field is None or not field.dimension
        if read and (value := stated(f"{match[1]} {match[2] or ''}", None)):
            found.append(value)
    wanted = field.dimension if field else ""
    return [v for v in found if not wanted or dimension(v) == wanted]


def span_in(text: str, field: Field | None) -> Span | None:
    """The range that a text states, the last of several; None where it states none."""
    for pair in reversed(list(re.finditer(_pair(), text, re.IGNORECASE))):
        unit = pair[4] or pair[2] or (field.units[0] if field and len(field.units) == 1 else "")
        low, high = stated(f"{pair[1]} {pair[2] or unit}", None), stated(f"{pair[3]} {unit}", None)
        if low and high and (_gap(high, low) or Decimal(0)) > 0:
            return Span(low, high)
    values = quantities_in(text, field)
    if not values:
        return None
    if _LEAST.search(text) and not _MOST.search(text):
        return Span(values[-1], None)
    return Span(None, values[-1])


def range_of(after: str, text: str, field: Field | None) -> Span | None:
    """The new range as its value states it; as the statement does where only that has both ends."""
    short, whole = span_in(after, field), span_in(text, field)
    if short is None or (whole and whole.least and whole.most and not (short.least and short.most)):
        return whole
    return short


@cache
def _pair() -> str:
    unit = rf"\s*({_spellings()})?"
    return rf"({_NUMBER}){unit}\s*(?:-|–|—|\.\.\.?|to|and|through)\s*({_NUMBER}){unit}(?!\w)"


def same(one: Value, other: Value) -> bool:
    """Whether two values are one: as switches, as quantities in any unit, or by their words."""
    if one.kind is not other.kind:
        return False
    if one.kind is ValueKind.SWITCH:
        return one.on == other.on
    if one.kind is ValueKind.QUANTITY:
        return same_quantity(one, other)
    return _plain(one.text) == _plain(other.text)


def like_own(value: Value, own: SettingEntry | None) -> Value:
    """A bare number in the unit of the operator's own value."""
    bare = value.kind is ValueKind.QUANTITY and not value.unit
    if own is None or not bare or own.value.kind is not ValueKind.QUANTITY or not own.value.unit:
        return value
    return value.model_copy(
        update={"unit": own.value.unit, "text": f"{value.text} {own.value.unit}"}
    )


def _gap(value: Value, end: Value) -> Decimal | None:
    if value.number is None or end.number is None:
        return None
    if value.unit == end.unit or not value.unit or not end.unit:
        return value.number - end.number
    one, other = measure_of(value.unit), measure_of(end.unit)
    if one is None or other is None or one.dimension != other.dimension:
        return None
    return converted(value.number, value.unit, end.unit) - end.number


@cache
def _spellings() -> str:
    words = sorted({s for m in units_of_measure() for s in m.spellings}, key=len, reverse=True)
    return "|".join(re.escape(word) for word in words)


def _plain(text: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", text.casefold())) or " ".join(text.casefold().split())
