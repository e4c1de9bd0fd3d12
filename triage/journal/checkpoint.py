"""The anchor: the last entry this user has written or verified, kept in a small file.

A chain shows by itself what was altered inside it, never that its end was cut off: for that the
anchor remembers how far it went. It lies where its owner could change it too, so it shows loss,
faults and careless edits, not a forger who rewrites the journal and the anchor together; against
that only a number and digest noted elsewhere help.
"""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from triage.domain.base import Frozen
from triage.errors import StoreError
from triage.storage.atomic_write import locked, read_text, replace_text


class Anchor(Frozen):
    """Entry `seq` of the journal of that id had this digest."""

    journal: str
    seq: int
    digest: str


def read_anchor(path: Path) -> Anchor | None:
    """The anchor, None when none is kept; StoreError when it cannot be read."""
    if not path.exists():
        return None
    try:
        return Anchor.model_validate_json(read_text(path))
    except ValidationError as error:
        raise StoreError(
            "is no anchor of a journal",
            where=str(path),
            mend="verify the journal against a copy, then remove the file",
        ) from error


def write_anchor(path: Path, anchor: Anchor) -> None:
    """Move the anchor forward, never back; hold no lock of the journal meanwhile."""
    with locked(path) as target:
        kept = read_anchor(target)
        if kept is None or kept.journal != anchor.journal or kept.seq < anchor.seq:
            replace_text(target, anchor.model_dump_json() + "\n")
