"""The advice's own data files: functions, priors and cautions, validated once and kept."""

from __future__ import annotations

import hashlib
from functools import cache
from math import log
from typing import Literal

from pydantic import Field, model_validator

from triage.domain.advice import OwnRecord
from triage.domain.base import Frozen
from triage.domain.outcomes import Outcome
from triage.domain.policy import Level, Worth
from triage.reference.loader import load_table, table_bytes

FILES = ("functions.toml", "priors.toml", "presets.toml", "cautions.toml", "outcomes.toml")


class OutcomeRow(Frozen):
    """How bad an outcome is: category 1-4 of MIL-STD-882E, and the nearest CICTT category."""

    id: Outcome
    name: str
    severity: int = Field(ge=1, le=4)
    reason: str = Field(min_length=1)
    category: str = Field(pattern="^[A-Z-]{3,6}$")


class Weight(Frozen):
    """What one case of each category weighs against the others."""

    catastrophic: float
    critical: float
    marginal: float
    negligible: float
    reason: str
    status: str


class Outcomes(Frozen):
    """The file outcomes.toml; every outcome but NONE has one row."""

    outcome: tuple[OutcomeRow, ...]
    weight: Weight

    @model_validator(mode="after")
    def _whole(self) -> Outcomes:
        stated = [row.id for row in self.outcome]
        if stated != [outcome for outcome in Outcome if outcome is not Outcome.NONE]:
            raise ValueError("every outcome needs one row, in the order of Outcome")
        return self


class Function(Frozen):
    """What a change can put at stake.

    `worst` is the outcome of a change that goes badly wrong, `unstated` that of a defect whose
    words tell none.
    """

    id: str
    name: str
    worst: Outcome
    unstated: Outcome
    reason: str = Field(min_length=1)
    outcome: str
    flight: bool
    always: bool
    gain: Worth
    settings: tuple[str, ...]
    components: tuple[str, ...]

    @property
    def severity(self) -> int:
        """Category of the worst outcome."""
        return severity_of(self.worst)


class Functions(Frozen):
    """The file functions.toml."""

    function: tuple[Function, ...]


class Prior(Frozen):
    """How often a change is bad; `own` is the record asked for beside the shipped numbers.

    `flights` are the pseudo-flights behind it, by which an own record is added; filled in from
    `bad` where not given.
    """

    bad: float = Field(gt=0, lt=1)
    flights: float = Field(default=0.0, ge=0)
    reason: str
    status: str
    own: OwnRecord | None = None


class PriorTable(Frozen):
    """The table [prior], a row for each thing that opens a hazard, and how bad changes show.

    A bad change shows on a flight with a chance between `least` and `most`.
    """

    shape: float = Field(gt=0)
    shape_reason: str
    least: float = 1e-4
    most: float = 0.05
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

    @property
    def mean_shows(self) -> float:
        """Mean chance per flight that a bad change shows."""
        return (self.most - self.least) / log(self.most / self.least)

    def bad(self, name: str) -> float:
        """Chance that a change of that row is bad, after the own record where one is used."""
        row = self.rows[name]
        return min(0.9, self.shape / (row.flights * self.mean_shows))


class Shows(Frozen):
    """Between which chances per flight a bad change shows."""

    least: float = Field(gt=0, lt=1)
    most: float = Field(gt=0, lt=1)
    reason: str
    status: str


class Split(Frozen):
    """Share of bad changes that fail as badly as can be, and one category milder."""

    worst: float = Field(gt=0, lt=1)
    milder: float = Field(gt=0, lt=1)
    reason: str
    status: str


class Counting(Frozen):
    """How changes of one function add up, in words; the rule itself stands in `hazards`."""

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
    present: float = Field(gt=0, le=1)
    present_reason: str
    elsewhere: float = Field(gt=0, le=1)
    elsewhere_reason: str


class SettingsMoved(Frozen):
    """Chance per flight that a setting moved by the update does harm."""

    chance: float = Field(gt=0, lt=1)
    reason: str
    status: str


class Surfacing(Frozen):
    """How the news of trouble, and the release that mends it, come in after a release."""

    news_shape: float = Field(gt=0)
    news_scale: float = Field(gt=0)
    news_source: str
    mended_shape: float = Field(gt=0)
    mended_scale: float = Field(gt=0)
    mended_ever: float = Field(gt=0, le=1)
    mended_source: str
    least_hidden: float = Field(ge=0, le=1)
    least_hidden_reason: str
    news_days: int = Field(gt=0)
    mended_days: int = Field(gt=0)
    days_reason: str


class Reports(Frozen):
    """How far one report of trouble is believed."""

    credible: float = Field(gt=0, lt=1)
    credible_reason: str
    status: str


class Deadline(Frozen):
    """How long before a deadline the update should be done."""

    lead_days: int = Field(ge=0)
    reason: str


class NeedMatch(Frozen):
    """When a match of need and item is held."""

    held: float = Field(gt=0, lt=1)
    reason: str


class Uncertainty(Frozen):
    """What the certainty supposes of what was read, assumed and estimated."""

    notice: float = Field(gt=0, lt=1)
    notice_reason: str
    grave: float = Field(gt=0, lt=1)
    grave_reason: str
    unread: float = Field(ge=0, le=1)
    unread_reason: str
    assumed: float = Field(ge=0, le=1)
    assumed_reason: str
    prior_factor: float = Field(ge=1)
    chance_factor: float = Field(ge=1)
    severity_off: float = Field(ge=0, lt=1)
    factor_reason: str


class Search(Frozen):
    """How far the search for what would change the advice goes."""

    days: int = Field(gt=0)
    users: int = Field(gt=0)
    draws: int = Field(gt=0)
    reason: str


class Priors(Frozen):
    """The file priors.toml."""

    prior: PriorTable
    shows: Shows
    split: Split
    counting: Counting
    defect: Defect
    settings: SettingsMoved
    surfacing: Surfacing
    reports: Reports
    deadline: Deadline
    needs: NeedMatch
    doubt: Uncertainty
    search: Search
    unnamed_severity: dict[str, int]

    @model_validator(mode="after")
    def _priors_in_flights(self) -> Priors:
        """The priors with their pseudo-flights, so that an own record can be added to them."""
        table = self.prior.model_copy(update={"least": self.shows.least, "most": self.shows.most})
        rows = {
            name: row.model_copy(update={"flights": table.shape / (row.bad * table.mean_shows)})
            for name, row in table.rows.items()
        }
        object.__setattr__(self, "prior", table.model_copy(update=rows))
        return self


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
def _outcomes() -> Outcomes:
    return load_table("outcomes.toml", Outcomes)


def outcome_rows() -> tuple[OutcomeRow, ...]:
    """All outcomes, gravest first."""
    return _outcomes().outcome


@cache
def outcome_row(outcome: Outcome) -> OutcomeRow:
    """The row of an outcome; NONE has none."""
    return next(row for row in _outcomes().outcome if row.id is outcome)


@cache
def severity_of(outcome: Outcome) -> int:
    """Category 1-4 of an outcome."""
    return outcome_row(outcome).severity


@cache
def weights() -> tuple[float, float, float, float]:
    """What one case of categories 1 to 4 weighs."""
    row = _outcomes().weight
    return (row.catastrophic, row.critical, row.marginal, row.negligible)


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
def tables_digest() -> str:
    """SHA-256 over the data files, in hex."""
    total = hashlib.sha256()
    for name in FILES:
        total.update(table_bytes(name))
    return total.hexdigest()
