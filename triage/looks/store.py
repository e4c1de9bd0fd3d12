"""The record of looks: JSON Lines in the user folder, only ever added to.

Errors: StoreError naming file, line and mend. A last line that a crash cut short is no error: it
is reported on reading, and set aside in a file of its own before the next look is added.
"""

from __future__ import annotations

import os
from pathlib import Path

from pydantic import ValidationError

from triage.domain.looks import Look, LooksRead
from triage.errors import StoreError
from triage.userfiles import locked, sync_folder, user_file

NAME = "looks.jsonl"
ASIDE = ".torn"


def path_of(path: Path | None) -> Path:
    """The record meant: the stated file, or the one in the user folder."""
    return path or user_file(NAME)


def read(path: Path | None = None) -> LooksRead:
    """All looks in the order they were recorded; none when there is no record yet."""
    path = path_of(path)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return LooksRead(looks=())
    except OSError as error:
        raise StoreError(
            (error.strerror or str(error)).lower(), where=str(path), mend="check the permissions"
        ) from error
    whole, torn = _split(data)
    looks = []
    for number, line in enumerate(whole.split(b"\n"), start=1):
        if line.strip():
            try:
                looks.append(Look.model_validate_json(line))
            except ValidationError as error:
                detail = error.errors(include_url=False)[0]
                field = ".".join(map(str, detail["loc"]))
                raise StoreError(
                    f"is no look: {field + ': ' if field else ''}{detail['msg']}",
                    where=str(path),
                    line=number,
                    mend="mend the line or take it out",
                ) from error
    return LooksRead(looks=tuple(looks), torn=torn.decode("utf-8", "replace"))


def add(look: Look, path: Path | None = None) -> str:
    """Add a look to the end of the record, on the disk before this returns.

    Returns the torn line that was set aside for it, '' when there was none.
    """
    with locked(path_of(path)) as target:
        try:
            return _append(target, look.model_dump_json(exclude_defaults=True).encode() + b"\n")
        except OSError as error:
            raise StoreError(
                f"the look is not recorded: {(error.strerror or str(error)).lower()}",
                where=str(target),
                mend="check the permissions and the free space, then add it again",
            ) from error


def _append(path: Path, line: bytes) -> str:
    new = not path.exists()
    handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    with os.fdopen(handle, "r+b") as file:
        whole, torn = _split(file.read())
        if torn:
            _set_aside(path, torn)
            file.truncate(len(whole))
        if whole and not whole.endswith(b"\n"):
            line = b"\n" + line
        file.seek(len(whole))
        file.write(line)
        file.flush()
        os.fsync(file.fileno())
    if new:
        sync_folder(path.parent)
    return torn.decode("utf-8", "replace")


def _set_aside(path: Path, torn: bytes) -> None:
    handle = os.open(
        path.with_name(path.name + ASIDE), os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600
    )
    with os.fdopen(handle, "ab") as file:
        file.write(torn + b"\n")
        file.flush()
        os.fsync(file.fileno())


def _split(data: bytes) -> tuple[bytes, bytes]:
    """The whole lines, and a last line cut short; one that only lacks its end is whole."""
    start = data.rfind(b"\n") + 1
    last = data[start:]
    if not last.strip():
        return data, b""
    try:
        Look.model_validate_json(last)
    except ValidationError:
        return data[:start], last
    return data, b""
