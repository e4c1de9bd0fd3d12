"""The advice and what goes into it: candidates, evidence, hazards, gates and the assessment."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from pydantic import model_validator

from triage.domain.base import Frozen, under_new_name
from triage.domain.outcomes import Outcome
from triage.domain.policy import Level, Worth

SCHEMA_VERSION = 2


class Verdict(StrEnum):
    """The two answers; none of them calls a release safe."""

    UPDATE = "update-now"
    WAIT = "wait-and-watch"


class Problem(Frozen):
    """A requirement that the kit does not meet; it `blocks` when nothing can meet it.

    `unchecked`: a unit of the kit may or may not meet it, as its version is not known.
    """

    text: str
    blocks: bool
    line: int | None = None
    unchecked: bool = False


class Held(Frozen):
    """Another unit that has to move together with this one, and the day from which it may.

    `until` is None when no day is in sight; `never` when its release is not to be installed.
    """

    unit: str
    text: str
    until: dt.date | None
    never: bool = False


class Candidate(Frozen):
    """A release that the operator could move to.

    `release` and `path` are indexes into the notes' releases; `path` holds every release after
    the installed version up to and including this one, oldest first. `items` are the refs that
    come with the move. `units` are kit labels, `installed` is their version, '' when not known.
    `wanted_by` says in words which other unit requires this release, `pressed_by` which has to
    move at once and takes this one along, `held_by` which has to move too and may not yet.
    """

    release: int
    path: tuple[int, ...]
    items: tuple[str, ...]
    problems: tuple[Problem, ...] = ()
    units: tuple[str, ...] = ()
    installed: str = ""
    reversible: bool | None = None
    wanted_by: tuple[str, ...] = ()
    pressed_by: tuple[str, ...] = ()
    held_by: tuple[Held, ...] = ()


class Evidence(Frozen):
    """Field reports that say the same, already de-duplicated and counted once.

    `release` is an index into the notes' releases, `users` how many users it speaks for, each
    with `flights` flights (1 where not stated). `function` is a vocabulary id or '' for the
    release as a whole, `outcome` what happened, None where not stated. `explained` is the
    operator's reason why the release is not to blame; such trouble doesn't count.
    """

    release: int
    day: dt.date
    users: int
    clean: bool
    function: str = ""
    words: str = ""
    reports: int = 1
    flights: int = 1
    outcome: Outcome | None = None
    explained: str = ""

    @model_validator(mode="before")
    @classmethod
    def _older(cls, data: Any) -> Any:
        return under_new_name(data, "looks", "reports")


class OwnRecord(Frozen):
    """The operator's own problems in flights with what opens a hazard, and whether they tell."""

    problems: int
    flights: int
    used: bool


class Pointer(Frozen):
    """An item of the notes and the source line it stands on."""

    ref: str
    line: int


class HazardKind(StrEnum):
    """Where a hazard comes from."""

    DEFECT = "defect"  # of the installed version, which the move mends
    KNOWN_ISSUE = "known-issue"  # of the new release, by the maker
    REPORTED = "reported"  # of the new release, by its users
    CHANGE = "change"
    WORKING_TOGETHER = "working-together"
    SETTING = "setting"
    LOST = "lost"  # what a job or a need would lose
    UNNAMED = "unnamed"


class Hazard(Frozen):
    """One row of the hazard tables, in plain words.

    `known` is true for a defect that is stated, false for one that a change may bring.
    `accepted` tells whether the policy takes the level. `chance` is per flight.
    """

    kind: HazardKind
    chance: float

    function: str
    name: str
    outcome: str
    severity: str
    likelihood: str
    level: Level
    evidence: str
    known: bool
    accepted: bool
    pointers: tuple[Pointer, ...] = ()


class Passed(StrEnum):
    """How a gate stands; `check` is for what only the operator can see on the day."""

    YES = "yes"
    NO = "no"
    CHECK = "check"


class Gate(Frozen):
    """A condition of the policy or of the release, and why it stands as it does."""

    id: str
    name: str
    passed: Passed
    why: str


class Reason(Frozen):
    """One reason for the advice and the items it rests on."""

    text: str
    pointers: tuple[Pointer, ...] = ()


class FirstAnswer(Frozen):
    """What one of the first questions found; `decides` is whether it settles the advice."""

    id: str
    asks: str
    answer: str
    decides: bool
    pointers: tuple[Pointer, ...] = ()


class Sureness(StrEnum):
    """How sure, in words."""

    FIRM = "firm"
    LIKELY = "likely"
    CLOSE = "a close call"
    ASSUMED = "rests on an assumption"


class Certainty(Frozen):
    """How sure: words, and in which share of `draws` draws the advice stays.

    `nearest` says how far the nearest threshold is, `rests_on` the assumption that would turn
    the advice if it were wrong, '' for none.
    """

    words: Sureness
    share: float
    draws: int
    nearest: str = ""
    rests_on: str = ""


class Wait(Frozen):
    """A day to wait for, and what the wait buys: the news, or the mended release."""

    buys: str
    day: dt.date
    text: str


class Gain(Frozen):
    """What the release brings, in words, with the items that bring it."""

    worth: Worth
    reasons: tuple[Reason, ...] = ()


class Change(Frozen):
    """Something that turns the advice; `kind` is days, looks, item, items or need."""

    kind: str
    text: str
    pointers: tuple[Pointer, ...] = ()


class Recheck(Frozen):
    """A setting to look at after the update; `recorded` is its last recorded value, '' if none."""

    setting: str
    name: str
    why: str
    how: str = ""
    pointers: tuple[Pointer, ...] = ()
    recorded: str = ""


class Told(Frozen):
    """An instruction or requirement found in the notes."""

    kind: str
    text: str
    line: int


class Caution(Frozen):
    """A standing word of care."""

    id: str
    text: str


class Unweighed(Frozen):
    """Something in the notes that was not weighed, with its text and why."""

    text: str
    line: int
    why: str


class Assumption(Frozen):
    """What was assumed for want of knowledge, and how to do better."""

    text: str
    mend: str


class CandidateAdvice(Frozen):
    """The advice for one candidate, in a line."""

    release: int
    title: str
    version: str
    verdict: Verdict
    until: dt.date | None
    because: str


class Digests(Frozen):
    """SHA-256 of every input, in hex."""

    notes: str
    kit: str
    scope: str
    policy: str
    evidence: str
    model: str
    vocabulary: str
    needs: str = ""


class Assessment(Frozen):
    """The advice with everything it rests on.

    `subject` is the release that hazards, gates and gain speak of, None when there is nothing to
    move to. `warning` is the 'do not fly' word, '' when there is no such defect. `deciding` is the
    one reason that decides, `decided_by` the id of its question, gate or comparison. `due` is the
    last good day before a deadline, `try_first` how to try the release on one of several units.
    """

    schema_version: int = SCHEMA_VERSION
    day: dt.date
    policy: str
    verdict: Verdict
    headline: str
    warning: str
    warning_pointers: tuple[Pointer, ...]
    subject: int | None
    certainty: Certainty
    until: dt.date | None
    due: dt.date | None = None
    deciding: Reason
    decided_by: str
    first: tuple[FirstAnswer, ...] = ()
    waits: tuple[Wait, ...] = ()
    try_first: str = ""
    watch_for: tuple[str, ...]
    reasons: tuple[Reason, ...]
    moving: tuple[Hazard, ...]
    staying: tuple[Hazard, ...]
    gates: tuple[Gate, ...]
    gain: Gain
    changes: tuple[Change, ...]
    unsure: tuple[Change, ...]
    recheck: tuple[Recheck, ...]
    instructions: tuple[Told, ...]
    requirements: tuple[Told, ...]
    cautions: tuple[Caution, ...]
    assumptions: tuple[Assumption, ...]
    candidates: tuple[CandidateAdvice, ...]
    not_weighed: tuple[Unweighed, ...]
    digests: Digests
