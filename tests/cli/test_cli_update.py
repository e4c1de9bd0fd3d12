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
    """From notes to a closed run: a reset caught, a skipped battery paid later, a card printed."""
    record("RTH altitude: 60 m\nSignal loss action: Return to home\nExpo: 0.3\n")
    out = begin(home, "--print", str(home / "page.html"))
    assert "Run 1 begun: Quillmere Heron 2 3.6.0" in out
    assert "decision to update kept in the journal as entry 1" in out
    page = (home / "page.html").read_text()
    assert 'class="box"' in page and "<td>60 m</td><td>30 m</td>" in page
    steps = {step.step.id: step for step in all_runs()[0].steps}
    assert "notes, line 11" in [d.source for d in steps["calibrate-compass"].step.details]
    assert {"rotate-battery-1", "rotate-battery-2", "test-return"} <= steps.keys()
    card = run("card")
    assert "Test flights: Quillmere" in card and "Height it climbed to, in m" in card
    for id in ("notes", "way-back", "settings-heron", "charge", "link", "phone", "time"):
        run("done", id, *(["--charge", "80"] if id == "charge" else []))
    run("done", "update-heron-3.6.0")
    out = run("done", "version-heron-3.6.0", "--version", "3.4.2")
    assert "failed: shows 3.4.2, not 3.6.0: it did not take" in out
    assert "What usually helps" in out
    assert "the version of heron did not take" in reminder()
    run("done", "version-heron-3.6.0", "--version", "3.6.0")
    run("done", "rotate-battery-1", "--version", "1.14")
    assert "stays owed" in run("skip", "rotate-battery-2", "at the charger")
    run("done", "restart")
    assert "no snapshot of heron recorded since its update" in refused("done", "compare-heron")
    record("RTH altitude: 30 m\nSignal loss action: Hover\nExpo: 0.30\n")
    words = refused("done", "compare-heron")
    assert "2 of the settings that differ wait for your word: RTH altitude, Signal loss" in words
    flip = ("--restore", "Signal loss action=Return to home")
    words = refused("done", "compare-heron", *flip, "--restore", "RTH altitude=30 m")
    assert "shows 30 m, and 60 m was to be restored" in words
    out = run("done", "compare-heron", *flip, "--restore", "RTH altitude=60 m")
    rows = [" ".join(line.split()) for line in out.splitlines()]
    assert "RTH altitude 60 m 30 m changed as the notes say" in rows
    assert "Signal loss action Return to home Hover changed changed without notice" in rows
    for step in all_runs()[0].left:
        if not step.step.owed:
            value = ["--value", "60 m"] if step.step.needs == "value" else []
            run("done", step.step.id, "--note", "as described", *value)
    assert not [s for s in all_runs()[0].left if not s.step.owed]
    assert "no version read back yet for battery-2" in run("status")
    assert "close it owing them: triage update finish --owing" in refused("finish")
    out = run("finish", "--owing")
    assert "heron: 3.4.2 -> 3.6.0" in out and "Tests" in out
    assert [unit.version for unit in load_kit().units] == ["3.6.0", "1.14", "1.8"]
    told = "Owed from run 1: battery-2 was not updated and read back (at the charger)"
    assert told in reminder() and told in run("status")
    assert "battery-2" in run("owed")
    assert "nothing is owed for 'battery-7'" in refused("pay", "battery-7", "--version", "1")
    assert "Paid: battery-2, 1.14" in run("pay", "battery-2", "--version", "1.14")
    assert [unit.version for unit in load_kit().units] == ["3.6.0", "1.14", "1.14"]
    assert reminder() == "" and "Nothing is owed" in run("owed")
    assert "over" in run("status", "--all")
    entry = open_journal().entry(2).record.payload
    assert isinstance(entry, Updated) and entry.about == 1
    assert [f.title for f in entry.summary.flights if f.title.startswith("Return")]


KIT_OF_FIVE = KIT + "".join(
    f'\n[[unit]]\nlabel = "battery-{n}"\ncomponent = "battery"\nversion = "1.9"\n'
    for n in (3, 4, 5)
)


def lines_of_a_day(home: Path) -> list[str]:
    """What is typed on an everyday run with five batteries, key by key and value by value."""
    return [
        *["y"] * 2, str(home / "before.txt"), "80", *["y"] * 3,  # before
        "y", "3.6.0", *["1.14"] * 5,  # units
        "y", str(home / "after.txt"), "r", "60 m", "y",  # settings, calibration
        *["y", "", "y", "as shown"] * 0,
    ]  # fmt: skip


def test_led_through_the_day_with_few_keys_and_a_stop_in_between(home: Path) -> None:
    (home / "kit.toml").write_text(KIT_OF_FIVE)
    (home / "before.txt").write_text("RTH altitude: 60 m\nExpo: 0.3\n")
    (home / "after.txt").write_text("RTH altitude: 30 m\nExpo: 0.3\n")
    begin(home)
    first = lines_of_a_day(home)
    out = run("go", input="\n".join([*first[:4], "u", "80"]) + "\n")
    assert "Undone: charge" in out and "Stopped; nothing is lost" in out
    keys = 0
    out = run("go", input="\n".join(first[4:]) + "\n")
    assert "5 batteries, one after the other" in out
    assert "RTH altitude: 60 m -> 30 m, as the notes say. r restore, k keep, l later:" in out
    keys += sum(len(line) == 1 for line in first)
    left = [s.step for s in all_runs()[0].left]
    answers = []
    for step in left:
        keys += 1
        if step.needs == "value":
            answers.append("60 m")
        else:
            answers += ["y", "12"] if step.ask else ["y"]
    out = run("go", input="\n".join(answers) + "\n")
    assert "finished" in out and not open_runs()
    assert {u.version for u in load_kit().units if u.component == "battery"} == {"1.14"}
    assert keys < 60


def test_a_battery_left_out_is_owed_and_the_run_closes_only_by_your_word(home: Path) -> None:
    record("Expo: 0.3\n")
    begin(home)
    for step in all_runs()[0].steps[:9]:
        given = {"charge": ["--charge", "80"], "version-heron-3.6.0": ["--version", "3.6.0"]}
        run("done", step.step.id, *given.get(step.step.id, []))
    out = run("go", input="1.14\n\nq\n")
    assert "battery-2 stays owed." in out
    assert [s.step.id for s in all_runs()[0].steps if s.state == "skipped"] == ["rotate-battery-2"]


def test_a_run_given_up_before_a_unit_moved_takes_its_decision_back(home: Path) -> None:
    begin(home)
    run("abandon", "rain")
    kinds = [entry.record.payload.kind for entry in open_journal().entries()]
    assert kinds == ["decision", "update", "correction"]
    assert reminder() == ""


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
    assert "the journal is gone; it had 3 entries" in line and line.endswith(f"{again} 2")
    assert not open_runs() and "Update run 2" in out and "Kept in the journal" not in out
    assert missing in run("finish", "--run", "2")
    (home / "aside").rename(home / "journal.sqlite")
    assert "Kept in the journal as entry 4." in run("finish", "--run", "2")

    defaults = open_journal.__kwdefaults__
    assert defaults is not None
    monkeypatch.setitem(defaults, "wait", 0.05)
    with closing(sqlite3.connect(home / "journal.sqlite", isolation_level=None)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        out = abandoned(home)
    assert "another process is writing the journal" in out and f"{again} 3" in out
    assert not open_runs()
    assert "Kept in the journal as entry 5." in run("finish", "--run", "3")


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


def test_one_unit_alone_or_one_battery_first(home: Path) -> None:
    """`--unit` means that unit, not the others like it; `--first` keeps those back."""
    second = KIT.split("\n\n")[0].replace('"heron"', '"heron-b"')
    (home / "kit.toml").write_text(f"{KIT}\n{second}\n")
    begin(home, "--unit", "heron-b")
    ids = {step.step.id for step in all_runs()[0].steps}
    assert "update-heron-b-3.6.0" in ids and "update-heron-3.6.0" not in ids
    run("abandon", "rain")
    begin(home, "--first", "battery-1")
    rest = [s.step.id for s in all_runs()[1].steps if s.step.stage == "rest"]
    assert rest == ["rotate-battery-2"]
    assert "there is no unit 'bird'" in refused(
        "start", str(home / "notes.md"), "--today", "2026-12-20", "--anyway", "--first", "bird"
    )
