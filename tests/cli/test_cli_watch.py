"""`triage watch`: from putting notes under watch to the day the advice turns."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from triage.cli import watch
from triage.cli.main import run as command
from triage.errors import TriageError
from triage.kit.kit_file import set_unit

NOTES = """\
# Quillmere Heron 2: release notes

## Release 3.6.0 (2026-11-01)
- Return to home now climbs straight up before turning.
- Added a way to pause the return to home.
"""
KIT = """\
[[unit]]
label = "heron"
component = "aircraft"
name = "Quillmere Heron 2"
version = "3.4.2"
"""


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    (tmp_path / "kit.toml").write_text(KIT)
    (tmp_path / "notes.md").write_text(NOTES)
    return tmp_path


def run(*words: str) -> str:
    result = CliRunner().invoke(watch.app, list(words), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def looked(home: Path, *days: str, seen: str = "clean", users: int = 1) -> None:
    with (home / "reports.jsonl").open("a") as file:
        for day in days:
            report = {"day": day, "version": "3.6.0", "seen": seen, "users": users, "where": day}
            file.write(json.dumps(report) + "\n")


def rows(today: str, *words: str) -> list[dict[str, object]]:
    return [json.loads(line) for line in run("--today", today, "--json", *words).splitlines()]


def add(home: Path, *words: str) -> str:
    return run("add", str(home / "notes.md"), "--today", "2026-11-03", *words)


def test_what_to_watch_for_and_when(home: Path) -> None:
    assert "Nothing is under watch" in run()
    assert "Under watch: notes.md" in add(home)
    assert "Under watch already, since 2026-11-03: notes.md" in add(home, "--name", "other")
    (row,) = rows("2026-11-04")
    assert row["verdict"] == "wait-and-watch" and row["version"] == "3.6.0"
    assert (row["last_report"], row["next_check"], row["every"]) == (None, "2026-11-03", 3)
    text = run("--today", "2026-11-04")
    assert "2026-11-03" in text and "1 day late" in text
    assert "What to watch for: Quillmere Heron 2 3.6.0 (heron)" in text
    assert "- return to home: it may not come home" in text
    looked(home, "2026-11-05", "2026-12-09")  # the second is to come
    (row,) = rows("2026-11-06")
    assert (row["last_report"], row["next_check"]) == ("2026-11-05", "2026-11-08")
    assert "2026-11-08  in 2 days" in run("--today", "2026-11-06")


def test_advice_that_turned_says_so_first(home: Path) -> None:
    add(home)
    (home / "new.md").write_text(NOTES.replace("3.6.0", "3.7.0").replace("11-01", "11-27"))
    run("add", str(home / "new.md"), "--today", "2026-11-02")
    found = rows("2026-11-04")
    assert [r["verdict"] for r in found] == ["wait-and-watch"] * 2
    assert found[0]["version"] == "3.7.0"  # its report is due first
    looked(home, "2026-11-20", users=400)
    found = rows("2026-11-28", "--policy", "eager")
    assert [(r["version"], r["verdict"]) for r in found] == [
        ("3.6.0", "update-now"), ("3.7.0", "wait-and-watch"),
    ]  # fmt: skip
    text = run("--today", "2026-11-28", "--policy", "eager")
    assert text.startswith("UPDATE NOW: Quillmere Heron 2 3.6.0 (heron)\n====")
    assert "the maker's manual" in " ".join(text.casefold().split())
    set_unit(None, "heron", version="3.7.0")
    text = run("--today", "2026-11-28")
    assert "Nothing to decide" in text and "triage watch drop notes.md" in " ".join(text.split())


def test_dropped_and_renewed(home: Path) -> None:
    add(home)
    (home / "notes.md").write_text(NOTES + "- A new sound.\n")
    assert "other notes of that name are too; to drop them: triage watch drop" in add(home)
    with pytest.raises(TriageError, match=r"2 notes are called 'notes.md'; name one of"):
        run("drop", "notes.md")
    old = min(rows("2026-11-04"), key=lambda r: str(r["notes"]))["notes"]
    assert isinstance(old, dict)
    assert "No longer under watch: notes.md" in run("drop", old["sha256"][:12])
    assert len(rows("2026-11-04")) == 1


def test_damage_hides_no_other_release(home: Path, capfd: pytest.CaptureFixture[str]) -> None:
    add(home)
    (home / "app.md").write_text(NOTES.replace("3.6.0", "3.7.0"))
    run("add", str(home / "app.md"))
    names = {r["notes"]["name"]: r["notes"]["sha256"] for r in rows("2026-11-30")}  # type: ignore[index]
    (home / "watch" / f"{names['app.md']}.notes").write_text("altered")
    (home / "watch" / f"{'0' * 64}.json").write_text("{")
    capfd.readouterr()
    assert command(["watch", "--today", "2026-11-30"]) == 0
    out, err = capfd.readouterr()
    assert "3.6.0" in out and "3.7.0" not in out
    assert [line.startswith("triage: ") for line in err.splitlines()] == [True, True]
    assert "were altered; triage watch drop" in err and "is no record of notes" in err


def test_bad_input_is_one_line(home: Path) -> None:
    (home / "empty.md").write_text("")
    for words in (("add", str(home / "empty.md")), ("add", str(home / "none")), ("drop", "x")):
        with pytest.raises(TriageError) as caught:
            run(*words)
        assert "\n" not in str(caught.value)
    assert run() == run("--today", "2026-11-04")  # nothing came under watch


def test_assess_puts_under_watch(home: Path, capfd: pytest.CaptureFixture[str]) -> None:
    notes = str(home / "notes.md")
    assert command(["assess", notes, "--watch", "--brief", "--today", "2026-11-03"]) == 0
    assert "triage: under watch: notes.md; see: triage watch\n" in capfd.readouterr().err
    assert [r["notes"]["added"] for r in rows("2026-11-04")] == ["2026-11-03"]  # type: ignore[index]
