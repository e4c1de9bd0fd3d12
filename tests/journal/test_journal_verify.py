"""Each way of altering a journal behind its back is found, and the first entry concerned named."""

from __future__ import annotations

import hashlib
import json
import sqlite3
import tracemalloc
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import create_engine

from tests.journal import making
from triage.domain.journal import Result
from triage.journal.checkpoint import Anchor
from triage.journal.followups import add_later
from triage.journal.store import Journal, open_journal
from triage.journal.verify import Verified, verify

TRIGGERS = "SELECT name FROM sqlite_master WHERE type = 'trigger'"


@pytest.fixture
def filled(in_file: Journal) -> Journal:
    for n in range(6):
        making.add(in_file, f"reason {n}", notes=f"notes {n}")
    add_later(in_file, making.outcome(2, Result.PROBLEM, severity=2))
    return in_file


def tamper(journal: Journal, *statements: str, values: tuple[object, ...] = ()) -> None:
    """As somebody with a database tool would: without the triggers."""
    connection = sqlite3.connect(journal.where)
    for (name,) in connection.execute(TRIGGERS).fetchall():
        connection.execute(f"DROP TRIGGER {name}")
    for statement in statements:
        connection.execute(statement, values)
    connection.commit()
    connection.close()


def fault(journal: Journal) -> tuple[int, str]:
    found = verify(open_journal(journal.where)).fault
    assert found is not None
    return found


def test_a_sound_journal(filled: Journal) -> None:
    last, digest = filled.tail()
    assert verify(filled) == Verified(7, digest, None, 7)
    assert last == 7


def test_the_chain_by_hand(filled: Journal) -> None:
    """SHA-256 and JSON of the standard library alone, over the rows as they are stored."""
    rows = (
        sqlite3.connect(filled.where).execute("SELECT record, digest FROM triage_entry").fetchall()
    )
    before = filled.id
    for record, digest in rows:
        assert json.loads(record)["before"] == before
        before = hashlib.sha256(record.encode("ascii")).hexdigest()
        assert before == digest
        plain = json.dumps(json.loads(record), sort_keys=True, separators=(",", ":"))
        assert plain == record
    assert len(rows) == 7


@pytest.mark.parametrize(
    ("statement", "seq", "words"),
    [
        ("UPDATE triage_entry SET record = replace(record, 'reason 2', 'Reason 2')", 3, "altered"),
        ("UPDATE triage_entry SET digest = 'x' WHERE seq = 4", 4, "altered"),
        ("UPDATE triage_entry SET day = '2020-01-01' WHERE seq = 5", 5, "columns"),
        ("UPDATE triage_entry SET due = NULL, about = 1 WHERE seq = 7", 7, "columns"),
        ("DELETE FROM triage_entry WHERE seq = 1", 1, "missing"),
        ("DELETE FROM triage_entry WHERE seq = 4", 4, "missing"),
        ("DELETE FROM triage_entry WHERE seq > 5", 6, "is missing: the journal ends at 5"),
        ("DELETE FROM triage_entry", 1, "is missing: the journal ends at 0"),
        ("UPDATE triage_journal SET id = 'x'", 1, "altered or replaced"),
        ("UPDATE triage_attachment SET packed = x'00' WHERE size = 7", 1, "notes lost or altered"),
        ("DELETE FROM triage_attachment WHERE size = 2", 1, "advice lost or altered"),
        ("UPDATE triage_attachment SET size = 99 WHERE size = 7", 1, "lost or altered"),
    ],
)
def test_what_was_altered_is_named(filled: Journal, statement: str, seq: int, words: str) -> None:
    tamper(filled, statement)
    at, what = fault(filled)
    assert at == seq and words in what


def test_an_entry_replaced_with_its_digest(filled: Journal) -> None:
    """A forger who makes the digest fit is betrayed by the entry after it."""
    (record,) = (
        sqlite3.connect(filled.where)
        .execute("SELECT record FROM triage_entry WHERE seq = 3")
        .fetchone()
    )
    forged = record.replace("reason 2", "reason X")
    digest = hashlib.sha256(forged.encode()).hexdigest()
    tamper(
        filled,
        "UPDATE triage_entry SET record = ?, digest = ? WHERE seq = 3",
        values=(forged, digest),
    )
    assert fault(filled)[0] == 3


def test_a_new_end_in_place_of_the_old(filled: Journal) -> None:
    """Two entries cut off and two others written: the end that was remembered tells."""
    noted = Anchor(journal=filled.id, seq=7, digest=filled.tail()[1][:12])
    tamper(filled, "DELETE FROM triage_entry WHERE seq > 5")
    connection = sqlite3.connect(filled.where)
    connection.execute("DROP TABLE triage_words")
    connection.execute("CREATE VIRTUAL TABLE triage_words USING fts5(words, content='')")
    connection.commit()
    connection.close()
    again = open_journal(filled.where)
    making.add(again)
    making.add(again)
    assert "not the one remembered" in again.remark
    assert fault(filled)[0] == 7
    making.add(again)
    assert fault(filled)[0] == 7  # going on does not paint over it
    again.anchor_path.unlink()
    assert verify(again).fault is None  # without what remembers the end it cannot show...
    assert verify(again, noted).fault is not None  # ...unless it was noted elsewhere


def test_another_journal_in_its_place(filled: Journal, tmp_path: Path) -> None:
    other = open_journal(str(tmp_path / "other.sqlite"), create=True)
    making.add(other)
    Path(other.where).replace(filled.where)
    assert "another journal" in fault(filled)[1]


def test_a_damaged_file_is_named_not_thrown(filled: Journal) -> None:
    path = Path(filled.where)
    data = bytearray(path.read_bytes())
    at = data.index(b"reason 3")
    data[at : at + 8] = b"REASON 3"
    path.write_bytes(data)
    assert fault(filled) == (4, "was altered: it has not the digest written beside it")


@settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(seq=st.integers(1, 7), data=st.data())
def test_any_byte_of_any_record(filled: Journal, seq: int, data: st.DataObject) -> None:
    connection = sqlite3.connect(filled.where)
    for (name,) in connection.execute(TRIGGERS).fetchall():
        connection.execute(f"DROP TRIGGER {name}")
    query = "SELECT record FROM triage_entry WHERE seq = ?"
    (record,) = connection.execute(query, (seq,)).fetchone()
    at = data.draw(st.integers(0, len(record) - 1))
    put = data.draw(st.characters(min_codepoint=1, max_codepoint=0x2FF))
    altered = record[:at] + put + record[at + 1 :]
    update = "UPDATE triage_entry SET record = ? WHERE seq = ?"
    connection.execute(update, (altered, seq))
    connection.commit()
    found = verify(filled).fault
    connection.execute(update, (record, seq))
    connection.commit()
    connection.close()
    assert (found is None) if altered == record else (found is not None and found.seq == seq)


@pytest.mark.parametrize(
    ("statement", "seq"),
    [
        ("UPDATE triage_entry SET record = replace(record, 'reason 1', 'reason X')", 2),
        ("DELETE FROM triage_entry WHERE seq = 3", 3),
        ("DELETE FROM triage_entry WHERE seq >= 4", 4),
    ],
)
def test_on_a_server_too(server: str, statement: str, seq: int) -> None:
    journal = open_journal(server, create=True)
    for n in range(5):
        making.add(journal, f"reason {n}")
    assert verify(journal).fault is None
    engine = create_engine(journal._engine.url)
    with engine.begin() as connection:  # its owner can switch the triggers off
        connection.exec_driver_sql("ALTER TABLE triage_entry DISABLE TRIGGER ALL")
        connection.exec_driver_sql(statement)
    engine.dispose()
    found = verify(journal).fault
    assert found is not None and found.seq == seq


def test_memory_does_not_grow_with_the_journal(in_file: Journal) -> None:
    def peak(work: Callable[[], object]) -> int:
        tracemalloc.start()
        work()
        top = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return top

    def fill(count: int) -> None:
        with in_file.writing() as writer:
            for n in range(count):
                payload, attachments = making.kept(f"reason {n}")
                writer.add(payload, attachments, "", "")

    fill(800)
    few = peak(lambda: verify(in_file))
    fill(1600)
    assert verify(in_file).entries == 2400
    assert peak(lambda: verify(in_file)) < 1.5 * few
