"""Files read and replaced without losing anything.

A change is written beside the file and put in its place whole, under a lock, so that neither a
crash nor a second process loses a change. What is made here is readable by the user alone.

Errors: StoreError for a file that cannot be read or written, ConfigError for one that is not text.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from triage.errors import ConfigError, StoreError
from triage.storage.user_folder import as_store_error, make_folder

LOCK_SECONDS = 10.0  # writes take milliseconds; a longer wait means a process that hangs


@contextmanager
def locked(path: Path) -> Iterator[Path]:
    """Hold the lock of a file, and yield the file that links lead to; its folder is made."""
    from filelock import FileLock, Timeout

    path = path.resolve()
    make_folder(path.parent)
    lock = FileLock(path.with_name(f".{path.name}.lock"), timeout=LOCK_SECONDS, mode=0o600)
    with as_store_error(path, "check the folder's permissions"):
        try:
            lock.acquire()
        except Timeout as error:
            raise StoreError(
                "another process is changing the file",
                where=str(path),
                mend="try again when it has ended",
            ) from error
    try:
        yield path
    finally:
        lock.release()


def read_bytes(path: Path) -> bytes:
    """The content of a file."""
    with as_store_error(path, "check the name and the permissions"):
        return path.read_bytes()


def read_text(path: Path) -> str:
    """The text of a UTF-8 file, line ends as they are; ConfigError when it is not UTF-8."""
    data = read_bytes(path)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise ConfigError(
            "is not UTF-8 text", where=str(path), line=line, mend="save it as UTF-8"
        ) from error


def replace_text(path: Path, text: str) -> None:
    """Put `text` in place of the file's content, as `replace_bytes` does."""
    replace_bytes(path, text.encode("utf-8"))


def replace_bytes(path: Path, data: bytes) -> None:
    """Put `data` in place of the file's content, whole or not at all; hold `locked(path)`.

    The permissions of a file that exists are kept; a new one is the user's alone (0600).
    """
    with as_store_error(path, "check the folder's permissions and the free space"):
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".tmp")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            if path.exists():
                Path(name).chmod(path.stat().st_mode & 0o777)
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        sync_folder(path.parent)


def sync_folder(path: Path) -> None:
    """Make a file's new name last through a power cut, where the system can do so."""
    with suppress(OSError):  # some systems do not open folders; the file itself is written
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
