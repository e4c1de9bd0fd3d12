from __future__ import annotations

import random
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from typer.testing import CliRunner

from triage.cli import journal, settings, update
from triage.domain.journal import Updated
from triage.errors import TriageError
from triage.journal.store import open_journal
from triage.kit import load_kit
from triage.update.run_log import all_runs, open_runs, reminder

KILLS = 12
NOTES = """\
# Quillmere Heron 2: release notes

## Release 3.6.0 · 1 November 2026

### What's new
- Return to home now climbs to the return-to-home altitude first.
- The home point is shown in the goggles.

### Notes
1. The return-to-home altitude may be reset to 30 m by this update.
2. Calibrate the compass after the update.
3. Charge above 50 % before you begin.
4. Each battery must be inserted in the aircraft once and updated.

## Release 3.4.2 · 15 September 2026

### Fixed
- Small corrections to the gimbal.
"""
KIT = """\
[[unit]]
label = "heron"
component = "aircraft"
name = "Quillmere Heron 2"
version = "3.4.2"
reversible = true

[[unit]]
label = "battery-1"
component = "battery"
version = "1.9"

[[unit]]
label = "battery-2"
component = "battery"
version = "1.8"
"""


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    monkeypatch.delenv("TRIAGE_JOURNAL", raising=False)
    monkeypatch.delenv("TRIAGE_PILOT", raising=False)
    (tmp_path / "kit.toml").write_text(KIT)
    (tmp_path / "notes.md").write_text(NOTES)
    return tmp_path


def run(*words: str, input: str = "") -> str:
    result = CliRunner().invoke(update.app, list(words), input=input, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def record(text: str) -> None:
    result = CliRunner().invoke(
        settings.app, ["record", "heron"], input=text, catch_exceptions=False
    )
    assert result.exit_code == 0, result.output


def refused(*words: str) -> str:
    with pytest.raises(TriageError) as error:
        run(*words)
    assert "\n" not in str(error.value)
    return str(error.value)


def begin(home: Path, *words: str) -> str:
    return run(
        "start", str(home / "notes.md"), "--today", "2026-12-20", "--policy", "eager", "--anyway",
        *words,
    )  # fmt: skip


def test_an_update_day_from_end_to_end(home: Path) -> None:
    record("RTH altitude: 60 m\nExpo: 0.3\n")
    out = begin(home, "--print", str(home / "page.html"))
    assert "Run 1 begun: Quillmere Heron 2 3.6.0" in out
    assert 'class="box"' in (home / "page.html").read_text()
    steps = {step.step.id: step for step in all_runs()[0].steps}
    assert "notes, line 11" in [d.source for d in steps["calibrate-compass"].step.details]
    assert {"rotate-battery-1", "rotate-battery-2"} <= steps.keys()
    for id in ("notes", "settings-heron", "charge", "link", "phone", "way-back", "time"):
        run("done", id, *(["--charge", "80"] if id == "charge" else []))
    run("done", "update-heron-3.6.0")
    out = run("done", "version-heron-3.6.0", "--version", "3.4.2")
    assert "failed: shows 3.4.2, not 3.6.0: it did not take" in out
    assert "What usually helps" in out and "no source]" not in out
    assert "the version of heron did not take" in reminder()
    run("done", "version-heron-3.6.0", "--version", "3.6.0")
    run("done", "rotate-battery-1", "--version", "1.14")
    assert "stays owed" in run("skip", "rotate-battery-2", "at the charger")
    run("done", "restart")
    assert "no snapshot of heron recorded since its update" in refused("done", "compare-heron")
    record("RTH altitude: 30 m\nExpo: 0.30\n")
    out = run("done", "compare-heron")
    assert "RTH altitude  60 m    30 m   changed  expected" in out
    assert "may be reset to 30 m by this update. [line 10]" in " ".join(out.split())
    assert "(3.4.2) and" in out and "(3.6.0)" in out  # the version read back, not yet in the kit
    for step in all_runs()[0].left:
        if not step.step.owed:
            run("done", step.step.id)
    assert "no version read back yet for battery-2" in run("status")
    assert "run 1 is not finished: no version read back yet for battery-2" in refused("finish")
    run("done", "rotate-battery-2", "--version", "1.14")
    out = run("finish")
    assert "heron: 3.4.2 -> 3.6.0" in out and "battery-2: 1.8 -> 1.14" in out
    assert [unit.version for unit in load_kit().units] == ["3.6.0", "1.14", "1.14"]
    assert reminder() == ""
    assert "No update run is open" in run("status")
    assert "over" in run("status", "--all")


def abandoned(home: Path, *words: str) -> str:
    begin(home)
    return run("abandon", "rain", *words)


def test_a_finished_run_is_in_the_journal_beside_its_decision(home: Path) -> None:
    decided = CliRunner().invoke(
        journal.app,
        ["keep", str(home / "notes.md"), "--decision", "update", "--reason", "a job", "--today",
         "2026-12-20", "--policy", "eager"],
        catch_exceptions=False,
    )  # fmt: skip
    assert decided.exit_code == 0
    assert "Kept in the journal as entry 2." in abandoned(home)
    entry = open_journal().entry(2).record.payload
    assert isinstance(entry, Updated) and entry.about == 1
    assert (entry.summary.abandoned, entry.summary.unit) == ("rain", "heron")
    assert "Kept in the journal as entry 2." in run("finish", "--run", "1")  # asked for again
    assert open_journal().tail()[0] == 2
    other = str(home / "team.sqlite")
    assert "as entry 1." in run("finish", "--run", "1", "--journal", other, "--pilot", "b")
    assert open_journal(other).entry(1).record.pilot == "b"


def test_a_journal_that_is_lost_or_locked_holds_no_run_open(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    missing = "the run is over, but its journal entry is missing"
    again = "to write it: triage update finish --run"
    abandoned(home)
    (home / "journal.sqlite").rename(home / "aside")
    out = abandoned(home)
    (line,) = [line for line in out.splitlines() if missing in line]
    assert "the journal is gone; it had 1 entries" in line and line.endswith(f"{again} 2")
    assert not open_runs() and "Update run 2" in out and "Kept in the journal" not in out
    assert missing in run("finish", "--run", "2")
    (home / "aside").rename(home / "journal.sqlite")
    assert "Kept in the journal as entry 2." in run("finish", "--run", "2")

    defaults = open_journal.__kwdefaults__
    assert defaults is not None
    monkeypatch.setitem(defaults, "wait", 0.05)
    with closing(sqlite3.connect(home / "journal.sqlite", isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        out = abandoned(home)
    assert "another process is writing the journal" in out and f"{again} 3" in out
    assert not open_runs()
    assert "Kept in the journal as entry 3." in run("finish", "--run", "3")


def test_next_show_status_and_one_line_refusals(home: Path) -> None:
    assert "no update run is open; begin one: triage update start" in refused("next")
    begin(home)
    assert "Step 1: Read the notes" in run("next")
    assert "Charge everything to 50 % or more" in run("show", "charge")
    assert "<- next" in run("status", "--print", str(home / "p.html"))
    assert "<!doctype html>" in run("status", "--print", "-")
    assert "there is no step '99'" in refused("done", "99")
    assert "below the 50 % of your policy" in refused("done", "charge", "--charge", "40")
    assert "needs a reason" in refused("skip", "1")
    assert "abandoning needs a reason" in refused("abandon")
    assert "comes after" in refused("done", "rotate-battery-1", "--version", "1.14")
    assert "is open and has" in refused(
        "start", str(home / "notes.md"), "--today", "2026-12-20", "--anyway"
    )
    assert "What usually helps" in run("fail", "link", "no socket")
    assert "abandoned (rain)" in run("abandon", "rain")
    assert load_kit().units[0].version == "3.4.2"


def test_against_the_advice_only_when_asked_for(home: Path) -> None:
    words = ("start", str(home / "notes.md"), "--today", "2026-11-02", "--policy", "conservative")
    assert "not begun; wait, or add --anyway" in refused(*words)
    assert not all_runs()
    run(*words, "--anyway")
    assert all_runs()[0].started.against


def test_nothing_to_move_to(home: Path) -> None:
    (home / "kit.toml").write_text(KIT.replace("3.4.2", "3.6.0"))
    assert "no release ahead of your kit" in refused("start", str(home / "notes.md"))
    (home / "kit.toml").unlink()
    assert "there is no kit yet; state your units first" in refused("start", str(home / "notes.md"))


def test_a_page_that_cannot_be_written(home: Path) -> None:
    begin(home)
    assert "is a directory" in refused("status", "--print", str(home))


def test_the_command_itself_killed_at_any_moment(home: Path) -> None:
    begin(home)
    chance = random.Random(107)
    code = "from triage.cli.update import app; app()"
    acknowledged = []
    for n in range(KILLS):
        reason = f"try-{n}"
        with subprocess.Popen(
            [sys.executable, "-c", code, "fail", "link", reason], stdout=subprocess.PIPE, text=True
        ) as process:
            try:
                out, _ = process.communicate(timeout=chance.uniform(0.2, 0.8))
            except subprocess.TimeoutExpired:
                process.kill()
                out, _ = process.communicate()
        acknowledged += [reason] * (f"failed: {reason}" in out)
        step = next(step for step in all_runs()[0].steps if step.step.id == "link")
        assert set(acknowledged) <= {mark.note for mark in step.marks}
    run("done", "link")  # and the record is as good as ever
