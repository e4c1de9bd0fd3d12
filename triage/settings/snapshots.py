"""Snapshots of settings in the user folder, and the operator's word on renamed settings.

A snapshot's number is its place in the record, from 1.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from pydantic import TypeAdapter

from triage.domain.snapshots import Renamed, Snapshot
from triage.errors import StoreError
from triage.storage.record_log import Log
from triage.storage.user_folder import user_file

SNAPSHOTS = "snapshots.jsonl"
RENAMED = "renamed.jsonl"


class NumberedSnapshot(NamedTuple):
    """A snapshot with its number."""

    number: int
    snapshot: Snapshot


def all_kept(unit: str = "") -> tuple[NumberedSnapshot, ...]:
    """All snapshots, or those of one unit, the oldest first."""
    kept = [NumberedSnapshot(n, s) for n, s in enumerate(_log().read(), start=1)]
    return tuple(k for k in kept if not unit or _is(k.snapshot, unit))


def last_kept(unit: str) -> NumberedSnapshot | None:
    """The unit's newest snapshot."""
    return next(reversed(all_kept(unit)), None)


def snapshot_numbered(number: int) -> NumberedSnapshot:
    """The snapshot of a number; StoreError when there is none."""
    found = all_kept()
    if not 1 <= number <= len(found):
        known = f"they run from 1 to {len(found)}" if found else "none is recorded yet"
        raise StoreError(f"there is no snapshot {number}", mend=known)
    return found[number - 1]


def keep_snapshot(snapshot: Snapshot) -> NumberedSnapshot:
    """Record a snapshot; it is on the disk when this returns."""
    return NumberedSnapshot(len(_log().add(lambda before: [snapshot])), snapshot)


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
