"""The one form in which an entry is written, digested and read back.

Canonical: JSON with keys in order, no white space and ASCII only, so that the same record is the
same bytes on every machine. What is stored is this text itself; nothing is written anew to check
it.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from typing import Any

from pydantic import ValidationError

from triage.domain.journal import JournalEntry, Record
from triage.errors import StoreError

ATTACHMENT_LIMIT = 256 * 1024 * 1024  # bytes once expanded; notes are read up to 50 MB


def canonical(value: Any) -> str:
    """JSON of plain values, the same text for the same value."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False)


def digest(data: bytes | str) -> str:
    """SHA-256 in hex."""
    return hashlib.sha256(data.encode() if isinstance(data, str) else data).hexdigest()


def written(record: Record) -> str:
    """The text that is stored and digested."""
    return canonical(record.model_dump(mode="json"))


def read_entry(text: str, stated_digest: str, seq: int) -> JournalEntry:
    """An entry from its stored text; StoreError where it is no entry."""
    try:
        return JournalEntry(record=Record.model_validate_json(text), digest=stated_digest)
    except ValidationError as error:
        detail = error.errors(include_url=False)[0]
        field = ".".join(map(str, detail["loc"]))
        raise StoreError(
            f"entry {seq} cannot be read: {field + ': ' if field else ''}{detail['msg']}",
            mend="`triage journal verify` tells whether it was altered; a later version of the "
            "tool may read it",
        ) from error


def pack(data: bytes) -> bytes:
    """Compressed for the store."""
    return zlib.compress(data, 6)


def unpack(packed: bytes, size: int) -> bytes:
    """Expanded, no further than the stated size; StoreError where it does not fit."""
    if not 0 <= size <= ATTACHMENT_LIMIT:
        raise StoreError(f"an attachment of {size} bytes is beyond the limit")
    machine = zlib.decompressobj()
    try:
        data = machine.decompress(packed, size + 1)
    except zlib.error as error:
        raise StoreError("an attachment cannot be expanded") from error
    if len(data) != size:
        raise StoreError("an attachment has not the size stated")
    return data
