"""Out of one journal and into another: the same journal, or nothing."""

from __future__ import annotations

import base64
import csv
import datetime as dt
import io
import json
import zlib
from pathlib import Path

import pytest
import vobject  # type: ignore[import-untyped]
from icalendar import Calendar

from tests.journal import making
from tests.journal.making import DAY, outcome
from triage.domain.journal import RecordedDecision, Result
from triage.domain.kit import Job
from triage.domain.reports import FieldReport, Seen
from triage.errors import StoreError
from triage.journal.anonymise import Names, nameless_case
from triage.journal.csv_export import csv_lines
from triage.journal.exchange import export_lines, import_lines
from triage.journal.followups import add_later
from triage.journal.history import cases
from triage.journal.learning import stats
from triage.journal.record_decision import decision_words
from triage.journal.review_calendar import to_ical
from triage.journal.store import Journal, open_journal
from triage.journal.verify import verify
from triage.journal.whole_file import whole_file
from triage.render.html import to_html
from triage.render.journal_learnt import journal_report

SECRETS = (
    "anna", "Annas", "chapel", "Lindenweg", "notes.txt", "Quillmere", "3 of us", "forum of",
    "heron", "gutter",
)  # fmt: skip


@pytest.fixture
def filled(journal: Journal) -> Journal:
    payload, attachments = making.kept("=frost at Annas chapel", due=DAY, notes="- Lindenweg\x00 é")
    kit = payload.kit.model_copy(update={"jobs": (Job(day=DAY, what="chapel, Lindenweg 3"),)})
    report = FieldReport(
        day=DAY, where="forum of anna", version="3.6.0", seen=Seen.CLEAN, words="3 of us"
    )
    payload = payload.model_copy(update={"kit": kit, "reports": (report,)})
    journal.add(payload, attachments, decision_words(payload, None), pilot="anna")
    making.add(journal, "two", choice=making.WAIT)
    problem = outcome(
        1, Result.PROBLEM, function="landing", severity=3, words="met the gutter", flights=3
    )
    add_later(journal, problem, pilot="anna")
    add_later(journal, outcome(2, avoided="trouble at the chapel", units=("heron",)))
    return journal


def exported(journal: Journal, *, names: bool = True) -> bytes:
    return "".join(export_lines(journal, names=names)).encode()


def taken_in(where: str, data: bytes) -> Journal:
    journal = open_journal(where, create=True)
    import_lines(journal, io.BytesIO(data), "export.jsonl")
    return journal


def test_the_same_journal_comes_back(filled: Journal, tmp_path: Path) -> None:
    data = exported(filled)
    other = taken_in(str(tmp_path / "other.sqlite"), data)
    assert exported(other) == data and other.id == filled.id and other.tail() == filled.tail()
    assert list(other.entries()) == list(filled.entries())
    assert verify(other).fault is None and verify(other).anchored == 4
    assert [e.seq for e in other.search("chapel frost", 9)] == [1]
    assert [e.seq for e in other.search("gutter", 9)] == [3]


def test_from_a_file_to_a_server_and_back(in_file: Journal, server: str, tmp_path: Path) -> None:
    for n in range(5):
        making.add(in_file, f"reason {n}", notes=f"notes {n % 2}")
    data = exported(in_file)
    on_server = taken_in(server, data)
    assert verify(on_server).fault is None
    making.add(on_server, "written by another pilot")
    back = exported(on_server)
    assert import_lines(in_file, io.BytesIO(back), "x") == (1, 6)
    assert exported(in_file) == back and verify(in_file).fault is None
    assert import_lines(in_file, io.BytesIO(data), "x") == (0, 6)


def test_read_with_the_standard_library_alone(filled: Journal) -> None:
    lines = [json.loads(line) for line in exported(filled).splitlines()]
    assert lines[0]["entries"] == 4 == sum("record" in line for line in lines)
    packed = [line["packed"] for line in lines if "attachment" in line]
    assert "- Lindenweg\x00 é".encode() in [zlib.decompress(base64.b64decode(p)) for p in packed]


def altered(data: bytes, number: int, old: str, new: str) -> bytes:
    lines = data.decode().splitlines(keepends=True)
    assert old in lines[number]
    lines[number] = lines[number].replace(old, new, 1)
    return "".join(lines).encode()


def test_an_altered_export_is_refused_at_its_line(filled: Journal, tmp_path: Path) -> None:
    data = exported(filled)
    lines = data.splitlines(keepends=True)
    first = next(n for n, line in enumerate(lines) if b'"record"' in line)
    bad = {
        f":{first + 1}: entry 1 was altered": altered(data, first, "frost", "Frost"),
        f":{first + 1}: entry 1 is missing": b"".join(lines[:first] + lines[first + 1 :]),
        f":{first + 2}: entry 2 is missing": b"".join(lines[: first + 1] + lines[first + 2 :]),
        "holds 3 of 4 entries": b"".join(lines[:-1]),
        "holds 0 of 4": lines[0],
        ":2: an attachment has not the size": altered(data, 1, '"size":', '"size":1'),
        ":2: attachment": altered(data, 1, '"attachment":"', '"attachment":"0'),
        ":2: is no JSON": lines[0] + b"{\n",
        ":2: is no line of a journal": lines[0] + b"[]\n",
        ":1: is no exported journal": b"{}\n",
        ":1: states no journal's id": altered(data, 0, filled.id, "short"),
        f":{first + 1}: entry 1 does not follow": altered(data, 0, filled.id, "0" * 64),
        "is no exported journal of this form": b"",
        ":2: entry 1 has lost what it rests on": b"".join(lines[:1] + lines[first:]),
    }
    for n, (words, text) in enumerate(bad.items()):
        where = tmp_path / f"{n}.sqlite"
        with pytest.raises(StoreError) as caught:
            taken_in(str(where), text)
        assert words in str(caught.value) and "\n" not in str(caught.value)
        assert open_journal(str(where)).tail() == (0, "")
    making.add(open_journal(str(where), create=True))


def test_another_journal_or_another_course_is_refused(in_file: Journal, tmp_path: Path) -> None:
    making.add(in_file)
    early = exported(in_file)
    making.add(in_file, "one way")
    copy = taken_in(str(tmp_path / "copy.sqlite"), early)
    making.add(copy, "another way")
    with pytest.raises(StoreError, match="entry 2 is not the one of this journal"):
        import_lines(copy, io.BytesIO(exported(in_file)), "x")
    other = open_journal(str(tmp_path / "other.sqlite"), create=True)
    making.add(other)
    with pytest.raises(StoreError, match="is of another journal"):
        import_lines(other, io.BytesIO(early), "x")
    assert other.tail()[0] == 1


def test_csv_by_the_standard_reader(filled: Journal) -> None:
    """Source: the csv module reads RFC 4180; a cell that a spreadsheet would run is marked."""
    rows = list(csv.DictReader(io.StringIO("".join(csv_lines(cases(filled))), newline="")))
    assert [row["entry"] for row in rows] == ["1", "2"]
    assert rows[0]["reason"] == "'=frost at Annas chapel" and rows[0]["function"] == "landing"
    assert rows[0]["followed"] == "yes" and rows[1]["followed"] == "no"
    assert rows[1]["avoided"] == "trouble at the chapel" and rows[0]["flights"] == "3"


def test_the_calendar_by_two_readers(filled: Journal) -> None:
    """Source: RFC 5545, read by icalendar and by vobject, an independent implementation."""
    making.add(filled, due=DAY + dt.timedelta(days=9))
    making.add(filled, due=DAY + dt.timedelta(days=2))
    due = []
    for entry in filled.due(DAY + dt.timedelta(days=60)):
        assert isinstance(entry.record.payload, RecordedDecision)
        due.append((entry, entry.record.payload))
    data = to_ical(filled.id, due)
    events = Calendar.from_ical(data).walk("VEVENT")
    assert [event.decoded("DTSTART") for event in events] == [
        DAY + dt.timedelta(days=2), DAY + dt.timedelta(days=9),
    ]  # fmt: skip
    for event in events:
        assert {"UID", "DTSTAMP", "DTSTART", "SUMMARY"} <= set(event)
    assert len({str(event["UID"]) for event in events}) == 2
    lines = data.split(b"\r\n")
    assert lines[-1] == b"" and all(len(line) <= 75 and b"\n" not in line for line in lines)
    again = vobject.readOne(data.decode())
    assert again.validate()
    found = [event.dtstart.value for event in again.vevent_list]
    assert found == [DAY + dt.timedelta(days=2), DAY + dt.timedelta(days=9)]
    assert to_ical(filled.id, due) == data  # the same UIDs: taken in twice, it stays one event
    assert b"Quillmere" in data and b"Quillmere" not in to_ical(filled.id, due, names=False)


def test_without_names_nothing_of_them_is_left(filled: Journal, tmp_path: Path) -> None:
    names = Names()
    bare = [nameless_case(case, names) for case in cases(filled)]
    forms = {
        "jsonl": exported(filled, names=False).decode(),
        "csv": "".join(csv_lines(bare)),
        "html": to_html(journal_report(stats(bare), bare, 0)),
    }
    whole = {
        "jsonl": exported(filled).decode(),
        "csv": "".join(csv_lines(cases(filled))),
        "html": to_html(journal_report(stats(cases(filled)), list(cases(filled)), 0)),
    }
    for form, text in forms.items():
        for secret in SECRETS:
            assert secret.casefold() not in text.casefold(), (form, secret)
        assert "unit-1" in text and "3.6.0" in text
        assert "heron" in whole[form] and "chapel" in whole[form]
    assert len(forms["jsonl"].splitlines()) == 5
    with pytest.raises(StoreError, match="exported without names"):
        taken_in(str(tmp_path / "x.sqlite"), forms["jsonl"].encode())


def test_words_in_place_of_a_version_do_not_leave(filled: Journal) -> None:
    (first, *_) = cases(filled)
    named = first.advised.model_copy(
        update={"installed": "the one anna put on", "version": "v1.2.3"}
    )
    bare = nameless_case(first.model_copy(update={"advised": named}), Names())
    assert (bare.advised.installed, bare.advised.version) == ("", "v1.2.3")


def test_a_file_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "out.csv"
    path.write_text("before")
    with pytest.raises(ZeroDivisionError), whole_file(path) as file:
        file.write("half")
        raise ZeroDivisionError
    assert path.read_text() == "before" and list(tmp_path.glob(".out*")) == []
    with whole_file(path) as file:
        file.write("whole")
    assert path.read_text() == "whole" and path.stat().st_mode & 0o777 == 0o600
    with pytest.raises(StoreError, match="is not written"), whole_file(tmp_path / "no" / "x"):
        pass
