"""The data files of this room, validated once: fields, measures, limits, steps, calibrations."""

from __future__ import annotations

from decimal import Decimal
from functools import cache

from pydantic import Field as Ranged

from triage.domain.base import Frozen
from triage.domain.snapshots import ValueKind
from triage.vocabulary import load_toml


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


class Calibration(Frozen):
    """How a calibration is usually made."""

    id: str
    name: str
    words: tuple[str, ...]
    how: str
    status: str


class Words(Frozen):
    """Title and lines of one step, as templates."""

    title: str
    details: tuple[str, ...]


class Steps(Frozen):
    """The file update_steps.toml."""

    status: str
    settings_of: tuple[str, ...]
    peripherals: tuple[str, ...]
    rotated: tuple[str, ...]
    software: tuple[str, ...]
    snapshot_days: int
    before: dict[str, Words]
    units: dict[str, Words]
    after: dict[str, Words]
    way: dict[str, str]
    mends: dict[str, tuple[str, ...]]


class _Fields(Frozen):
    field: tuple[Field, ...]


class _Measures(Frozen):
    measure: tuple[Measure, ...]


class _Limits(Frozen):
    limit: tuple[Limit, ...]


class _Calibrations(Frozen):
    calibration: tuple[Calibration, ...]


@cache
def fields() -> tuple[Field, ...]:
    """All fields, what matters most in the air first."""
    return load_toml("fields.toml", _Fields).field


@cache
def field_of(id: str) -> Field | None:
    """The field of an id, None when there is none."""
    return next((field for field in fields() if field.id == id), None)


@cache
def measures() -> tuple[Measure, ...]:
    """All units of measure."""
    return load_toml("measures.toml", _Measures).measure


@cache
def measure_of(symbol: str) -> Measure | None:
    """The measure of a symbol, None for a bare number."""
    return next((measure for measure in measures() if measure.symbol == symbol), None)


@cache
def limits() -> tuple[Limit, ...]:
    """All legal limits known here."""
    return load_toml("limits.toml", _Limits).limit


@cache
def calibrations() -> tuple[Calibration, ...]:
    """All calibrations known here."""
    return load_toml("calibrations.toml", _Calibrations).calibration


@cache
def steps() -> Steps:
    """The steps' words."""
    return load_toml("update_steps.toml", Steps)
