"""Field reports: what was seen of a release, and those that say the same."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from pydantic import Field

from triage.domain.base import Frozen
from triage.domain.outcomes import Outcome


class Seen(StrEnum):
    """What a report found."""

    CLEAN = "clean"
    PROBLEM = "problem"


class FieldReport(Frozen):
    """What somebody saw of a release.

    `day` is the day it was seen, `where` free text (a forum, a colleague). `version` is
    the release watched, as the notes write it; `component` a vocabulary id and `unit` the maker's
    name of the thing, either of which may be ''. `users` is how many users the report speaks for,
    `function` the id of the function affected, '' for the release as a whole. `flights` is how many
    flights each user made, `outcome` what happened, None where it is not stated. `explained` is
    why the release is not to blame for the trouble, '' while it may be.
    """

    day: dt.date
    where: str = ""
    version: str = Field(min_length=1)
    component: str = ""
    unit: str = ""
    users: int = Field(default=1, ge=1)
    seen: Seen
    function: str = ""
    words: str = ""
    flights: int = Field(default=1, ge=1, le=100_000)
    outcome: Outcome | None = None
    explained: str = ""


class ReportGroup(Frozen):
    """Reports that say the same; `counted` stands for all, with the most users any of them has.

    `reports` are in the order they were recorded; `reason` says why the later ones are not counted,
    '' for a report that stands alone.
    """

    counted: FieldReport
    reports: tuple[FieldReport, ...]
    reason: str = ""


class ReportsRead(Frozen):
    """The record as read; `torn` is a last line that was not written to its end, else ''."""

    reports: tuple[FieldReport, ...]
    torn: str = ""
