"""Snapshots of settings in the user folder, and the operator's word on renamed settings.

A snapshot's number is its place in the record, from 1. A correction is written behind it, takes a
place of its own, and from then on stands under the number of what it corrects.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from pydantic import TypeAdapter

from triage.domain.snapshots import Renamed, SettingEntry, Snapshot
from triage.errors import StoreError
from triage.storage.record_log import Log
from triage.storage.user_folder import user_file

SNAPSHOTS = "snapshots.jsonl"
RENAMED = "renamed.jsonl"
_NAMED = 5  # snapshots named where one is not found


class NumberedSnapshot(NamedTuple):
    """A snapshot with its number; a corrected one as it was last corrected."""

    number: int
    snapshot: Snapshot


def all_kept(unit: str = "") -> tuple[NumberedSnapshot, ...]:
    """All snapshots, or those of one unit, the oldest first."""
    found: dict[int, Snapshot] = {}
    for number, snapshot in enumerate(_log().read(), start=1):
        found[snapshot.corrects or number] = snapshot
    return tuple(NumberedSnapshot(n, s) for n, s in found.items() if not unit or _is(s, unit))


def last_kept(unit: str) -> NumberedSnapshot | None:
    """The unit's newest snapshot."""
    return next(reversed(all_kept(unit)), None)


def snapshot_numbered(number: int) -> NumberedSnapshot:
    """The snapshot of a number; StoreError when there is none."""
    every = all_kept()
    found = next((one for one in every if one.number == number), None)
    if found is None:
        numbers = ", ".join(str(one.number) for one in every[-_NAMED:])
        known = f"the last are {numbers}" if every else "none is recorded yet"
        raise StoreError(f"there is no snapshot {number}", mend=known)
    return found


def keep_snapshot(snapshot: Snapshot) -> NumberedSnapshot:
    """Record a snapshot; it is on the disk when this returns."""
    return NumberedSnapshot(len(_log().add(lambda before: [snapshot])), snapshot)


def correct(number: int, entries: Sequence[SettingEntry], reason: str) -> NumberedSnapshot:
    """Put other entries in a snapshot's place; it keeps its number, its day and its version.

    StoreError without a reason, without an entry, or where there is no such snapshot.
    """
    old = snapshot_numbered(number)
    if not reason.strip():
        raise StoreError("a correction needs a reason", mend="state it with --reason")
    if not entries:
        raise StoreError("a snapshot without a setting is none", mend="leave at least one in it")
    told = {"entries": tuple(entries), "corrects": number, "reason": reason.strip()}
    keep_snapshot(old.snapshot.model_copy(update=told))
    return snapshot_numbered(number)


def last_recorded(unit: str) -> dict[str, str]:
    """The last recorded values of a unit by the vocabulary's setting id, in words.

    A setting of which several values are recorded names each: 'signal loss action Hover, ...'.
    """
    from triage.settings.setting_values import value_words

    found = last_kept(unit)
    by_setting: dict[str, list[tuple[str, str]]] = {}
    for entry in found.snapshot.entries if found else ():
        if entry.setting:
            row = (entry.name, value_words(entry.value))
            by_setting.setdefault(entry.setting, []).append(row)
    return {
        setting: rows[0][1] if len(rows) == 1 else ", ".join(f"{name} {v}" for name, v in rows)
        for setting, rows in by_setting.items()
    }


def renamed_settings() -> tuple[Renamed, ...]:
    """What the operator said about guesses, the oldest first."""
    return _renamed_log().read()


def keep_renamed(answers: Sequence[Renamed]) -> None:
    """Remember the operator's word on guesses."""
    _renamed_log().add(lambda before: answers)


def by_unit() -> Mapping[str, tuple[NumberedSnapshot, ...]]:
    """All snapshots by the label of their unit, in the order the units first came."""
    found: dict[str, tuple[NumberedSnapshot, ...]] = {}
    for one in all_kept():
        found[one.snapshot.unit] = (*found.get(one.snapshot.unit, ()), one)
    return found


def _is(snapshot: Snapshot, unit: str) -> bool:
    return snapshot.unit.casefold() == unit.casefold()


def _log() -> Log[Snapshot]:
    return Log(user_file(SNAPSHOTS), TypeAdapter(Snapshot), "snapshot")


def _renamed_log() -> Log[Renamed]:
    return Log(user_file(RENAMED), TypeAdapter(Renamed), "answer")
