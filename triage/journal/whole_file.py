"""A file that is written in parts, and stands in its place whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from triage.errors import StoreError
from triage.storage.atomic_write import sync_folder


@contextmanager
def whole_file(path: Path) -> Iterator[TextIO]:
    """A text file, the user's alone (0600), put in place when the block ends without an error."""
    try:
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".tmp")
        try:
            with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
                yield file
                file.flush()
                os.fsync(file.fileno())
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        sync_folder(path.parent)
    except OSError as error:
        raise StoreError(
            f"is not written: {(error.strerror or str(error)).lower()}",
            where=str(path),
            mend="check the folder, its permissions and the free space",
        ) from error
