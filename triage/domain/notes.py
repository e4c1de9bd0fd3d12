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
    MAIL = "mail"
    PICTURE = "picture"


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
    WITH = "with"  # the named unit has to be updated too; the version may be stated
    SAME = "same"  # both units need one version, none is stated


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
    TEST_FLIGHT = "test-flight"
    WAY_BACK = "way-back"
    OTHER = "other"


class EffectKind(StrEnum):
    """What a release does to a setting or a value."""

    RESET = "reset"
    DEFAULT = "default"
    RANGE = "range"
    RENAMED = "renamed"
    REMOVED = "removed"
    ADDED = "added"


class Effect(Frozen):
    """What a statement says happens to a setting.

    `setting` as written, `setting_id` a vocabulary id or ''; `before` and `after` as written, with
    their unit, '' when not stated. `kept`: the notes say that values the operator has set stay.
    """

    change: EffectKind
    setting: str
    setting_id: str = ""
    before: str = ""
    after: str = ""
    kept: bool = False
    place: Place


class Instruction(Frozen):
    """A sentence that tells the operator to do or to heed something.

    `effects` are what it says happens to settings.
    """

    kind: InstructionKind
    text: str
    place: Place
    effects: tuple[Effect, ...] = ()


class Role(StrEnum):
    """What a statement is in the notes."""

    VERSION = "version"
    HEADING = "heading"
    CHANGE = "change"
    INSTRUCTION = "instruction"
    REQUIREMENT = "requirement"
    KNOWN_ISSUE = "known-issue"
    NOTICE = "notice"  # a word against a release
    AVAILABILITY = "availability"
    BACKGROUND = "background"
    REMARK = "remark"
    USER = "user"  # a user's reply, review, question
    DUPLICATE = "duplicate"  # the same in another language
    BOILERPLATE = "boilerplate"


class UnitVersion(Frozen):
    """A unit whose version the release states; `component` is a vocabulary id."""

    component: str
    name: str
    version: str
    line: int


class NoticeKind(StrEnum):
    """What the maker says about installing a release."""

    WITHDRAWN = "withdrawn"
    WARNED = "warned"
    GROUNDED = "grounded"  # do not fly until...
    STAGED = "staged"
    DEADLINE = "deadline"
    ANNOUNCED = "announced"
    OTHER = "other"

    @property
    def against(self) -> bool:
        """Whether it speaks against a release."""
        return self in (NoticeKind.WITHDRAWN, NoticeKind.WARNED, NoticeKind.GROUNDED)


class Notice(Frozen):
    """A word against a release, or about when and for whom it is there.

    `versions` are the versions it names (as written; () for the release it stands under), `day`
    the day it names. `chance` is the reader's that the kind is right.
    """

    kind: NoticeKind
    text: str
    place: Place
    versions: tuple[str, ...] = ()
    day: StatedDate | None = None
    chance: float = 1.0


class KnownIssue(Frozen):
    """A defect that the release still has; `versions` the affected ones, when the text says so."""

    ref: str
    text: str
    place: Place
    heading: tuple[str, ...] = ()
    versions: tuple[str, ...] = ()
    chance: float = 1.0


class Aside(Frozen):
    """A statement that is no change, warning or requirement, kept so that nothing is lost."""

    role: Role
    text: str
    place: Place
    chance: float = 1.0


class Item(Frozen):
    """One change that the notes state.

    `text` is cleaned (no bullet, links, hashes, thanks); `original` is the source slice.
    `places` has one entry for each time the document states it, the fullest first.
    `ref` is short, stable within the document, and typed by the user (`--explain 12`).
    `versions` are the affected versions where the text says so; `chance` is the reader's that the
    statement is a change at all.
    """

    ref: str
    text: str
    original: str
    places: tuple[Place, ...]
    heading: tuple[str, ...] = ()
    level: int = 0
    effects: tuple[Effect, ...] = ()
    versions: tuple[str, ...] = ()
    chance: float = 1.0


class Release(Frozen):
    """One release: what was shipped, for which unit, when, and what the notes say of it.

    `component` is a vocabulary id or ''; `unit` is the maker's name as written, or ''.
    `units` are all units whose version is stated with it. `assumed` tells in words what the reader
    took for granted (the version, the day, whose notes); `component_assumed`: the component is a
    guess by the changes. `derived`: made for a unit whose version another release states.
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
    known_issues: tuple[KnownIssue, ...] = ()
    notices: tuple[Notice, ...] = ()
    units: tuple[UnitVersion, ...] = ()
    assumed: tuple[str, ...] = ()
    component_assumed: bool = False
    derived: bool = False
    place: Place


class Notes(Frozen):
    """A whole document, its releases in the document's order; `remarks` tell what was assumed.

    `aside` is everything that was read and weighs nothing; `not_understood` is the share of the
    text's characters in statements that could not be read (another language), in [0, 1].
    `titles` are the lines that may say whose notes they are: headings, version lines, the top.
    """

    source: Source
    releases: tuple[Release, ...]
    remarks: tuple[str, ...] = ()
    aside: tuple[Aside, ...] = ()
    not_understood: float = 0.0
    titles: tuple[str, ...] = ()
