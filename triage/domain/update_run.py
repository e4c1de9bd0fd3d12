"""The run of an update: its steps, what happened to each, and what is left when it is over."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from triage.domain.advice import Digests, Verdict
from triage.domain.base import Frozen
from triage.domain.setting_changes import SettingRow
from triage.domain.snapshots import Foretold


class Stage(StrEnum):
    """Parts of an update day."""

    BEFORE = "before"
    UNITS = "units"
    AFTER = "after"


class Needs(StrEnum):
    """What has to be stated to call a step done."""

    NOTHING = "nothing"
    CHARGE = "charge"
    VERSION = "version"
    BEFORE = "snapshot-before"
    AFTER = "snapshot-after"


COMMON_PRACTICE = "common practice, no source"
LEGEND = "Lines that name no source are common practice."


class Detail(Frozen):
    """A line under a step; `source` says where it comes from."""

    text: str
    source: str

    @property
    def named_source(self) -> str:
        """The source beside the line; '' for common practice, which `LEGEND` says once."""
        return "" if self.source == COMMON_PRACTICE else self.source


class Step(Frozen):
    """One thing to do.

    `id` is unique in the run. `target` is the version the unit shall have, '' when any will do;
    `installed` what it had. `unmoved_ok` is true where the version may stay as it is. `after` are
    ids of steps that come first. An `owed` step, of a version or a battery, keeps the run open
    until it is done.
    """

    id: str
    stage: Stage
    title: str
    details: tuple[Detail, ...] = ()
    mends: tuple[Detail, ...] = ()
    needs: Needs = Needs.NOTHING
    unit: str = ""
    installed: str = ""
    target: str = ""
    unmoved_ok: bool = False
    after: tuple[str, ...] = ()
    owed: bool = False


class RunPlan(Frozen):
    """What a run was started with; later changes of notes, kit or policy do not alter it."""

    unit: str
    title: str
    version: str
    policy: str
    min_charge: int
    verdict: Verdict
    until: dt.date | None = None
    headline: str
    steps: tuple[Step, ...]
    foretold: tuple[Foretold, ...] = ()
    changes: tuple[SettingRow, ...] = ()
    digests: Digests


class Started(Frozen):
    """A run begins; `against` is true when the advice was to wait."""

    event: Literal["started"] = "started"
    run: str
    at: AwareDatetime
    plan: RunPlan
    against: bool = False


class Mark(StrEnum):
    """What can happen to a step."""

    DONE = "done"
    SKIPPED = "skipped"
    FAILED = "failed"
    REOPENED = "reopened"


class Marked(Frozen):
    """Something happened to a step; `version` and `charge` (%) are as read, `snapshot` a number."""

    event: Literal["marked"] = "marked"
    run: str
    at: AwareDatetime
    step: str
    mark: Mark
    note: str = ""
    version: str = ""
    charge: int | None = None
    snapshot: int | None = None


class Closing(Frozen):
    """The run is being closed; from here on only the closing can be repeated."""

    event: Literal["closing"] = "closing"
    run: str
    at: AwareDatetime
    abandoned: str = ""


class Closed(Frozen):
    """The kit and the journal have been written."""

    event: Literal["closed"] = "closed"
    run: str
    at: AwareDatetime


Event = Annotated[Started | Marked | Closing | Closed, Field(discriminator="event")]


class StepStatus(StrEnum):
    """How a step stands."""

    OPEN = "open"
    DONE = "done"
    SKIPPED = "skipped"
    FAILED = "failed"


class StepState(Frozen):
    """A step, how it stands, and everything that happened to it."""

    number: int
    step: Step
    state: StepStatus
    marks: tuple[Marked, ...] = ()

    @property
    def last(self) -> Marked | None:
        """The latest mark."""
        return self.marks[-1] if self.marks else None

    @property
    def settled(self) -> bool:
        """Whether it no longer keeps the run open."""
        return self.state is StepStatus.DONE or (
            self.state is StepStatus.SKIPPED and not self.step.owed
        )


class Phase(StrEnum):
    """How a run stands; closing means that a finish was cut short and has to be repeated."""

    OPEN = "open"
    CLOSING = "closing"
    CLOSED = "closed"


class Run(Frozen):
    """A run as its events leave it."""

    id: str
    started: Started
    phase: Phase
    steps: tuple[StepState, ...]
    closing: Closing | None = None
    closed: Closed | None = None

    @property
    def plan(self) -> RunPlan:
        """What it was started with."""
        return self.started.plan

    @property
    def left(self) -> tuple[StepState, ...]:
        """Steps that keep it open."""
        return tuple(step for step in self.steps if not step.settled)


class VersionChange(Frozen):
    """The version of a unit before the run and as read back."""

    unit: str
    before: str
    after: str


class RunNote(Frozen):
    """A step and the reason given for it."""

    title: str
    reason: str


class Summary(Frozen):
    """A run that is over, for the journal; `abandoned` is the reason, '' when it was finished."""

    run: str
    unit: str
    title: str
    version: str
    started: dt.datetime
    finished: dt.datetime
    verdict: Verdict
    against: bool
    policy: str
    versions: tuple[VersionChange, ...]
    done: int
    skipped: tuple[RunNote, ...] = ()
    failed: tuple[RunNote, ...] = ()
    left: tuple[str, ...] = ()
    snapshots: tuple[int, ...] = ()
    abandoned: str = ""
    digests: Digests
