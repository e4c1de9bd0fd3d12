"""A log of records in the user folder: JSON Lines, only ever added to.

An addition is decided under the file's lock on what the log then holds, and is on the disk before
it is acknowledged; so neither a crash nor a second terminal loses one. A last line that a crash cut
short was never acknowledged: it is set aside in a file of its own before the next addition.

Errors: StoreError naming file, line and mend.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Generic, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError

from triage.errors import StoreError
from triage.storage.atomic_write import locked, sync_folder

Record = TypeVar("Record", bound=BaseModel)
ASIDE = ".torn"


class Log(Generic[Record]):
    """The log at `path`; `called` names one record in errors ('snapshot')."""

    def __init__(self, path: Path, record: TypeAdapter[Record], called: str) -> None:
        self.path, self._record, self._called = path, record, called

    def read(self) -> tuple[Record, ...]:
        """All records, the oldest first; none when there is no log yet."""
        return self.read_with_torn()[0]

    def read_with_torn(self) -> tuple[tuple[Record, ...], str]:
        """All records, and a last line that was not written to its end, '' when there is none."""
        whole, torn = self._split(self._bytes(self.path))
        return self._parse(whole), torn.decode("utf-8", "replace")

    def add(self, decide: Callable[[tuple[Record, ...]], Sequence[Record]]) -> tuple[Record, ...]:
        """Add what `decide` makes of the records so far; returns all with the new ones.

        What `decide` raises goes through, and nothing is written.
        """
        return self._add(decide)[0]

    def append(self, record: Record) -> str:
        """Add one record; returns the torn line that was set aside for it, '' when none was."""
        return self._add(lambda before: (record,))[1]

    def _add(
        self, decide: Callable[[tuple[Record, ...]], Sequence[Record]]
    ) -> tuple[tuple[Record, ...], str]:
        with locked(self.path) as target:
            whole, torn = self._split(self._bytes(target, f"the {self._called} is not recorded: "))
            before = self._parse(whole)
            added = tuple(decide(before))
            if added:
                lines = b"".join(r.model_dump_json().encode() + b"\n" for r in added)
                try:
                    _append(target, whole, torn, lines)
                except OSError as error:
                    raise self._error(
                        f"the {self._called} is not recorded: {_reason(error)}",
                        "check the permissions and the free space, then try again",
                    ) from error
        return before + added, torn.decode("utf-8", "replace")

    def _bytes(self, path: Path, meaning: str = "") -> bytes:
        try:
            return path.read_bytes()
        except FileNotFoundError:
            return b""
        except OSError as error:
            raise self._error(f"{meaning}{_reason(error)}", "check the permissions") from error

    def _split(self, data: bytes) -> tuple[bytes, bytes]:
        """The whole lines, and a last one cut short; one that only lacks its end is whole."""
        start = data.rfind(b"\n") + 1
        if last := data[start:].strip():
            try:
                self._record.validate_json(last)
            except ValidationError:
                return data[:start], data[start:]
        return data, b""

    def _parse(self, data: bytes) -> tuple[Record, ...]:
        records = []
        for number, line in enumerate(data.split(b"\n"), start=1):
            if line.strip():
                try:
                    records.append(self._record.validate_json(line))
                except ValidationError as error:
                    detail = error.errors(include_url=False)[0]
                    field = ".".join(str(part) for part in detail["loc"])
                    raise StoreError(
                        f"is no {self._called}: {field + ': ' if field else ''}{detail['msg']}",
                        where=str(self.path),
                        line=number,
                        mend="mend the line or take it out",
                    ) from error
        return tuple(records)

    def _error(self, problem: str, mend: str) -> StoreError:
        return StoreError(problem, where=str(self.path), mend=mend)


def _append(path: Path, whole: bytes, torn: bytes, lines: bytes) -> None:
    if torn:
        aside = path.with_name(path.name + ASIDE)
        with os.fdopen(os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), "ab") as file:
            file.write(torn + b"\n")
            file.flush()
            os.fsync(file.fileno())
    new = not path.exists()
    with os.fdopen(os.open(path, os.O_RDWR | os.O_CREAT, 0o600), "r+b") as file:
        file.truncate(len(whole))
        file.seek(len(whole))
        file.write(lines if whole.endswith(b"\n") or not whole else b"\n" + lines)
        file.flush()
        os.fsync(file.fileno())
    if new:
        sync_folder(path.parent)


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()
