"""Printing, and reading what the user names, pipes in or pastes."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from triage.errors import SourceError
from triage.render.screen import screened

PASTE_END = "."
LIMIT = 50 * 1024 * 1024  # bytes; the reader's own limit, so that no more is ever held


def say(text: str) -> None:
    """Print, with nothing in it that could steer the terminal; the text ends its own lines."""
    encoding = sys.stdout.encoding or "utf-8"
    sys.stdout.write(screened(text).encode(encoding, "replace").decode(encoding))
    sys.stdout.flush()


def warn(text: str) -> None:
    """Print one line to standard error."""
    sys.stderr.write(screened(f"triage: {text}") + "\n")


def read_source(name: str | None) -> tuple[bytes, str]:
    """The notes' bytes and the name to call them by: a file, '-', a pipe, or a paste."""
    if name is None and sys.stdin is not None and sys.stdin.isatty():
        return _pasted(), "paste"
    if name in (None, "-"):
        if sys.stdin is None:
            raise SourceError("no standard input", mend="name a file")
        return sys.stdin.buffer.read(LIMIT + 1), "standard input"
    path = Path(str(name))
    try:
        with path.open("rb") as file:
            return file.read(LIMIT + 1), path.name
    except IsADirectoryError as error:
        raise SourceError("is a folder", where=str(path), mend="name a file in it") from error
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise SourceError(reason, where=str(path), mend="check the name") from error


def _pasted() -> bytes:
    warn(f"paste the notes, then a line with only '{PASTE_END}' (or the end-of-file key)")
    lines: list[bytes] = []
    size = 0
    for line in sys.stdin.buffer:
        if line.strip() == PASTE_END.encode():
            break
        size += len(line)
        lines.append(line)
        if size > LIMIT:
            break
    return b"".join(lines)


def leave_quietly() -> None:
    """The reader of our output has gone: keep the interpreter from complaining at exit."""
    sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
