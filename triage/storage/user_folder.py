"""The operator's own folder: TRIAGE_HOME when set, else the platform's place for user data.

Errors: StoreError for a folder that cannot be made.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from triage.errors import StoreError


def home() -> Path:
    """The user folder; it need not exist yet."""
    if stated := os.environ.get("TRIAGE_HOME"):
        return Path(stated).expanduser()
    from platformdirs import user_data_path

    return user_data_path("triage", appauthor=False)


def user_file(name: str) -> Path:
    """The path of `name` in the user folder."""
    return home() / name


def stamp_of(path: Path) -> object:
    """What tells whether a file has been written since, None while there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return (found.st_mtime_ns, found.st_size)


def make_folder(path: Path) -> None:
    """Make the folder and those above it; what is made is the user's alone (0700)."""
    with as_store_error(path, "name another folder in TRIAGE_HOME"):
        for folder in reversed([path, *path.parents]):
            if not folder.exists():
                with suppress(FileExistsError):  # another process was quicker
                    folder.mkdir(mode=0o700)
        if not path.is_dir():
            raise NotADirectoryError(20, "is a file, not a folder")


@contextmanager
def as_store_error(path: Path, mend: str) -> Iterator[None]:
    """Turn an OSError inside into a StoreError that names the path and the mend."""
    try:
        yield
    except OSError as error:
        raise StoreError(
            (error.strerror or str(error)).lower(), where=str(path), mend=mend
        ) from error
