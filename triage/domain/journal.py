"""The decision journal: entries that are only ever added, each chained to the one before."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from triage.domain.advice import Evidence, OwnRecord, Verdict
from triage.domain.base import Frozen, under_new_name
from triage.domain.kit import Kit
from triage.domain.notes import SourceFormat
from triage.domain.policy import Policy
from triage.domain.reports import FieldReport
from triage.domain.update_run import Summary

PAYLOAD_VERSION = 1


class Result(StrEnum):
    """How a decision went, to update or to wait."""

    WELL = "went-well"
    PROBLEM = "problem"


class Opener(StrEnum):
    """What opens a hazard of moving; each has a prior of its own in the advice."""

    CHANGE = "change"
    COMPATIBILITY = "compatibility"
    FIX = "fix"


class Stored(Frozen):
    """Bytes kept apart from the entry and shared by all entries that name them; size in bytes."""

    sha256: str
    size: int


class Decision(Frozen):
    """What the operator decided for one group of like units, and why."""

    units: tuple[str, ...]
    choice: Verdict
    reason: str = ""


class Ahead(Frozen):
    """A release ahead of the installed one as it stood on the day: users heard of it."""

    version: str
    withdrawn: bool
    clean: int
    trouble: int


class Advised(Frozen):
    """The advice for one group of like units in brief; the whole of it is stored apart.

    `version` and `title` are those of the release it speaks of, `share` the stated certainty,
    `opened` the function ids its changes put at stake, by what opens the hazard.
    """

    units: tuple[str, ...]
    component: str
    name: str
    installed: str
    version: str
    title: str
    verdict: Verdict
    share: float
    until: dt.date | None
    headline: str
    opened: dict[Opener, tuple[str, ...]] = Field(default_factory=dict)
    ahead: tuple[Ahead, ...] = ()


class RecordedDecision(Frozen):
    """A decision with everything the advice rested on, enough to compute it once more.

    `reports` are the field reports on these releases, `evidence` what they count for, `recorded`
    the settings last recorded by unit label and setting id. `notes` are the document's bytes,
    `judged` the items as judged and `advice` the answer, both as JSON. `prior_flights` are the
    operator's own base rates where the advice started from them, `prior_record` what they came
    from; both are empty where it started from the shipped priors.
    """

    kind: Literal["decision"] = "decision"
    payload_version: int = PAYLOAD_VERSION
    day: dt.date
    tool_version: str
    source: str
    format: SourceFormat
    unit: str
    kit: Kit
    policy: Policy
    reports: tuple[FieldReport, ...]
    evidence: tuple[Evidence, ...]
    recorded: dict[str, dict[str, str]]
    prior_flights: dict[str, float] = Field(default_factory=dict)
    prior_record: dict[str, OwnRecord] = Field(default_factory=dict)
    first_seen: dt.date | None = None
    needs: dict[str, dict[str, float]] = Field(default_factory=dict)
    model_sha256: str
    notes: Stored
    judged: Stored
    advice: Stored
    advised: tuple[Advised, ...]
    decisions: tuple[Decision, ...]
    due: dt.date | None

    @model_validator(mode="before")
    @classmethod
    def _older(cls, data: Any) -> Any:
        return under_new_name(data, "looks", "reports")


class DecisionOutcome(Frozen):
    """How a decision went.

    `about` is the decision's entry; `units` () stands for all of them. `function`, `severity`
    (category 1-4 of MIL-STD-882E) and `went_back` tell of a problem, `flights` how many flights it
    speaks for, `avoided` what waiting kept away. `corrects` is the outcome that this one replaces.
    """

    kind: Literal["outcome"] = "outcome"
    payload_version: int = PAYLOAD_VERSION
    about: int
    corrects: int | None = None
    day: dt.date
    units: tuple[str, ...] = ()
    result: Result
    function: str = ""
    severity: int | None = Field(default=None, ge=1, le=4)
    went_back: bool = False
    flights: int | None = Field(default=None, ge=0, le=1_000_000)
    avoided: str = ""
    words: str = ""
    due: dt.date | None = None


class Review(Frozen):
    """A review of a decision; `due` is the next one, None when there is nothing more to see."""

    kind: Literal["review"] = "review"
    payload_version: int = PAYLOAD_VERSION
    about: int
    corrects: int | None = None
    day: dt.date
    words: str = ""
    due: dt.date | None = None


class Correction(Frozen):
    """Decisions that stand in place of those first written; `words` says why."""

    kind: Literal["correction"] = "correction"
    payload_version: int = PAYLOAD_VERSION
    about: int
    corrects: int | None = None
    day: dt.date
    decisions: tuple[Decision, ...]
    words: str = ""
    due: dt.date | None = None


class Updated(Frozen):
    """An update run that is over.

    `about` is the entry of the decision it carried out, its own where none is kept; `due` the
    review of that decision that was due and still is. A run is known by its id and its beginning.
    """

    kind: Literal["update"] = "update"
    payload_version: int = PAYLOAD_VERSION
    about: int
    day: dt.date
    summary: Summary
    due: dt.date | None = None


Later = DecisionOutcome | Review | Correction
Payload = Annotated[
    RecordedDecision | DecisionOutcome | Review | Correction | Updated, Field(discriminator="kind")
]


class Record(Frozen):
    """What is written and digested: `seq` counts from 1 without a gap, `at` is UTC.

    `before` is the digest of the entry before, the journal's own id for the first.
    """

    seq: int
    at: dt.datetime
    pilot: str
    before: str
    payload: Payload


class JournalEntry(Frozen):
    """A record with the SHA-256 of its canonical form, in hex."""

    record: Record
    digest: str

    @property
    def seq(self) -> int:
        """The number the operator calls it by."""
        return self.record.seq
