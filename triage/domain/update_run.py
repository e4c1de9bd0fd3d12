"""The run of an update: its steps, what happened to each, and what is left when it is over."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from triage.domain.advice import Digests, Verdict
from triage.domain.base import Frozen
from triage.domain.setting_changes import SettingRow
from triage.domain.snapshots import Answered, Foretold


class Stage(StrEnum):
    """Parts of an update day."""

    BEFORE = "before"
    UNITS = "units"
    AFTER = "after"
    BENCH = "bench"
    FLIGHT = "flight"
    REST = "rest"  # units kept back until the first of them has flown
    END = "end"

    @property
    def heading(self) -> str:
        """As it stands above its steps."""
        return _STAGE[self]


_STAGE = {
    Stage.BEFORE: "Before",
    Stage.UNITS: "Units",
    Stage.AFTER: "Settings and calibration",
    Stage.BENCH: "Bench, propellers off",
    Stage.FLIGHT: "Test flights",
    Stage.REST: "The rest, once the first has flown",
    Stage.END: "Once more, and the end",
}


class Needs(StrEnum):
    """What has to be stated to call a step done."""

    NOTHING = "nothing"
    CHARGE = "charge"
    VERSION = "version"
    BEFORE = "snapshot-before"
    AFTER = "snapshot-after"
    VALUE = "value"


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
    ids of steps that come first. An `owed` step, of a version, a battery or the settings, keeps the
    run open until it is done. `response` is the status or value that the step shall come to, `ask`
    what is to be stated, `expect` the value wanted. A `critical` step stands before the others of
    its stage where the order allows.
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
    response: str = ""
    ask: str = ""
    expect: str = ""
    critical: bool = False


class RunPlan(Frozen):
    """What a run was started with; later changes of notes, kit or policy do not alter it.

    `units` are the labels that move; `changes` what the notes do to their settings.
    """

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
    units: tuple[str, ...] = ()
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
    """Something happened to a step.

    `version`, `charge` (%) and `value` are as read, `snapshot` is a number, `answers` are the
    operator's word on settings that differ.
    """

    event: Literal["marked"] = "marked"
    run: str
    at: AwareDatetime
    step: str
    mark: Mark
    note: str = ""
    version: str = ""
    charge: int | None = None
    snapshot: int | None = None
    value: str = ""
    answers: tuple[Answered, ...] = ()


class Paid(Frozen):
    """Something owed from a run that is over was done; `setting` names one that was undecided."""

    event: Literal["paid"] = "paid"
    run: str
    at: AwareDatetime
    step: str
    setting: str = ""
    version: str = ""
    value: str = ""
    note: str = ""


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


Event = Annotated[Started | Marked | Paid | Closing | Closed, Field(discriminator="event")]


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
    paid: tuple[Paid, ...] = ()

    @property
    def plan(self) -> RunPlan:
        """What it was started with."""
        return self.started.plan

    @property
    def left(self) -> tuple[StepState, ...]:
        """Steps that keep it open."""
        return tuple(step for step in self.steps if not step.settled)


class Debt(Frozen):
    """What a run that is over still owes.

    `what` says it in words, `reason` why it was left; `setting` is the name of an undecided one,
    `target` the version wanted.
    """

    run: str
    step: str
    unit: str
    what: str
    reason: str = ""
    setting: str = ""
    target: str = ""

    @property
    def name(self) -> str:
        """What it is paid by: the setting's name, else the unit's label."""
        return self.setting or self.unit


class VersionChange(Frozen):
    """The version of a unit before the run and as read back."""

    unit: str
    before: str
    after: str


class RunNote(Frozen):
    """A step and the reason given for it."""

    title: str
    reason: str


class Flown(Frozen):
    """What a test on the bench or in flight came to; `words` is what was seen."""

    title: str
    came: StepStatus
    words: str = ""


class Summary(Frozen):
    """A run that is over, for the journal; `abandoned` is the reason, '' when it was finished.

    `units` are those that were to move; `owed` is what the run leaves to be done.
    """

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
    units: tuple[str, ...] = ()
    flights: tuple[Flown, ...] = ()
    owed: tuple[str, ...] = ()
    digests: Digests
