"""Releases under watch: notes set aside to be weighed anew, and how each release stands today."""

from __future__ import annotations

import datetime as dt

from pydantic import Field

from triage.domain.advice import Verdict
from triage.domain.base import Frozen
from triage.domain.notes import SourceFormat


class Watched(Frozen):
    """Notes under watch since the day `added`; their bytes lie beside, by their digest.

    `unit` is the label of the unit they are for, '' where they say so themselves.
    """

    sha256: str = Field(pattern="^[0-9a-f]{64}$")
    name: str = Field(min_length=1)
    format: SourceFormat
    unit: str = ""
    added: dt.date


class Watch(Frozen):
    """One group of like units and the release that the advice for it speaks of.

    `version` and `verdict` are None when there is nothing ahead of it (any more). `watch_for` are
    the hazards that hold the release back. `last_report` is the day of the last field report on any
    release ahead, None while there is none; `next_check` the day the next check is due, None where
    none helps. `every` is the interval in days that this day rests on.
    """

    notes: Watched
    units: tuple[str, ...]
    thing: str
    installed: str
    version: str | None
    verdict: Verdict | None
    headline: str
    warning: str = ""
    until: dt.date | None = None
    watch_for: tuple[str, ...] = ()
    last_report: dt.date | None = None
    next_check: dt.date | None = None
    every: int | None = None
