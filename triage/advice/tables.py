"""The advice's own data files: functions, priors and cautions, validated once and kept."""

from __future__ import annotations

import hashlib
from functools import cache
from typing import Literal

from pydantic import Field

from triage.domain.advice import OwnRecord
from triage.domain.base import Frozen
from triage.domain.policy import Level, Worth
from triage.reference.loader import load_table, table_bytes

FILES = ("functions.toml", "priors.toml", "presets.toml", "cautions.toml")


class Function(Frozen):
    """What a change can put at stake; `severity` is a category 1-4 of MIL-STD-882E."""

    id: str
    name: str
    severity: int = Field(ge=1, le=4)
    reason: str = Field(min_length=1)
    outcome: str
    flight: bool
    always: bool
    gain: Worth
    settings: tuple[str, ...]
    components: tuple[str, ...]


class Functions(Frozen):
    """The file functions.toml."""

    function: tuple[Function, ...]


class Prior(Frozen):
    """Pseudo-flights behind a Beta prior; `own` is the record asked for beside the shipped ones."""

    flights: float = Field(gt=1)
    reason: str
    status: str
    own: OwnRecord | None = None


class PriorTable(Frozen):
    """The table [prior]: one shape, and flights by what opens the hazard."""

    shape: float = Field(gt=0)
    shape_reason: str
    change: Prior
    compatibility: Prior
    fix: Prior
    unnamed: Prior

    @property
    def rows(self) -> dict[str, Prior]:
        """The priors by what opens the hazard."""
        return {
            "change": self.change,
            "compatibility": self.compatibility,
            "fix": self.fix,
            "unnamed": self.unnamed,
        }


class Counting(Frozen):
    """How changes of one function add up, in words; the rule itself stands in `weigh`."""

    doubling_reason: str
    milder_reason: str


class Defect(Frozen):
    """Chance per flight of a known defect whose words tell no frequency, and what presses."""

    unstated: float = Field(gt=0, lt=1)
    unstated_reason: str
    mild_words: frozenset[str]
    mild_reason: str
    presses: Level
    presses_reason: str


class Surfacing(Frozen):
    """How fast hidden defects come to notice after a release."""

    half_life_days: float = Field(gt=0)
    least_hidden: float = Field(ge=0, le=1)
    least_hidden_reason: str
    reason: str
    status: str


class Matching(Frozen):
    """When an item's words meet a need."""

    token_percent: float = Field(ge=0, le=100)
    need_share: float = Field(gt=0, le=1)
    small_words: frozenset[str]
    reason: str
    status: str


class Search(Frozen):
    """How far the search for what would change the advice goes."""

    days: int = Field(gt=0)
    users: int = Field(gt=0)
    draws: int = Field(gt=0)
    reason: str


class Priors(Frozen):
    """The file priors.toml."""

    prior: PriorTable
    counting: Counting
    defect: Defect
    surfacing: Surfacing
    matching: Matching
    search: Search
    unnamed_severity: dict[str, int]


class CautionRow(Frozen):
    """A standing word of care and when it is shown."""

    id: str
    when: Literal[
        "always",
        "update",
        "settings",
        "flight",
        "motors",
        "battery",
        "no-way-back",
        "preview",
        "steps",
    ]
    text: str
    status: str


class Cautions(Frozen):
    """The file cautions.toml."""

    caution: tuple[CautionRow, ...]


@cache
def functions() -> tuple[Function, ...]:
    """All functions, in the order of the file."""
    return load_table("functions.toml", Functions).function


@cache
def function(id: str) -> Function | None:
    """The function of that id."""
    return next((f for f in functions() if f.id == id), None)


@cache
def flight_other() -> Function:
    """The function of a change to flight whose part is not named."""
    return next(f for f in functions() if f.id == "flight-other")


@cache
def other() -> Function:
    """The function of everything that leads to none."""
    return next(f for f in functions() if f.id == "other")


@cache
def priors() -> Priors:
    """The numbers the advice starts from."""
    return load_table("priors.toml", Priors)


@cache
def caution_rows() -> tuple[CautionRow, ...]:
    """All standing words of care."""
    return load_table("cautions.toml", Cautions).caution


@cache
def by_setting() -> dict[str, Function]:
    """The function a setting leads to."""
    return {setting: f for f in functions() for setting in f.settings}


@cache
def by_component() -> dict[str, Function]:
    """The function a component leads to."""
    return {component: f for f in functions() for component in f.components}


@cache
def digest() -> str:
    """SHA-256 over the data files, in hex."""
    total = hashlib.sha256()
    for name in FILES:
        total.update(table_bytes(name))
    return total.hexdigest()
