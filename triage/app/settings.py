"""Use case: a unit's settings recorded, and two records compared."""

from __future__ import annotations

from pathlib import Path

from triage.app.environment import now
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit
from triage.domain.snapshots import Foretold, Origin, SnapshotComparison
from triage.errors import ConfigError, StoreError
from triage.kit import installed, load_kit
from triage.settings.announced_changes import foretold
from triage.settings.comparison import compare_snapshots
from triage.settings.entries import AnswerKind
from triage.settings.read_settings import read_settings
from triage.settings.recording_session import Recording, refused
from triage.settings.snapshots import (
    NumberedSnapshot,
    all_kept,
    renamed_settings,
    snapshot_numbered,
)
from triage.update.run_log import all_runs, read_back


def recording(unit: str, kit: Path | None = None) -> Recording:
    """A session for a unit of the kit, at the version last read back, else the installed one."""
    owned = load_kit(kit)
    label = _label(owned, unit)
    own = next(u for u in owned.units if u.label == label)
    return Recording(label, read_back(label) or installed(owned, own)[0])


def keep_recording(session: Recording, origin: Origin) -> NumberedSnapshot:
    """The snapshot that a session ends with."""
    return session.keep(origin, now())


def record_pasted(unit: str, pasted: str) -> NumberedSnapshot:
    """A snapshot from pasted text alone; ConfigError where a line would need an answer."""
    session = recording(unit)
    found = read_settings(pasted.encode("utf-8", "replace"), "the settings", pasted=True)
    doubts = [d for d in session.read(found) if d.entry is None or d.answer is not AnswerKind.VALUE]
    if doubts:
        raise refused(doubts, "the settings")
    if odd := session.strange():
        raise ConfigError(odd, mend="paste those of the right unit")
    return keep_recording(session, found.origin)


def two_snapshots(first: str, second: str = "") -> tuple[NumberedSnapshot, NumberedSnapshot]:
    """The snapshots of two numbers, or the last two of a unit."""
    if first.isdecimal() and second.isdecimal():
        return snapshot_numbered(int(first)), snapshot_numbered(int(second))
    if second:
        raise StoreError(
            f"'{second}' is no number", mend="name a unit, or two numbers of snapshots"
        )
    found = all_kept(first)
    if len(found) < 2:
        raise StoreError(
            f"there {'is one snapshot' if found else 'are no snapshots'} of '{first}', not two",
            mend=f"triage settings record {first}",
        )
    return found[-2], found[-1]


def announced(unit: str, notes: JudgedNotes | None = None) -> tuple[Foretold, ...]:
    """What the notes say of settings, without notes those of the unit's last run."""
    if notes is not None:
        return foretold(notes, range(len(notes.notes.releases)))
    about = [run for run in all_runs() if unit in {step.unit for step in run.plan.steps}]
    return about[-1].plan.foretold if about else ()


def compared(
    before: NumberedSnapshot, after: NumberedSnapshot, told: tuple[Foretold, ...]
) -> SnapshotComparison:
    """Two snapshots side by side, with what the operator said about renamed settings."""
    return compare_snapshots(before.snapshot, after.snapshot, told, renamed_settings())


def _label(kit: Kit, unit: str) -> str:
    label = next((u.label for u in kit.units if u.label.casefold() == unit.casefold()), None)
    if label is None:
        known = ", ".join(u.label for u in kit.units)
        mend = "add it: triage kit add" if kit.assumed else f"it holds {known}"
        raise StoreError(f"there is no unit '{unit}' in your kit", mend=mend)
    return label
