"""The words of the steps of an update, and how calibrations are made; validated once."""

from __future__ import annotations

from functools import cache

from triage.domain.base import Frozen
from triage.reference.loader import load_table


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


class _Calibrations(Frozen):
    calibration: tuple[Calibration, ...]


@cache
def calibrations() -> tuple[Calibration, ...]:
    """All calibrations known here."""
    return load_table("calibrations.toml", _Calibrations).calibration


@cache
def steps() -> Steps:
    """The steps' words."""
    return load_table("update_steps.toml", Steps)
