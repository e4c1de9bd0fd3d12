"""Use case: a unit's settings recorded, and two records compared."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from triage.app.environment import now
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit
from triage.domain.setting_changes import SettingRow
from triage.domain.snapshots import Foretold, Origin, SnapshotComparison
from triage.errors import ConfigError, StoreError
from triage.kit import installed, load_kit
from triage.kit.applicability import candidates
from triage.kit.versions import order
from triage.settings.announced_changes import foretold
from triage.settings.comparison import compare_snapshots
from triage.settings.entries import AnswerKind, Doubt, checked_entry
from triage.settings.pasted_text import Pair
from triage.settings.read_settings import read_settings
from triage.settings.recording_session import Recording, refused
from triage.settings.setting_changes import setting_changes
from triage.settings.setting_names import plain, rank
from triage.settings.snapshots import (
    NumberedSnapshot,
    all_kept,
    correct,
    last_kept,
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


def touching(before: NumberedSnapshot, notes: JudgedNotes | None = None) -> tuple[SettingRow, ...]:
    """What the notes do to the settings of a snapshot; without notes, those of the last run."""
    unit = before.snapshot.unit
    if notes is not None:
        releases = _oldest_first(notes, before.snapshot.version)
        return setting_changes(notes, releases, before.snapshot, unit)
    about = [run for run in all_runs() if unit in {step.unit for step in run.plan.steps}]
    return about[-1].plan.changes if about else ()


def settings_touched(
    notes: JudgedNotes, unit: str, kit: Path | None = None
) -> tuple[SettingRow, ...]:
    """What the newest release that the notes offer a unit does to its settings.

    All releases after the installed one count together.
    """
    owned = load_kit(kit)
    label = _label(owned, unit)
    scopes = (candidates(notes.notes, owned), candidates(notes.notes, owned, label))
    offers = next((u.offers for s in scopes for u in s.units if label in u.labels and u.offers), ())
    if not offers:
        raise StoreError(f"these notes hold no release ahead of {label}", mend="triage assess")
    last = last_kept(label)
    return setting_changes(notes, offers[-1].covers, last.snapshot if last else None, label)


def corrected(
    number: int, values: Sequence[str], drop: Sequence[str] = (), reason: str = ""
) -> NumberedSnapshot:
    """A snapshot with some values put right, others dropped; ConfigError where one cannot stand."""
    old = snapshot_numbered(number).snapshot
    entries = {plain(e.name): e for e in old.entries}
    for name in drop:
        if entries.pop(plain(name), None) is None:
            known = ", ".join(e.name for e in old.entries)
            raise ConfigError(f"snapshot {number} holds no '{name}'", mend=f"it holds {known}")
    for text in values:
        name, _, value = text.partition("=")
        result = checked_entry(Pair(name.strip(), value.strip()))
        if isinstance(result, Doubt):
            raise ConfigError(f"{result.name}: {result.question}", mend="write 'name=value'")
        entries[plain(result.name)] = result
    ordered = sorted(entries.values(), key=lambda e: rank(e.field, e.setting))
    return correct(number, ordered, reason)


def compared(
    before: NumberedSnapshot,
    after: NumberedSnapshot,
    told: tuple[Foretold, ...],
    rows: Sequence[SettingRow] = (),
) -> SnapshotComparison:
    """Two snapshots side by side, with what the operator said about renamed settings."""
    return compare_snapshots(before.snapshot, after.snapshot, told, renamed_settings(), rows)


def _oldest_first(notes: JudgedNotes, installed: str) -> list[int]:
    """The releases after the installed one, the oldest first; all where that is not known."""
    versions = [release.version for release in notes.notes.releases]
    ahead = [n for n, v in enumerate(versions) if order(v, installed).sign in (1, None)]
    return sorted(ahead, key=lambda n: -n)


def _label(kit: Kit, unit: str) -> str:
    label = next((u.label for u in kit.units if u.label.casefold() == unit.casefold()), None)
    if label is None:
        known = ", ".join(u.label for u in kit.units)
        mend = "add it: triage kit add" if kit.assumed else f"it holds {known}"
        raise StoreError(f"there is no unit '{unit}' in your kit", mend=mend)
    return label
