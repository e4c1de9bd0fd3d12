"""Release notes as read: source, releases, items, requirements, instructions."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum

from triage.domain.base import Frozen


class Place(Frozen):
    """Where something stands in the decoded source: characters [start, end), lines from 1."""

    start: int
    end: int
    line: int
    end_line: int


class SourceFormat(StrEnum):
    """The form in which notes arrive."""

    TEXT = "text"
    MARKDOWN = "markdown"
    HTML = "html"
    PDF = "pdf"


class Source(Frozen):
    """The document itself: its name as the user gave it, how it was decoded, and its digest."""

    name: str
    format: SourceFormat
    encoding: str
    sha256: str
    characters: int


class StatedDate(Frozen):
    """A date as written; `day` is None when unreadable, `or_else` is the other reading of 04/03."""

    text: str
    day: dt.date | None
    or_else: dt.date | None = None


class Status(StrEnum):
    """How far along the maker says the release is."""

    RELEASED = "released"
    CANDIDATE = "candidate"
    BETA = "beta"
    ALPHA = "alpha"
    UNRELEASED = "unreleased"
    WITHDRAWN = "withdrawn"


class Comparison(StrEnum):
    """How a required version compares with the one in the kit."""

    AT_LEAST = "at-least"
    EXACTLY = "exactly"
    BELOW = "below"
    NOT_WITH = "not-with"
    FIRST = "first"  # the named unit has to be updated before this one
    WITH = "with"  # the named unit has to be updated too, version not stated


class Requirement(Frozen):
    """What a release asks of another unit.

    `component` is a vocabulary id (`app`, `radio-controller`...), '' when only `name` is known.
    `version` is as written, '' when none is stated.
    """

    component: str
    name: str
    comparison: Comparison
    version: str
    text: str
    place: Place


class InstructionKind(StrEnum):
    """What the maker asks the operator to do or to know around the update."""

    RESTART = "restart"
    CALIBRATE = "calibrate"
    RETRY = "retry"
    SETTINGS_RESET = "settings-reset"
    RECHECK = "recheck"
    NO_WAY_BACK = "no-way-back"
    CHARGE = "charge"
    UPDATE_FIRST = "update-first"
    BACK_UP = "back-up"
    EACH_UNIT = "each-unit"
    WARNING = "warning"
    OTHER = "other"


class Instruction(Frozen):
    """A sentence that tells the operator to do or to heed something."""

    kind: InstructionKind
    text: str
    place: Place


class Item(Frozen):
    """One statement of the notes.

    `text` is cleaned (no bullet, links, hashes, thanks); `original` is the source slice.
    `places` has one entry for each time the document states it, the fullest first.
    `ref` is short, stable within the document, and typed by the user (`--explain 12`).
    """

    ref: str
    text: str
    original: str
    places: tuple[Place, ...]
    heading: tuple[str, ...] = ()
    level: int = 0


class Release(Frozen):
    """One release: what was shipped, for which unit, when, and what the notes say of it.

    `component` is a vocabulary id or ''; `unit` is the maker's name as written, or ''.
    """

    title: str
    component: str
    unit: str
    version: str
    date: StatedDate | None
    status: Status
    items: tuple[Item, ...]
    requirements: tuple[Requirement, ...] = ()
    instructions: tuple[Instruction, ...] = ()
    place: Place


class Notes(Frozen):
    """A whole document, its releases in the document's order; `remarks` tell what was assumed."""

    source: Source
    releases: tuple[Release, ...]
    remarks: tuple[str, ...] = ()
