from __future__ import annotations

import datetime as dt
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.domain.advice import Evidence
from triage.domain.reports import FieldReport, Seen
from triage.errors import StoreError
from triage.reports import add_report, read_reports

CLEAN = FieldReport(day=dt.date(2026, 5, 1), where="club", version="1.4", users=12, seen=Seen.CLEAN)
BAD = FieldReport(
    day=dt.date(2026, 5, 2),
    version="1.4",
    seen=Seen.PROBLEM,
    function="return-home",
    words="turned the wrong way\non the way back",
)


@pytest.fixture(autouse=True)
def path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path / "home"))
    return tmp_path / "home" / "reports.jsonl"


def test_reports_come_back_in_order_and_are_the_users_alone(path: Path) -> None:
    assert read_reports().reports == ()
    assert add_report(CLEAN) == add_report(BAD) == ""
    assert read_reports().reports == (CLEAN, BAD) and read_reports().torn == ""
    assert path.read_text().count("\n") == 2
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_every_way_a_write_can_be_cut_short_loses_only_that_report(path: Path) -> None:
    add_report(CLEAN)
    add_report(BAD)
    data = path.read_bytes()
    first = data.index(b"\n") + 1
    for cut in range(first, len(data)):
        path.write_bytes(data[:cut])
        aside = path.with_name("reports.jsonl.torn")
        aside.unlink(missing_ok=True)
        found = read_reports()
        whole = cut == len(data) - 1  # only the line end is missing
        assert found.reports == ((CLEAN, BAD) if whole else (CLEAN,))
        torn = add_report(BAD)
        assert torn == found.torn == ("" if whole else data[first:cut].decode())
        assert read_reports().reports == ((CLEAN, BAD, BAD) if whole else (CLEAN, BAD))
        assert aside.exists() == bool(torn)
        if torn:
            assert aside.read_text() == torn + "\n"


@pytest.mark.parametrize("line", ['{"day": "2026-05-01"}', "nonsense", '{"users": "x"}'])
def test_a_damaged_line_is_named(path: Path, line: str) -> None:
    add_report(CLEAN)
    path.write_text(path.read_text() + line + "\n" + path.read_text())
    with pytest.raises(StoreError, match=r"reports.jsonl:2: is no report: .*mend the line"):
        read_reports()


def test_a_record_that_cannot_be_read_or_written_is_one_line(path: Path) -> None:
    path.mkdir(parents=True)
    with pytest.raises(StoreError, match="is a directory"):
        read_reports()
    with pytest.raises(StoreError, match="not recorded"):
        add_report(CLEAN)


ADD = """
import datetime as dt, sys
from triage.domain.reports import FieldReport, Seen
from triage.reports import add_report
for n in range(10):
    add_report(FieldReport(day=dt.date(2026, 5, 1), version="1.4", users=n + 1, seen=Seen.CLEAN,
             where=sys.argv[1]))
"""


def test_two_processes_lose_nothing(path: Path) -> None:
    runs = [subprocess.Popen([sys.executable, "-c", ADD, name]) for name in "ab"]
    assert [run.wait(60) for run in runs] == [0, 0]
    assert sorted((report.where, report.users) for report in read_reports().reports) == [
        (name, n + 1) for name in "ab" for n in range(10)
    ]


text = st.text(st.characters(codec="utf-8"), max_size=30)


@given(text, text, text.filter(bool), st.integers(1, 10**9), st.sampled_from(Seen))
def test_any_words_come_back(where: str, words: str, version: str, users: int, seen: Seen) -> None:
    from tempfile import TemporaryDirectory

    report = FieldReport(
        day=dt.date(2026, 5, 1), where=where, words=words, version=version, users=users, seen=seen
    )
    with TemporaryDirectory() as folder:
        add_report(report, Path(folder) / "reports.jsonl")
        assert read_reports(Path(folder) / "reports.jsonl").reports == (report,)


def test_the_record_of_an_earlier_version_is_read_and_added_to(path: Path) -> None:
    path.parent.mkdir()
    old = path.with_name("looks.jsonl")
    old.write_text(CLEAN.model_dump_json() + "\n")
    add_report(BAD)
    assert read_reports().reports == (CLEAN, BAD) and not path.exists()


def test_evidence_and_entries_of_an_earlier_version_are_read() -> None:
    stated = {"release": 0, "day": "2026-05-01", "users": 3, "clean": True, "looks": 2}
    assert Evidence.model_validate(stated).reports == 2
