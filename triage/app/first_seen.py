"""Use case: the day on which notes were first seen, kept by their digest.

Where the notes carry no date, a wait is counted from that day, so that asking again does not move
the day to wait for.
"""

from __future__ import annotations

import datetime as dt

from pydantic import Field, ValidationError

from triage.app.environment import today
from triage.domain.base import Frozen
from triage.errors import StoreError
from triage.storage.atomic_write import locked, read_text, replace_text
from triage.storage.user_folder import user_file

NAME = "first-seen.json"


class FirstSeen(Frozen):
    """The file: days by the SHA-256 of the notes, in hex."""

    days: dict[str, dt.date] = Field(default_factory=dict)


def first_seen(sha256: str, asked: dt.date) -> dt.date:
    """The day the notes were first seen, noted now if they are new; never after `asked`.

    StoreError when the file can't be read or written.
    """
    path = user_file(NAME)
    known = _read().days
    if sha256 not in known:
        with locked(path) as target:
            days = {**_read().days, sha256: today()}
            replace_text(target, FirstSeen(days=days).model_dump_json(indent=1) + "\n")
            known = days
    return min(known[sha256], asked)


def _read() -> FirstSeen:
    path = user_file(NAME)
    if not path.exists():
        return FirstSeen()
    try:
        return FirstSeen.model_validate_json(read_text(path))
    except ValidationError as error:
        raise StoreError(
            "the days on which notes were first seen can't be read",
            where=str(path),
            mend="mend it, or delete it: days are then counted anew",
        ) from error
