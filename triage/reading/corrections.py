"""What the operator corrected in a reading: kept in the user folder, in effect at once.

Errors: StoreError when the record cannot be read or written; ConfigError for a correction that
names nothing in the notes.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from pydantic import TypeAdapter

from triage.domain.corrections import ReadingCorrection
from triage.domain.notes import (
    Aside,
    Instruction,
    InstructionKind,
    Item,
    KnownIssue,
    Notes,
    Notice,
    NoticeKind,
    Place,
    Release,
    Role,
    StatedDate,
)
from triage.storage.record_log import Log
from triage.storage.user_folder import user_file

NAME = "readings.jsonl"
CORRECTABLE = (
    Role.CHANGE,
    Role.INSTRUCTION,
    Role.KNOWN_ISSUE,
    Role.NOTICE,
    Role.AVAILABILITY,
    Role.BACKGROUND,
)


def keep(correction: ReadingCorrection, path: Path | None = None) -> None:
    """Keep a correction; it is on the disk on return."""
    _log(path).append(correction)


def kept_for(sha256: str, path: Path | None = None) -> tuple[ReadingCorrection, ...]:
    """The corrections of a document, the oldest first."""
    return tuple(c for c in _log(path).read() if c.sha256 == sha256)


def _log(path: Path | None) -> Log[ReadingCorrection]:
    return Log(path or user_file(NAME), TypeAdapter(ReadingCorrection), "correction")


def corrected(notes: Notes, corrections: Sequence[ReadingCorrection]) -> Notes:
    """The notes as the operator corrected them; what no longer fits them is passed over."""
    for correction in corrections:
        if correction.release < len(notes.releases):
            notes = _release(notes, correction)
            if correction.role is not None:
                notes = _moved(notes, correction.statement, correction.role, correction.release)
    return notes


def _release(notes: Notes, correction: ReadingCorrection) -> Notes:
    release = notes.releases[correction.release]
    changed: dict[str, object] = {}
    if correction.version is not None:
        changed["version"] = correction.version
        changed["assumed"] = tuple(a for a in release.assumed if "version" not in a)
    if correction.day is not None:
        changed["date"] = StatedDate(text=correction.day.isoformat(), day=correction.day)
    if correction.component is not None:
        changed["component"] = correction.component
    return (
        _with(notes, correction.release, release.model_copy(update=changed)) if changed else notes
    )


def _with(notes: Notes, index: int, release: Release) -> Notes:
    releases = (*notes.releases[:index], release, *notes.releases[index + 1 :])
    return notes.model_copy(update={"releases": releases})


def _moved(notes: Notes, text: str, role: Role, into: int) -> Notes:
    """The statement taken out of where it stands, and put where it belongs."""
    found = _find(notes, text)
    if found is None:
        return notes
    place, index = found
    notes = _without(notes, text)
    if role not in CORRECTABLE[:-1]:
        aside = Aside(role=role, text=text, place=place)
        return notes.model_copy(update={"aside": (*notes.aside, aside)})
    index = index if index >= 0 else into
    release = notes.releases[index]
    return _with(notes, index, _ADD[role](notes, release, text, place))


def _find(notes: Notes, text: str) -> tuple[Place, int] | None:
    for index, release in enumerate(notes.releases):
        said: tuple[Instruction | KnownIssue | Notice, ...] = (
            *release.instructions,
            *release.known_issues,
            *release.notices,
        )
        for one in said:
            if one.text == text:
                return one.place, index
        for item in release.items:
            if item.text == text:
                return item.places[0], index
    aside = next((a for a in notes.aside if a.text == text), None)
    return (aside.place, -1) if aside else None


def _without(notes: Notes, text: str) -> Notes:
    releases = tuple(
        release.model_copy(
            update={
                "items": tuple(i for i in release.items if i.text != text),
                "instructions": tuple(i for i in release.instructions if i.text != text),
                "known_issues": tuple(i for i in release.known_issues if i.text != text),
                "notices": tuple(i for i in release.notices if i.text != text),
            }
        )
        for release in notes.releases
    )
    aside = tuple(a for a in notes.aside if a.text != text)
    return notes.model_copy(update={"releases": releases, "aside": aside})


def _as_change(notes: Notes, release: Release, text: str, place: Place) -> Release:
    taken = [int(i.ref) for r in notes.releases for i in r.items if i.ref.isdigit()]
    item = Item(ref=str(max(taken, default=0) + 1), text=text, original=text, places=(place,))
    return release.model_copy(update={"items": (*release.items, item)})


def _as_issue(notes: Notes, release: Release, text: str, place: Place) -> Release:
    count = sum(len(r.known_issues) for r in notes.releases)
    issue = KnownIssue(ref=f"k{count + 1}", text=text, place=place)
    return release.model_copy(update={"known_issues": (*release.known_issues, issue)})


def _as_instruction(notes: Notes, release: Release, text: str, place: Place) -> Release:
    told = Instruction(kind=InstructionKind.OTHER, text=text, place=place)
    return release.model_copy(update={"instructions": (*release.instructions, told)})


def _as_warning(notes: Notes, release: Release, text: str, place: Place) -> Release:
    notice = Notice(kind=NoticeKind.WARNED, text=text, place=place)
    return release.model_copy(update={"notices": (*release.notices, notice)})


def _as_availability(notes: Notes, release: Release, text: str, place: Place) -> Release:
    notice = Notice(kind=NoticeKind.OTHER, text=text, place=place)
    return release.model_copy(update={"notices": (*release.notices, notice)})


_ADD: dict[Role, Callable[[Notes, Release, str, Place], Release]] = {
    Role.CHANGE: _as_change,
    Role.KNOWN_ISSUE: _as_issue,
    Role.INSTRUCTION: _as_instruction,
    Role.NOTICE: _as_warning,
    Role.AVAILABILITY: _as_availability,
}
