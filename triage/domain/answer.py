"""The whole answer to one document, and everything it was made from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import NamedTuple

from triage.domain.advice import Assessment, Evidence, OwnRecord
from triage.domain.base import Frozen
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit, KitPlan, Plan, Scope, UnitScope
from triage.domain.policy import Policy
from triage.domain.reports import FieldReport


class Inputs(NamedTuple):
    """What an advice is made from besides the judged notes, whose bytes are `data`.

    `reports` are the field reports about the notes' releases and `evidence` what they count for;
    `recorded` holds the last recorded settings by unit label and setting id; `prior_flights` and
    `prior_record` what the operator's own journal puts in place of the shipped priors. `remarks`
    tell of records that could not be read to their end. `first_seen` is the day on which the notes
    were first seen, `needs` the chance that an item meets a need, by need and item ref.
    """

    data: bytes
    kit: Kit
    policy: Policy
    day: dt.date
    evidence: tuple[Evidence, ...] = ()
    reports: tuple[FieldReport, ...] = ()
    unit: str = ""
    recorded: Mapping[str, Mapping[str, str]] = {}
    prior_flights: Mapping[str, float] = {}
    prior_record: Mapping[str, OwnRecord] = {}
    remarks: tuple[str, ...] = ()
    first_seen: dt.date | None = None
    needs: Mapping[str, Mapping[str, float]] = {}


class UnitAdvice(Frozen):
    """The advice for one group of like units, what the document offers them, and the plan."""

    scope: UnitScope
    plan: Plan | None
    assessment: Assessment


class Advice(NamedTuple):
    """The whole answer to one document."""

    judged: JudgedNotes
    scope: Scope
    units: tuple[UnitAdvice, ...]
    plan: KitPlan | None = None
