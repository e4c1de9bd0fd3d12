"""Update runs in the journal: written once, tied to their decision, shown wherever entries are."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import threading
from pathlib import Path

import pytest
from sqlalchemy.exc import DBAPIError

from tests.journal import making
from tests.journal.making import DAY, outcome
from triage.domain.advice import Digests, Verdict
from triage.domain.journal import JournalEntry, Updated
from triage.domain.update_run import RunNote, Summary, VersionChange
from triage.errors import StoreError
from triage.journal.anonymise import Names, nameless_update
from triage.journal.canonical import digest
from triage.journal.csv_export import csv_lines
from triage.journal.exchange import export_lines, import_lines
from triage.journal.followups import add_later
from triage.journal.history import cases
from triage.journal.learning import Runs, stats
from triage.journal.record_update import keep_update, updates
from triage.journal.replay import replay
from triage.journal.store import Journal, open_journal
from triage.journal.verify import verify
from triage.render.html import to_html
from triage.render.journal import decision_shown, listing, reviews_shown
from triage.render.journal_learnt import journal_report, learnt
from triage.render.text import to_text

SHA = "0" * 64
STARTED = dt.datetime(2999, 1, 5, 9, tzinfo=dt.UTC)  # after any decision this test keeps
NOTES = "- Return to home climbs first."


def over(**named: object) -> Summary:
    base = Summary(
        run="1",
        unit="heron",
        title="Quillmere Heron 2 3.6.0",
        version="3.6.0",
        started=STARTED,
        finished=STARTED + dt.timedelta(hours=2),
        verdict=Verdict.UPDATE,
        against=False,
        policy="annas own",
        versions=(
            VersionChange(unit="heron", before="3.4.2", after="3.6.0"),
            VersionChange(unit="Lindenweg cell", before="", after="1.14"),
        ),
        done=9,
        skipped=(RunNote(title="Record Lindenweg", reason="no lantern at the chapel"),),
        failed=(RunNote(title="Restart", reason="stayed dark"),),
        digests=Digests(
            notes=digest(NOTES.encode()), kit=SHA, scope=SHA, policy=SHA, evidence=SHA, model=SHA,
            vocabulary=SHA,
        ),
    )  # fmt: skip
    return base.model_copy(update=named)


def told(entry: JournalEntry) -> Updated:
    assert isinstance(entry.record.payload, Updated)
    return entry.record.payload


def test_a_run_is_written_once_however_often_it_is_handed_over(journal: Journal) -> None:
    first = keep_update(journal, over())
    assert keep_update(journal, over()) == first
    local = dt.timezone(dt.timedelta(hours=-9))
    assert keep_update(journal, over(started=STARTED.astimezone(local))) == first  # one instant
    assert journal.tail()[0] == 1
    later = STARTED + dt.timedelta(seconds=1)  # run 1 of another user folder
    assert keep_update(journal, over(started=later)).seq == 2
    assert keep_update(journal, over(run="2")).seq == 3


def test_two_terminals_write_it_once(journal: Journal) -> None:
    found: list[int] = []
    threads = [
        threading.Thread(target=lambda: found.append(keep_update(journal, over()).seq))
        for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [1] * 4 and journal.tail()[0] == 1


def test_it_follows_the_decision_on_the_same_notes_or_version(journal: Journal) -> None:
    making.add(journal, "old version", brief=making.advised(version="3.5.1"), notes="other")
    making.add(journal, "same version", notes="- New words, same release.", due=DAY)
    making.add(journal, "unit of its own", brief=making.advised(units=("visor",)))
    assert told(keep_update(journal, over())).about == 2
    same_notes = making.advised(version="3.5.1")
    making.add(journal, "same notes", brief=same_notes, notes=NOTES, choice=making.WAIT)
    assert told(keep_update(journal, over(run="2"))).about == 5
    before = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)  # a decision kept since is not what it followed
    alone = keep_update(journal, over(run="3", started=before, finished=before))
    assert told(alone).about == alone.seq
    others = keep_update(journal, over(run="4"), pilot="b")  # decided by somebody else
    assert told(others).about == others.seq
    nameless = keep_update(journal, over(run="5", version="", unit="tiller"))
    assert told(nameless).about == nameless.seq
    assert verify(journal).fault is None


def test_a_review_that_was_due_stays_due(journal: Journal) -> None:
    making.add(journal, due=DAY)
    keep_update(journal, over())
    (entry,) = journal.due(DAY)
    assert entry.seq == 2 and told(entry).due == DAY
    text = to_text(reviews_shown([(entry, journal.entry(1).record.payload)], DAY))  # type: ignore[list-item]
    assert "1         update, Quillmere Heron 2 3.6.0" in text
    add_later(journal, outcome(1))
    assert journal.due(DAY) == ()
    assert [case.due for case in cases(journal)] == [None]


def test_it_is_listed_shown_and_found(journal: Journal) -> None:
    making.add(journal)
    keep_update(journal, over(), pilot="")
    alone = keep_update(
        journal, over(run="2", unit="tiller", abandoned="rain", left=("Hover",), against=True)
    )
    rows = to_text(listing(journal.newest(limit=9, kind="update"), "Journal"))
    assert "update to Quillmere Heron 2 3.6.0 abandoned (rain)" in rows
    assert "about 1: update to Quillmere Heron 2 3.6.0 finished" in rows
    decision, *later = journal.about(1)
    text = " ".join(to_text(decision_shown(decision, later)).split())
    assert "entry 2, update: about 1: update to Quillmere Heron 2 3.6.0 finished" in text
    assert "heron: 3.4.2 -> 3.6.0" in text and "no lantern at the chapel" in text
    text = " ".join(to_text(decision_shown(journal.entry(3), ())).split())
    assert "follows no decision" in text and "against the advice" in text and "Hover" in text
    assert alone.digest in text
    assert [e.seq for e in journal.search("lantern", 9)] == [3, 2]
    assert [e.seq for e in journal.search("rain", 9)] == [3]


def test_what_is_about_a_decision_is_not_about_a_run(journal: Journal) -> None:
    making.add(journal)
    keep_update(journal, over())
    keep_update(journal, over(run="2", unit="tiller"))
    with pytest.raises(StoreError, match="entry 2 is no decision; name entry 1"):
        add_later(journal, outcome(2))
    with pytest.raises(StoreError, match="entry 3 is an update run without a decision; keep a"):
        add_later(journal, outcome(3))
    with pytest.raises(StoreError, match="entry 2 is no decision; name entry 1"):
        replay(journal, 2, None, None)  # type: ignore[arg-type]


def filled(journal: Journal) -> Journal:
    making.add(journal, notes=NOTES)
    keep_update(journal, over())
    making.add(journal, "later")
    keep_update(journal, over(run="2", unit="tiller", abandoned="rain"), pilot="anna")
    return journal


def test_the_same_runs_come_back(journal: Journal, tmp_path: Path) -> None:
    filled(journal)
    data = "".join(export_lines(journal))
    other = open_journal(str(tmp_path / "other.sqlite"), create=True)
    import_lines(other, io.BytesIO(data.encode()), "x")
    assert "".join(export_lines(other)) == data and verify(other).fault is None
    assert [e.seq for e in other.search("lantern", 9)] == [4, 2]
    assert keep_update(other, over()).seq == 2  # known there too


def test_an_altered_run_is_named(in_file: Journal) -> None:
    filled(in_file)
    with in_file.reading() as connection, pytest.raises(DBAPIError, match="append-only"):
        connection.exec_driver_sql("UPDATE triage_entry SET record = '' WHERE seq = 2")
    with in_file.reading() as connection:
        connection.exec_driver_sql("DROP TRIGGER triage_entry_no_update")
        connection.exec_driver_sql(
            "UPDATE triage_entry SET record = replace(record, '3.4.2', '3.4.3') WHERE seq = 2"
        )
    fault = verify(in_file).fault
    assert fault is not None and fault.seq == 2


def test_csv_and_report_hold_the_runs(journal: Journal) -> None:
    filled(journal)
    text = "".join(csv_lines(cases(journal), updates(journal)))
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert [(r["entry"], r["kind"], r["about"]) for r in rows] == [
        ("1", "decision", "1"), ("2", "update", "1"), ("3", "decision", "3"), ("4", "update", "4"),
    ]  # fmt: skip
    assert (rows[1]["installed"], rows[1]["release"], rows[1]["result"]) == (
        "3.4.2", "3.6.0", "finished",
    )  # fmt: skip
    assert rows[3]["result"] == "abandoned" and rows[3]["reason"] == "rain"
    assert rows[3]["pilot"] == "anna" and "lantern" in rows[1]["words"]
    found = stats(cases(journal), updates(journal))
    page = to_html(journal_report(found, [], 0, list(updates(journal))[-1:]))
    assert "abandoned: rain" in page and "And 1 earlier runs." in page


def test_runs_are_counted_by_themselves(journal: Journal) -> None:
    filled(journal)
    found = stats(cases(journal), updates(journal))
    assert found.runs == Runs(finished=1, abandoned=1, against=0, stumbled=2, alone=1)
    assert found.model_copy(update={"runs": Runs()}) == stats(cases(journal))
    text = " ".join(to_text(learnt(found)).split())
    assert "1 finished, 1 abandoned; 2 with a step that failed on the way; 1 without" in text
    nothing_else = stats((), updates(journal))
    text = to_text(learnt(nothing_else))
    assert "no decision yet" in text and "Update runs" in text


def test_without_names_nothing_of_them_is_left(journal: Journal) -> None:
    filled(journal)
    bare = [nameless_update(entry, Names()) for entry in updates(journal)]
    forms = {
        "jsonl": "".join(export_lines(journal, names=False)),
        "csv": "".join(csv_lines((), bare)),
        "html": to_html(journal_report(stats((), bare), (), 0, bare)),
    }
    for form, text in forms.items():
        for secret in (
            "anna",
            "Lindenweg",
            "chapel",
            "heron",
            "Quillmere",
            "rain",
            "stayed",
            "tiller",
        ):
            assert secret.casefold() not in text.casefold(), (form, secret)
        assert "3.6.0" in text and "unit-2" in text
    line = json.loads(forms["jsonl"].splitlines()[2])
    assert line["kind"] == "update" and line["about"] == 1 and line["policy"] == "own"
    assert line["versions"][0] == {"unit": "unit-1", "before": "3.4.2", "after": "3.6.0"}
    assert "09:00" not in forms["jsonl"]
