"""The operator's risk policy: how much proof, how long a wait, and how much risk is accepted."""

from __future__ import annotations

from enum import StrEnum

from pydantic import Field, field_validator

from triage.domain.base import Frozen
from triage.domain.notes import Status


class Level(StrEnum):
    """Risk levels of MIL-STD-882E, Table III, lowest first."""

    LOW = "low"
    MEDIUM = "medium"
    SERIOUS = "serious"
    HIGH = "high"


class Worth(StrEnum):
    """What a release brings the operator, least first."""

    NONE = "none"
    LITTLE = "little"
    SOME = "some"
    MUCH = "much"


class Policy(Frozen):
    """What an operator accepts.

    Chances are per flight, `credible` is the posterior level that is read as the chance, weights
    turn reported users into counted users, shares lie in [0, 1], days are calendar days.
    """

    name: str = Field(default="own", min_length=1, max_length=40)
    credible: float = Field(ge=0.5, le=0.999)
    accept: Level
    accept_catastrophic: Level
    min_days_flight: int = Field(ge=0, le=365)
    min_days_other: int = Field(ge=0, le=365)
    no_way_back_days: int = Field(ge=0, le=365)
    min_clean_users: int = Field(ge=0, le=100_000)
    days_instead_of_looks: int = Field(ge=0, le=730)
    trouble_share: float = Field(ge=0, le=1)
    job_days: int = Field(ge=0, le=60)
    least_status: Status
    least_gain: Worth
    problem_weight: float = Field(gt=0, le=1)
    clean_weight: float = Field(gt=0, le=1)
    min_charge: int = Field(ge=0, le=100)

    @field_validator("least_status")
    @classmethod
    def _of_a_release(cls, value: Status) -> Status:
        if value in (Status.UNRELEASED, Status.WITHDRAWN):
            raise ValueError("take one of released, candidate, beta, alpha")
        return value
