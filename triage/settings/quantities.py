"""Conversion and comparison of quantities; pint does the arithmetic, in decimals."""

from __future__ import annotations

from decimal import Decimal
from functools import cache
from typing import Any

from triage.domain.snapshots import Value
from triage.settings.setting_tables import measure_of


@cache
def _registry() -> Any:
    import pint  # a quarter of a second: only who converts pays for it

    return pint.UnitRegistry(non_int_type=Decimal)


def converted(number: Decimal, unit: str, to: str) -> Decimal:
    """The number in another unit of the same dimension; units are symbols of measures.toml."""
    if unit == to:
        return number
    one, other = measure_of(unit), measure_of(to)
    if one is None or other is None or one.dimension != other.dimension:
        raise ValueError(f"'{unit}' cannot be counted in '{to}'")
    return Decimal(_registry().Quantity(number, one.pint).to(other.pint).magnitude)


def dimension(value: Value) -> str:
    """The dimension of a quantity, '' for a bare number or no quantity."""
    measure = measure_of(value.unit)
    return measure.dimension if measure else ""


def in_unit(value: Value, unit: str) -> str:
    """A quantity in another unit, to two places: '18.29 m'."""
    assert value.number is not None
    number = Decimal(f"{converted(value.number, value.unit, unit):.2f}")
    return f"{spelled(number)} {unit}"


def spelled(number: Decimal) -> str:
    """A number without an exponent or empty places."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def same_quantity(a: Value, b: Value) -> bool:
    """Whether two quantities are one, as closely as the coarser of them is written.

    In one unit the numbers have to be equal; in two, they may differ by half of the last place of
    either: 197 ft is 60 m.
    """
    assert a.number is not None and b.number is not None
    if a.unit == b.unit:
        return a.number == b.number
    if not dimension(a) or dimension(a) != dimension(b):
        return False
    gap = abs(converted(a.number, a.unit, b.unit) - b.number)
    return gap <= max(converted(_half_place(a), a.unit, b.unit), _half_place(b))


def _half_place(value: Value) -> Decimal:
    assert value.number is not None
    exponent = value.number.as_tuple().exponent
    return Decimal(5).scaleb(min(int(exponent), 0) - 1)
