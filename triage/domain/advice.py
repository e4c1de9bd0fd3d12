"""The advice and what goes into it: candidates, evidence, hazards, gates and the assessment."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from typing import Any

from pydantic import model_validator

from triage.domain.base import Frozen, under_new_name
from triage.domain.policy import Level, Worth

SCHEMA_VERSION = 1


class Verdict(StrEnum):
    """The two answers; none of them calls a release safe."""

    UPDATE = "update-now"
    WAIT = "wait-and-watch"


class Problem(Frozen):
    """A requirement that the kit does not meet; it `blocks` when nothing can meet it."""

    text: str
    blocks: bool
    line: int | None = None


class Candidate(Frozen):
    """A release that the operator could move to.

    `release` and `path` are indexes into the notes' releases; `path` holds every release after
    the installed version up to and including this one, oldest first. `items` are the refs that
    come with the move and touch something the operator owns, `foreign` those that do not.
    `units` are kit labels, `wanted_by` says in words which other unit requires this release.
    """

    release: int
    path: tuple[int, ...]
    items: tuple[str, ...]
    foreign: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    units: tuple[str, ...] = ()
    reversible: bool | None = None
    wanted_by: tuple[str, ...] = ()


class Evidence(Frozen):
    """Field reports that say the same, already de-duplicated and counted once.

    `release` is an index into the notes' releases, `users` how many users it speaks for,
    `function` a vocabulary id or '' for the release as a whole.
    """

    release: int
    day: dt.date
    users: int
    clean: bool
    function: str = ""
    words: str = ""
    reports: int = 1

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


class Hazard(Frozen):
    """One row of the hazard tables, in plain words.

    `known` is true for a defect the maker states, false for one that a change may bring.
    `accepted` tells whether the policy takes the level.
    """

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


class Certainty(Frozen):
    """How sure: words, and in which share of `draws` draws the advice stays."""

    words: str
    share: float
    draws: int


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


class Assessment(Frozen):
    """The advice with everything it rests on.

    `subject` is the release that hazards, gates and gain speak of, None when there is nothing to
    move to. `warning` is the 'do not fly' word, '' when there is no such defect.
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
    not_weighed: tuple[Pointer, ...]
    digests: Digests
