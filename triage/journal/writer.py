"""Adds entries to the end of the chain inside one transaction."""

from __future__ import annotations

import datetime as dt
import secrets
from collections.abc import Mapping
from typing import Any

from sqlalchemy import ColumnElement, Connection, insert, select, text

from triage.domain.journal import JournalEntry, Payload, Record, RecordedDecision
from triage.errors import StoreError
from triage.journal.canonical import digest, pack, read_entry, unpack, written
from triage.journal.fulltext import indexed
from triage.journal.schema import attachment, entry, journal

_E = entry.c
COLUMNS = (_E.seq, _E.kind, _E.about, _E.day, _E.due, _E.record, _E.digest)


class Writer:
    """The only writer while its transaction lasts; `tail` is the end of the chain."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self.tail = tail_of(connection)

    def begin_journal(self, id: str) -> None:
        """Give a new journal its id; the first entry is chained to it."""
        self._connection.execute(insert(journal).values(id=id))
        self.tail = (0, id)

    def add(
        self, payload: Payload, attachments: Mapping[str, bytes], words: str, pilot: str
    ) -> JournalEntry:
        """Chain an entry to the last one."""
        if not self.tail[1]:
            self.begin_journal(secrets.token_hex(32))
        record = Record(
            seq=self.tail[0] + 1,
            at=dt.datetime.now(dt.UTC),
            pilot=pilot,
            before=self.tail[1],
            payload=payload,
        )
        for sha256, data in attachments.items():
            self.attach(sha256, len(data), pack(data))
        line = written(record)
        found = JournalEntry(record=record, digest=digest(line))
        self.put(found, line, words)
        return found

    def put(self, new: JournalEntry, line: str, words: str) -> None:
        """Insert an entry that is made already."""
        self._connection.execute(
            insert(entry).values(**columns(new), record=line, digest=new.digest)
        )
        if self._connection.dialect.name == "sqlite":
            statement = "INSERT INTO triage_words (rowid, words) VALUES (:seq, :words)"
        else:
            statement = "INSERT INTO triage_words VALUES (:seq, to_tsvector('simple', :words))"
        self._connection.execute(text(statement), {"seq": new.seq, "words": indexed(words)})
        self.tail = (new.seq, new.digest)

    @property
    def journal_id(self) -> str:
        """The journal's id, '' while it has none."""
        return self._connection.scalar(select(journal.c.id)) or ""

    def entries(
        self, *wanted: ColumnElement[bool], limit: int | None = None, newest: bool = False
    ) -> list[JournalEntry]:
        """As `entries_of`."""
        return entries_of(self._connection, *wanted, limit=limit, newest=newest)

    def digest_of(self, seq: int) -> str:
        """As `Journal.digest_of`."""
        return digest_of(self._connection, seq)

    def attached(self, sha256: str) -> bytes:
        """As `Journal.attachment`."""
        return attachment_of(self._connection, sha256)

    def holds(self, sha256: str) -> bool:
        """Whether bytes of that digest are stored."""
        held = select(attachment.c.sha256).where(attachment.c.sha256 == sha256)
        return self._connection.scalar(held) is not None

    def attach(self, sha256: str, size: int, packed: bytes) -> None:
        """Store bytes once, however many entries name them."""
        if not self.holds(sha256):
            self._connection.execute(
                insert(attachment).values(sha256=sha256, size=size, packed=packed)
            )


def columns(new: JournalEntry) -> dict[str, Any]:
    """The parts of a record that its row repeats."""
    payload = new.record.payload
    about = new.seq if isinstance(payload, RecordedDecision) else payload.about
    return {
        "seq": new.seq,
        "kind": payload.kind,
        "about": about,
        "day": payload.day,
        "due": payload.due,
    }


def entries_of(
    connection: Connection,
    *wanted: ColumnElement[bool],
    limit: int | None = None,
    newest: bool = False,
) -> list[JournalEntry]:
    """Entries that meet all conditions, in order or the newest first."""
    order = _E.seq.desc() if newest else _E.seq
    rows = connection.execute(select(*COLUMNS).where(*wanted).order_by(order).limit(limit)).all()
    return [read_entry(row.record, row.digest, row.seq) for row in rows]


def tail_of(connection: Connection) -> tuple[int, str]:
    """Number and digest of the last entry; 0 and the journal's id when there is none."""
    row = connection.execute(select(_E.seq, _E.digest).order_by(_E.seq.desc()).limit(1)).first()
    if row is not None:
        return row.seq, row.digest
    return 0, connection.scalar(select(journal.c.id)) or ""


def digest_of(connection: Connection, seq: int) -> str:
    """The digest written beside an entry, '' when there is no such entry."""
    return connection.scalar(select(_E.digest).where(_E.seq == seq)) or ""


def attachment_of(connection: Connection, sha256: str) -> bytes:
    """The bytes of that digest; StoreError when they are missing or altered."""
    columns = attachment.c
    query = select(columns.size, columns.packed).where(columns.sha256 == sha256)
    row = connection.execute(query).first()
    if row is None:
        raise StoreError(f"attachment {sha256[:12]} is missing")
    data = unpack(row.packed, row.size)
    if digest(data) != sha256:
        raise StoreError(f"attachment {sha256[:12]} was altered")
    return data
