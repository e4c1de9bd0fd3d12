"""Settings of a unit as recorded on a day, and two such records side by side."""

from __future__ import annotations

from decimal import Decimal
from enum import StrEnum

from pydantic import AwareDatetime, Field

from triage.domain.base import Frozen


class ValueKind(StrEnum):
    """What sort of value a setting has."""

    QUANTITY = "quantity"
    SWITCH = "switch"
    CHOICE = "choice"


class Value(Frozen):
    """A setting's value; `text` is as written.

    `number` and `unit` (a symbol of `measures.toml`, '' for a bare number) belong to a quantity,
    `on` to a switch.
    """

    kind: ValueKind
    text: str = Field(min_length=1)
    number: Decimal | None = None
    unit: str = ""
    on: bool | None = None


class SettingEntry(Frozen):
    """One setting as recorded.

    `name` is as the unit writes it; `field` is an id of `fields.toml`, `setting` one of
    `settings.toml`; '' where the vocabulary does not know it.
    """

    name: str = Field(min_length=1)
    field: str = ""
    setting: str = ""
    value: Value


class Origin(StrEnum):
    """How a snapshot came in."""

    TYPED = "typed"
    PASTED = "pasted"
    FILE = "file"
    SCREENSHOT = "screenshot"


class Picture(Frozen):
    """A picture that values were read from; only its name and SHA-256 are kept."""

    name: str
    sha256: str = Field(pattern="^[0-9a-f]{64}$")


class Snapshot(Frozen):
    """The settings of one unit; `unit` is its label, `version` what the kit said it had.

    `corrects` is the number of the snapshot it stands in place of, `reason` why it does.
    """

    unit: str = Field(min_length=1)
    taken: AwareDatetime
    version: str = ""
    origin: Origin
    entries: tuple[SettingEntry, ...] = Field(min_length=1)
    pictures: tuple[Picture, ...] = ()
    corrects: int | None = None
    reason: str = ""


class SettingChoice(StrEnum):
    """What the operator does about a setting that differs after an update."""

    RESTORE = "restore"
    KEEP = "keep"
    LATER = "later"


class Answered(Frozen):
    """The operator's word on one setting; `value` is what it shows now, `reason` why it is kept."""

    name: str
    choice: SettingChoice
    value: str = ""
    reason: str = ""


class Renamed(Frozen):
    """The operator's word on a guess: whether two names mean one setting."""

    unit: str
    before: str
    after: str
    same: bool


class DifferenceKind(StrEnum):
    """How a setting fared between two snapshots."""

    CHANGED = "changed"
    GONE = "gone"
    NEW = "new"
    SAME = "same"


class Match(StrEnum):
    """What two entries were paired by; a guess is for the operator to confirm."""

    NAME = "name"
    VOCABULARY = "vocabulary"
    CONFIRMED = "confirmed"
    NOTES = "notes"
    GUESS = "guess"
    NONE = "none"


class Account(StrEnum):
    """How the notes account for what a setting shows after an update."""

    EXPECTED = "as the notes say"
    OTHER_VALUE = "named in the notes, not with this value"
    UNANNOUNCED = "changed without notice"
    OFFERED = "offered but not announced"
    GONE = "gone without notice"
    NOT_SEEN = "announced but not seen"
    SAME = "as before"


class Foretold(Frozen):
    """A statement of the release notes; `ref` is '' for an instruction.

    `settings` are the vocabulary ids it speaks of, `reset` whether it says settings are lost.
    """

    ref: str = ""
    line: int
    text: str
    settings: tuple[str, ...] = ()
    reset: bool = False


class Flag(Frozen):
    """A value outside a common legal limit: the rule by name, and what it says."""

    rule: str
    text: str


class Difference(Frozen):
    """One setting in two snapshots.

    `expected` are statements of the notes that name it, `near` those that only touch its subject.
    `question` is something for the operator to answer, '' when there is nothing. `shown` tells why
    a value counts as the same though it is written otherwise. `account` is how the notes account
    for it, `foreseen` what they say, with the line; a `critical` setting matters in the air. One
    that `asks` waits for the operator's word: restore, keep or later.
    """

    outcome: DifferenceKind
    name: str
    before: SettingEntry | None = None
    after: SettingEntry | None = None
    match: Match = Match.NONE
    score: float = 100.0
    expected: tuple[Foretold, ...] = ()
    near: tuple[Foretold, ...] = ()
    question: str = ""
    shown: str = ""
    flags: tuple[Flag, ...] = ()
    account: Account = Account.SAME
    foreseen: tuple[str, ...] = ()
    critical: bool = False
    asks: bool = False


class SnapshotComparison(Frozen):
    """Two snapshots of a unit, setting by setting, what matters most in the air first."""

    before: Snapshot
    after: Snapshot
    differences: tuple[Difference, ...]

    @property
    def asking(self) -> tuple[Difference, ...]:
        """The settings that wait for the operator's word."""
        return tuple(d for d in self.differences if d.asks)

    def of(self, outcome: DifferenceKind) -> tuple[Difference, ...]:
        """The settings that fared so."""
        return tuple(d for d in self.differences if d.outcome is outcome)
