"""The words of the steps of an update, and how calibrations are made; validated once."""

from __future__ import annotations

from functools import cache
from string import Formatter
from typing import Annotated

from pydantic import AfterValidator

from triage.domain.base import Frozen
from triage.reference.loader import load_table


class Calibration(Frozen):
    """How a calibration is usually made."""

    id: str
    name: str
    words: tuple[str, ...]
    how: str
    status: str


SLOTS = frozenset(
    ["unit", "name", "installed", "target", "charge", "policy", "desktop", "count", "title"]
)
"""What a text may hold in braces."""


def _known_slots(text: str) -> str:
    """ValueError for a text with a slot that nothing fills."""
    found = {name for _, name, _, _ in Formatter().parse(text) if name is not None}
    if found - SLOTS:
        raise ValueError(
            f"no value stands for {{{min(found - SLOTS)}}}; take one of {', '.join(sorted(SLOTS))}"
        )
    return text


Template = Annotated[str, AfterValidator(_known_slots)]


class Words(Frozen):
    """Title and lines of one step, as templates.

    `response` is the status or value it shall come to, `ask` what is to be stated.
    """

    title: Template
    response: Template
    ask: Template = ""
    details: tuple[Template, ...]


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
    end: dict[str, Words]
    way: dict[str, Template]
    mends: dict[str, tuple[Template, ...]]


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
