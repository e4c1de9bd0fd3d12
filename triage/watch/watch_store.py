"""Notes under watch in the user folder: the bytes and what they are called, by their digest.

`watch/<digest>.notes` holds the bytes, `watch/<digest>.json` says that they are under watch; the
second is written last and removed first, so that what is named is there. All files are the user's
alone (0600).

Errors: StoreError naming the file and the mend.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import NamedTuple

from pydantic import ValidationError

from triage.domain.watch import Watched
from triage.errors import StoreError, TriageError
from triage.storage.atomic_write import locked, read_bytes, read_text, replace_bytes, replace_text
from triage.storage.user_folder import user_file

FOLDER = "watch"
_SHORTEST = 6  # digits of a digest that name it


class WatchedFound(NamedTuple):
    """What is under watch, the oldest first, and a line on each record that cannot be read."""

    watched: tuple[Watched, ...]
    faults: tuple[str, ...]


def store_watched(data: bytes, new: Watched) -> Watched:
    """Put notes under watch; those that are already stay as they are, and are returned."""
    with locked(_folder() / FOLDER):
        path = _record(new.sha256)
        if path.exists():
            return _read(path)
        replace_bytes(path.with_suffix(".notes"), data)
        replace_text(path, new.model_dump_json() + "\n")
    return new


def watched() -> WatchedFound:
    """Everything under watch."""
    found, faults = [], []
    for path in sorted(_folder().glob("*.json")):
        try:
            found.append(_read(path))
        except TriageError as error:
            faults.append(str(error))
    return WatchedFound(
        tuple(sorted(found, key=lambda w: (w.added, w.name, w.sha256))), tuple(faults)
    )


def data_of(notes: Watched) -> bytes:
    """The notes' bytes as they were."""
    path = _record(notes.sha256).with_suffix(".notes")
    data = read_bytes(path)
    if hashlib.sha256(data).hexdigest() != notes.sha256:
        raise StoreError(
            f"the notes '{notes.name}' under watch were altered",
            where=str(path),
            mend=f"triage watch drop {notes.sha256[:12]}, then add them again",
        )
    return data


def drop(name: str) -> str:
    """Take notes from under watch, named as they are called or by their digest's beginning.

    Returns what they were called.
    """
    with locked(_folder() / FOLDER):
        called = {path.stem: _called(path) for path in sorted(_folder().glob("*.json"))}
        digest = _meant(name, called)
        try:
            _record(digest).unlink()
            _record(digest).with_suffix(".notes").unlink(missing_ok=True)
        except OSError as error:
            reason = (error.strerror or str(error)).lower()
            mend = "check the folder's permissions"
            raise StoreError(reason, where=str(_record(digest)), mend=mend) from error
    return called[digest] or digest[:12]


def _meant(name: str, called: dict[str, str]) -> str:
    wanted = name.strip().casefold()
    found = [digest for digest, words in called.items() if words.casefold() == wanted]
    if not found and len(wanted) >= _SHORTEST:
        found = [digest for digest in called if digest.startswith(wanted)]
    if len(found) == 1:
        return found[0]
    if found:
        choice = ", ".join(digest[:12] for digest in found)
        raise StoreError(f"{len(found)} notes are called '{name}'", mend=f"name one of {choice}")
    known = ", ".join(words or digest[:12] for digest, words in called.items())
    raise StoreError(
        f"nothing under watch is called '{name}'",
        mend=f"under watch: {known}" if known else "add notes first: triage watch add NOTES",
    )


def _called(path: Path) -> str:
    """What the notes are called, '' where that cannot be read."""
    try:
        return _read(path).name
    except TriageError:
        return ""


def _read(path: Path) -> Watched:
    try:
        found = Watched.model_validate_json(read_text(path))
    except ValidationError as error:
        problem = "is no record of notes under watch"
        raise StoreError(problem, where=str(path), mend=_mend(path)) from error
    if found.sha256 != path.stem:
        raise StoreError("is the record of other notes", where=str(path), mend=_mend(path))
    return found


def _mend(path: Path) -> str:
    return f"triage watch drop {path.stem[:12]}, then add the notes again"


def _folder() -> Path:
    return user_file(FOLDER)


def _record(digest: str) -> Path:
    return _folder() / f"{digest}.json"
