"""What a release does to the operator's own settings: one row a setting."""

from __future__ import annotations

from enum import StrEnum

from triage.domain.base import Frozen
from triage.domain.snapshots import SettingEntry, Value


class Says(StrEnum):
    """What the notes say of a setting."""

    RESET = "reset"
    DEFAULT = "default"
    RANGE = "range"
    RENAMED = "renamed"
    REMOVED = "removed"
    ADDED = "added"
    BEHAVES = "behaves"  # the function acts differently, the value stays


class Do(StrEnum):
    """What the operator does about it; the order is that of how pressing it is."""

    WRITE_DOWN = "write down"
    SET_AGAIN = "set again"
    DECIDE = "decide"
    LOOK_AT = "look at"


class Said(Frozen):
    """One statement of the notes about a setting, in plain words, with its place.

    `ref` is the item's, '' for an instruction.
    """

    says: Says
    words: str
    ref: str = ""
    line: int


class SettingRow(Frozen):
    """A setting that the release touches.

    `name` is as the operator's app calls it, else as the notes do; `new_name` what it is called
    afterwards, '' where that stays. `own` is the last recorded entry, None where none is recorded.
    `expected` are the values that the notes account for, the likeliest first; () where they state
    none. `gone` is true for a setting that is removed. `outside` tells in words how the own value
    lies outside a new range, '' where it does not. `because` says why the value is expected.
    """

    unit: str = ""
    name: str
    new_name: str = ""
    field: str = ""
    setting: str = ""
    own: SettingEntry | None = None
    said: tuple[Said, ...]
    expected: tuple[Value, ...] = ()
    gone: bool = False
    outside: str = ""
    do: Do
    because: str = ""
    critical: bool = False

    def says(self, *what: Says) -> bool:
        """Whether the notes say one of these of it."""
        return any(said.says in what for said in self.said)

    @property
    def names(self) -> tuple[str, ...]:
        """The names it may stand under afterwards, the newest first."""
        return tuple(dict.fromkeys(filter(None, (self.new_name, self.name))))
