"""The journal itself: entries are added at its end and read, nothing else.

Errors: StoreError naming the journal, what is wrong and the mend. `add` returns once the entry is
on the disk; whatever happens afterwards, it is there.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import ColumnElement, Connection, Engine, exists, select, text

from triage.domain.journal import JournalEntry, Payload
from triage.errors import StoreError
from triage.journal import database
from triage.journal.canonical import read_entry
from triage.journal.checkpoint import Anchor, read_anchor, write_anchor
from triage.journal.fulltext import for_postgresql, for_sqlite
from triage.journal.schema import entry, journal
from triage.journal.writer import (
    COLUMNS,
    Writer,
    attachment_of,
    digest_of,
    entries_of,
    tail_of,
)
from triage.storage.user_folder import user_file

BATCH = 500  # entries held at a time, whatever the journal's size

_E = entry.c


class Journal:
    """One journal; `open_journal` makes it.

    `shared` is true on a server; `remark` tells of a fault that lost no entry.
    """

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self._writer = engine.execution_options(writes=True)
        self.where = database.shown_url(engine.url)
        self.shared = database.file_of(engine.url) is None
        self.remark = ""
        self._id = ""

    # --- writing

    def add(
        self,
        payload: Payload,
        attachments: Mapping[str, bytes] | None = None,
        words: str = "",
        pilot: str = "",
    ) -> JournalEntry:
        """Write one entry; `attachments` by their digest, `words` to be found by."""
        with self.writing() as writer:
            return writer.add(payload, attachments or {}, words, pilot)

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """Write several entries, all or none; the writer is the only one meanwhile."""
        with database.faults(self._engine.url), self._writer.begin() as connection:
            writer = Writer(connection)
            first = writer.tail
            yield writer
        if writer.tail != first:
            self.remember(writer.tail)

    def remember(self, tail: tuple[int, str]) -> None:
        """Move the anchor; where what it remembers is not in the chain, leave that to be seen."""
        try:
            kept = self.anchor()
            if (
                kept is not None
                and kept.journal == self.id
                and self.digest_of(kept.seq) != kept.digest
            ):
                self.remark = (
                    f"entry {kept.seq} is not the one remembered; run: triage journal verify"
                )
                return
            write_anchor(self.anchor_path, Anchor(journal=self.id, seq=tail[0], digest=tail[1]))
        except StoreError as error:
            self.remark = f"the entry is kept, but not the note of where the journal ends: {error}"

    # --- reading

    @property
    def id(self) -> str:
        """What the chain begins with: 64 hex digits drawn when the journal was made."""
        if not self._id:
            with self.reading() as connection:
                self._id = connection.scalar(select(journal.c.id)) or ""
        return self._id

    @property
    def anchor_path(self) -> Path:
        """Where this user keeps the anchor of this journal."""
        file = database.file_of(self._engine.url)
        return anchor_path(file) if file else user_file(f"journal-{self.id[:16]}.anchor")

    def anchor(self) -> Anchor | None:
        """The end as this user last saw it."""
        return read_anchor(self.anchor_path)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection to read with."""
        with database.faults(self._engine.url), self._engine.begin() as connection:
            yield connection

    def tail(self) -> tuple[int, str]:
        """Number and digest of the last entry; 0 and the journal's id when there is none."""
        with self.reading() as connection:
            return tail_of(connection)

    def digest_of(self, seq: int) -> str:
        """The digest written beside an entry, '' when there is no such entry."""
        with self.reading() as connection:
            return digest_of(connection, seq)

    def entry(self, seq: int) -> JournalEntry:
        """One entry by its number."""
        found = self._read(_E.seq == seq, limit=1)
        if not found:
            last = self.tail()[0]
            raise StoreError(
                f"no entry {seq}",
                where=self.where,
                mend=f"entries run from 1 to {last}" if last else "the journal is empty",
            )
        return found[0]

    def about(self, seq: int) -> tuple[JournalEntry, ...]:
        """A decision and every later entry about it, oldest first."""
        return tuple(self._read(_E.about == seq, limit=None))

    def newest(
        self, *, limit: int, before: int | None = None, kind: str | None = None
    ) -> tuple[JournalEntry, ...]:
        """The newest entries, newest first."""
        wanted = [_E.seq < before] if before is not None else []
        if kind is not None:
            wanted.append(_E.kind == kind)
        return tuple(self._read(*wanted, limit=limit, newest=True))

    def entries(self, after: int = 0, kind: str | None = None) -> Iterator[JournalEntry]:
        """All entries in order, a batch at a time; no lock is held in between."""
        for seq, row in self.rows(after, kind):
            yield read_entry(row.record, row.digest, seq)

    def rows(self, after: int = 0, kind: str | None = None) -> Iterator[tuple[int, Any]]:
        """As `entries`, as they are stored."""
        of_kind = () if kind is None else (_E.kind == kind,)
        while True:
            wanted = (_E.seq > after, *of_kind)
            query = select(*COLUMNS).where(*wanted).order_by(_E.seq).limit(BATCH)
            with self.reading() as connection:
                batch = connection.execute(query).all()
            yield from ((row.seq, row) for row in batch)
            if len(batch) < BATCH:
                return
            after = batch[-1].seq

    def due(self, until: dt.date, limit: int | None = None) -> tuple[JournalEntry, ...]:
        """Entries that ask for a review up to a day and have no later word, first due first."""
        later = entry.alias()
        answered = exists().where(later.c.about == _E.about, later.c.seq > _E.seq)
        query = (
            select(*COLUMNS)
            .where(_E.due.is_not(None), _E.due <= until, ~answered)
            .order_by(_E.due, _E.seq)
            .limit(limit)
        )
        with self.reading() as connection:
            rows = connection.execute(query).all()
        return tuple(read_entry(row.record, row.digest, row.seq) for row in rows)

    def search(self, query: str, limit: int) -> tuple[JournalEntry, ...]:
        """Entries that hold all words of the query, newest first."""
        if self._engine.dialect.name == "sqlite":
            match = "SELECT rowid FROM triage_words WHERE triage_words MATCH :query ORDER BY rowid"
            values: dict[str, Any] = {"query": for_sqlite(query)}
        else:
            match = (
                "SELECT seq FROM triage_words WHERE words @@ to_tsquery('simple', :query) "
                "ORDER BY seq"
            )
            values = {"query": for_postgresql(query)}
        with self.reading() as connection:
            found = connection.scalars(
                text(f"{match} DESC LIMIT :limit"), {**values, "limit": limit}
            ).all()
            rows = connection.execute(
                select(*COLUMNS).where(_E.seq.in_(found)).order_by(_E.seq.desc())
            ).all()
        return tuple(read_entry(row.record, row.digest, row.seq) for row in rows)

    def attachment(self, sha256: str) -> bytes:
        """The bytes of that digest, checked."""
        with self.reading() as connection:
            return attachment_of(connection, sha256)

    def _read(
        self, *wanted: ColumnElement[bool], limit: int | None, newest: bool = False
    ) -> list[JournalEntry]:
        with self.reading() as connection:
            return entries_of(connection, *wanted, limit=limit, newest=newest)


def anchor_path(file: Path) -> Path:
    """The anchor of a journal in a file."""
    return file.with_name(f"{file.name}.anchor")


def open_journal(
    stated: str | None = None, *, create: bool = False, wait: float = database.WAIT_SECONDS
) -> Journal:
    """The journal by file name or URL (see `database.url_of`).

    StoreError when there is none and `create` is not set, and when a journal that was there is
    gone: a new one in its place would hide the loss.
    """
    url = database.url_of(stated)
    file = database.file_of(url)
    if file is not None and not file.exists() and anchor_path(file).exists():
        kept = read_anchor(anchor_path(file))
        raise StoreError(
            f"the journal is gone; it had {kept.seq if kept else 0} entries",
            where=str(file),
            mend=f"put back a copy; to begin anew, remove {anchor_path(file)}",
        )
    engine = database.connect(url, wait)
    if not database.bring_up_to_date(engine, create=create):
        raise StoreError(
            "no journal yet", where=database.shown_url(url), mend="`triage journal keep` begins one"
        )
    if file is not None:
        database.tighten(file)
    return Journal(engine)
