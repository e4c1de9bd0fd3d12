"""Fields that apps show, units of measure and common legal limits, validated once."""

from __future__ import annotations

from decimal import Decimal
from functools import cache

from pydantic import Field as Ranged

from triage.domain.base import Frozen
from triage.domain.snapshots import ValueKind
from triage.reference.loader import load_table


class Field(Frozen):
    """A value that an app shows; `least` and `most` are counted in the first of `units`."""

    id: str
    setting: str
    name: str
    kind: ValueKind
    dimension: str = ""
    units: tuple[str, ...] = ()
    least: Decimal | None = None
    most: Decimal | None = None
    names: tuple[str, ...] = ()


class Measure(Frozen):
    """A unit of measure: its symbol here, its name in pint, and how it is written."""

    symbol: str
    pint: str
    dimension: str
    spellings: tuple[str, ...] = Ranged(min_length=1)


class Limit(Frozen):
    """A common legal limit on some fields."""

    rule: str
    fields: tuple[str, ...]
    most: Decimal
    unit: str
    says: str
    status: str


class _Fields(Frozen):
    field: tuple[Field, ...]


class _Measures(Frozen):
    measure: tuple[Measure, ...]


class _Limits(Frozen):
    limit: tuple[Limit, ...]


@cache
def fields() -> tuple[Field, ...]:
    """All fields, what matters most in the air first."""
    return load_table("fields.toml", _Fields).field


@cache
def field_of(id: str) -> Field | None:
    """The field of an id, None when there is none."""
    return next((field for field in fields() if field.id == id), None)


@cache
def units_of_measure() -> tuple[Measure, ...]:
    """All units of measure."""
    return load_table("measures.toml", _Measures).measure


@cache
def measure_of(symbol: str) -> Measure | None:
    """The measure of a symbol, None for a bare number."""
    return next((measure for measure in units_of_measure() if measure.symbol == symbol), None)


@cache
def limits() -> tuple[Limit, ...]:
    """All legal limits known here."""
    return load_table("limits.toml", _Limits).limit


class Care(Frozen):
    """Settings whose difference is always asked about, and what is at stake."""

    settings: tuple[str, ...] = Ranged(min_length=1)
    reason: str = Ranged(min_length=1)


class _Cares(Frozen):
    care: tuple[Care, ...]


@cache
def care_of(setting: str) -> str:
    """Why a setting is never waved through, '' where it may be."""
    rows = load_table("setting_care.toml", _Cares).care
    return next((row.reason for row in rows if setting in row.settings), "")
