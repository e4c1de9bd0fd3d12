"""What an operator or an app wrote as a value, read as a quantity, a switch or a choice."""

from __future__ import annotations

import re
from decimal import Decimal

from triage.domain.snapshots import Value, ValueKind
from triage.settings.quantities import converted, spelled
from triage.settings.setting_tables import Field, Measure, measure_of, units_of_measure

_ON = frozenset({"on", "enabled", "enable", "yes", "true", "active", "activated"})
_OFF = frozenset({"off", "disabled", "disable", "no", "false", "inactive", "deactivated"})
_NUMBER = re.compile(r"([+\-−]?)\s*(\d[\d.,'  ]*|[.,]\d+)\s*(.*)", re.DOTALL)
_THOUSANDS = re.compile(r"\d{1,3}(?:([,'  ])\d{3})(?:\1\d{3})*(\.\d+)?")
LONGEST = 200  # characters; an app shows less


class ValueFaultError(ValueError):
    """A value that cannot stand; the words are a question to the operator."""


def read_value(text: str, field: Field | None = None) -> Value:
    """The value; with a field, of its kind, dimension and range.

    Errors: ValueFaultError with a question that names the way out.
    """
    text = " ".join(text.split())
    if not text:
        raise ValueFaultError("it has no value; what is it set to?")
    if len(text) > LONGEST:
        raise ValueFaultError(f"its value is longer than {LONGEST} characters; what is it set to?")
    value = _natural(text, wanted=field is not None and field.kind is ValueKind.QUANTITY)
    if field is None or field.kind is ValueKind.CHOICE:
        return value
    if field.kind is ValueKind.SWITCH:
        return _switch(value)
    return _in_range(_quantity(value, field), field)


def value_words(value: Value) -> str:
    """The value as it is printed."""
    if value.kind is ValueKind.SWITCH:
        return "on" if value.on else "off"
    if value.kind is ValueKind.QUANTITY and value.number is not None:
        return " ".join(filter(None, (spelled(value.number), value.unit)))
    return value.text


def measure_called(words: str) -> Measure | None:
    """The unit of measure that goes by a spelling."""
    wanted = " ".join(words.split()).casefold().rstrip(".")
    return next((m for m in units_of_measure() if wanted in m.spellings), None)


def _natural(text: str, *, wanted: bool) -> Value:
    """What the text is by itself; a quantity that is `wanted` has to be read or asked about."""
    plain = text.casefold().rstrip(".")
    if plain in _ON | _OFF:
        return Value(kind=ValueKind.SWITCH, text=text, on=plain in _ON)
    found = _NUMBER.fullmatch(text)
    if found and (not found[3] or measure_called(found[3]) or wanted):
        measure = measure_called(found[3])
        if found[3] and measure is None:
            known = ", ".join(dict.fromkeys(m.symbol for m in units_of_measure()))
            raise ValueFaultError(f"'{found[3]}' is no unit known here; is it one of {known}?")
        number = _number(found[2], text)
        return Value(
            kind=ValueKind.QUANTITY,
            text=text,
            number=-number if found[1] in ("-", "−") else number,
            unit=measure.symbol if measure else "",
        )
    return Value(kind=ValueKind.CHOICE, text=text)


def _number(digits: str, text: str) -> Decimal:
    digits = digits.strip()
    if re.fullmatch(r"\d{1,3},\d{3}", digits):
        raise ValueFaultError(
            f"'{text}' can be read two ways; is it {digits.replace(',', '')} "
            f"or {digits.replace(',', '.')}?"
        )
    if _THOUSANDS.fullmatch(digits):
        return Decimal(re.sub(r"[,'  ]", "", digits))
    if re.fullmatch(r"\d*[.,]\d+|\d+[.,]?", digits):
        return Decimal(digits.replace(",", ".").rstrip("."))
    raise ValueFaultError(f"'{text}' is no number that can be read; what is it?")


def _switch(value: Value) -> Value:
    if value.kind is ValueKind.QUANTITY and value.unit == "" and value.number in (0, 1):
        return Value(kind=ValueKind.SWITCH, text=value.text, on=value.number == 1)
    if value.kind is ValueKind.QUANTITY:
        raise ValueFaultError(f"'{value.text}' is neither on nor off; which is it?")
    return value  # some apps offer more than on and off


def _quantity(value: Value, field: Field) -> Value:
    if value.kind is not ValueKind.QUANTITY:
        if value.on is False:
            return value  # a limit that is switched off
        raise ValueFaultError(
            f"'{value.text}' is no {field.dimension}; what is it in {_or(field)}?"
        )
    if not value.unit:
        asked = f"is it {value.text} {_or(field)}?"
        if len(field.units) == 1:
            asked = f"write it as {value.text} {field.units[0]}"
        raise ValueFaultError(f"'{value.text}' has no unit; {asked}")
    measure = measure_of(value.unit)
    if measure is None or measure.dimension != field.dimension:
        raise ValueFaultError(
            f"'{value.text}' is no {field.dimension}; what is it in {_or(field)}?"
        )
    return value


def _in_range(value: Value, field: Field) -> Value:
    if value.number is None or not field.units:
        return value
    base = field.units[0]
    number = converted(value.number, value.unit, base)
    if field.least is not None and number < field.least:
        raise ValueFaultError(f"{value.text} is less than {field.least} {base}; what is it really?")
    if field.most is not None and number > field.most:
        raise ValueFaultError(
            f"{value.text} is more than {field.most} {base} and cannot be; what is it really?"
        )
    return value


def _or(field: Field) -> str:
    return " or ".join(field.units)
