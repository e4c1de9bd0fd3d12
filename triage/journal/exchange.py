"""The journal as JSON Lines, and the same journal back from it.

Lines: a head (form, the journal's id, entries, digest of the last), each attachment once, then the
entries in order. Every entry carries its record and digest; reading computes both the digests and
the chain anew, so that a file altered on the way is refused at its line.
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Iterator
from typing import Any, BinaryIO, NamedTuple

from pydantic import ValidationError
from sqlalchemy import select

from triage.domain.journal import JournalEntry, RecordedDecision, Updated
from triage.errors import StoreError
from triage.journal.anonymise import Names, nameless
from triage.journal.canonical import canonical, digest, read_entry, unpack
from triage.journal.followups import followup_words as later_words
from triage.journal.record_decision import decision_words as decision_words
from triage.journal.record_decision import judged_of
from triage.journal.record_update import update_words as update_words
from triage.journal.schema import attachment
from triage.journal.store import BATCH, Journal
from triage.journal.writer import Writer

FORM = 1
_LONGEST = 512 * 1024 * 1024  # bytes of one line


class Imported(NamedTuple):
    """Entries that were new, and how many the journal has now."""

    new: int
    entries: int


def export_lines(journal: Journal, *, names: bool = True) -> Iterator[str]:
    """The lines, each with its end; without names, what no other than the operator may read."""
    last, head = journal.tail()
    if not names:
        yield canonical({"triage_journal": FORM, "without_names": True, "entries": last}) + "\n"
        known = Names()
        for entry in journal.entries():
            if entry.seq <= last:
                yield canonical(nameless(entry, known)) + "\n"
        return
    yield (
        canonical({"triage_journal": FORM, "id": journal.id, "entries": last, "digest": head})
        + "\n"
    )
    for row in _attachments(journal):
        packed = base64.b64encode(row.packed).decode()
        yield canonical({"attachment": row.sha256, "size": row.size, "packed": packed}) + "\n"
    for seq, row in journal.rows():
        if seq > last:  # written since the head was
            return
        # as it was written: today's types might state more of it, and the digest would not fit
        yield f'{{"digest":"{row.digest}","record":{row.record}}}\n'


def _attachments(journal: Journal) -> Iterator[Any]:
    columns, after = attachment.c, ""
    while True:
        query = (
            select(columns.sha256, columns.size, columns.packed)
            .where(columns.sha256 > after)
            .order_by(columns.sha256)
            .limit(BATCH // 10)
        )
        with journal.reading() as connection:
            batch = connection.execute(query).all()
        yield from batch
        if len(batch) < BATCH // 10:
            return
        after = batch[-1].sha256


def import_lines(journal: Journal, lines: BinaryIO, where: str) -> Imported:
    """Take over an exported journal, or the entries that this one lacks; all or nothing.

    StoreError at the line where the file does not hold, when it is cut off, and when this journal
    is another one or has gone on otherwise.
    """
    numbered = _numbered(lines, where)
    head = _head(next(numbered, (1, {}))[1], where)
    with journal.writing() as writer:
        had, id = writer.tail[0], writer.journal_id
        if not id:
            writer.begin_journal(head["id"])
        elif id != head["id"]:
            raise StoreError(
                "is of another journal than the one here",
                where=where,
                mend="import it into a new file with --journal FILE",
            )
        at, before = 0, head["id"]
        for number, line in numbered:
            try:
                if "attachment" in line:
                    _attach(writer, line)
                    continue
                entry, text = _entry(line, at + 1, before)
                if entry.seq > had:
                    writer.put(entry, text, _words(writer, entry))
                elif writer.digest_of(entry.seq) != entry.digest:
                    raise StoreError(f"entry {entry.seq} is not the one of this journal")
            except StoreError as error:
                raise StoreError(error.problem, where=where, line=number, mend=_MEND) from error
            at, before = entry.seq, entry.digest
        if (at, before) != (head["entries"], head["digest"]):
            raise StoreError(
                f"is cut off: it holds {at} of {head['entries']} entries", where=where, mend=_MEND
            )
    return Imported(max(0, at - had), max(had, at))


_MEND = "export again; nothing was imported"


def _numbered(lines: BinaryIO, where: str) -> Iterator[tuple[int, dict[str, Any]]]:
    number = 0
    while line := lines.readline(_LONGEST):
        number += 1
        try:
            value = json.loads(line)
        except ValueError as error:
            raise StoreError("is no JSON", where=where, line=number, mend=_MEND) from error
        if not isinstance(value, dict):
            raise StoreError("is no line of a journal", where=where, line=number, mend=_MEND)
        yield number, value


def _head(head: dict[str, Any], where: str) -> dict[str, Any]:
    if head.get("without_names"):
        raise StoreError(
            "was exported without names: it cannot become a journal again",
            where=where,
            mend="import a whole export",
        )
    form, id, entries = head.get("triage_journal"), head.get("id"), head.get("entries")
    if form != FORM or not isinstance(entries, int) or not isinstance(head.get("digest"), str):
        raise StoreError("is no exported journal of this form", where=where, line=1, mend=_MEND)
    if not isinstance(id, str) or len(id) != 64:
        raise StoreError("states no journal's id", where=where, line=1, mend=_MEND)
    return head


def _attach(writer: Writer, line: dict[str, Any]) -> None:
    try:
        packed = base64.b64decode(line["packed"], validate=True)
        size, stated = int(line["size"]), str(line["attachment"])
    except (KeyError, TypeError, ValueError, binascii.Error) as error:
        raise StoreError("is no attachment") from error
    if digest(unpack(packed, size)) != stated:
        raise StoreError(f"attachment {stated[:12]} was altered")
    writer.attach(stated, size, packed)


def _entry(line: dict[str, Any], wanted: int, before: str) -> tuple[JournalEntry, str]:
    text, stated = canonical(line.get("record")), line.get("digest")
    if not isinstance(stated, str) or digest(text) != stated:
        raise StoreError(f"entry {wanted} was altered")
    entry = read_entry(text, stated, wanted)
    if entry.seq != wanted:
        raise StoreError(f"entry {wanted} is missing")
    if entry.record.before != before:
        raise StoreError(f"entry {wanted} does not follow the one before it")
    return entry, text


def _words(writer: Writer, entry: JournalEntry) -> str:
    payload = entry.record.payload
    if isinstance(payload, Updated):
        return update_words(payload)
    if not isinstance(payload, RecordedDecision):
        return later_words(payload)
    for name in (payload.notes, payload.advice, payload.judged):
        if not writer.holds(name.sha256):
            raise StoreError(f"entry {entry.seq} has lost what it rests on")
    try:
        judged = judged_of(writer.attached(payload.judged.sha256))
    except ValidationError:  # of an older form; the decision is found by its own words
        judged = None
    return decision_words(payload, judged)
