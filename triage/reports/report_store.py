"""The record of looks in the user folder, only ever added to.

Errors: StoreError naming file, line and mend.
"""

from __future__ import annotations

from pathlib import Path

from pydantic import TypeAdapter

from triage.domain.reports import Look, LooksRead
from triage.storage.record_log import Log
from triage.storage.user_folder import user_file

NAME = "looks.jsonl"


def path_of(path: Path | None) -> Path:
    """The record meant: the stated file, or the one in the user folder."""
    return path or user_file(NAME)


def read(path: Path | None = None) -> LooksRead:
    """All looks in the order they were recorded; none when there is no record yet."""
    looks, torn = _log(path).read_with_torn()
    return LooksRead(looks=looks, torn=torn)


def add(look: Look, path: Path | None = None) -> str:
    """Add a look to the end of the record, on the disk before this returns.

    Returns the torn line that was set aside for it, '' when there was none.
    """
    return _log(path).append(look)


def _log(path: Path | None) -> Log[Look]:
    return Log(path_of(path), TypeAdapter(Look), "look")
