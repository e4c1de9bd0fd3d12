"""`triage journal` from the command line, on the invented demo notes."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from icalendar import Calendar
from typer.testing import CliRunner

from triage.cli.journal import app
from triage.cli.main import run as command
from triage.errors import TriageError

NOTES = str(Path(__file__).parents[2] / "corpora" / "demo" / "heron-2-release-notes.md")
KIT = """
[[unit]]
label = "heron"
component = "aircraft"
name = "Quillmere Heron 2"
version = "3.4.2"
"""
LOOK = '{"day":"2026-11-20","where":"forum","version":"3.6.0","users":4,"seen":"clean"}\n'


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    monkeypatch.delenv("TRIAGE_JOURNAL", raising=False)
    monkeypatch.delenv("TRIAGE_PILOT", raising=False)
    (tmp_path / "kit.toml").write_text(KIT)
    (tmp_path / "reports.jsonl").write_text(LOOK)
    return tmp_path


def run(*words: str, status: int = 0) -> str:
    result = CliRunner().invoke(app, list(words), catch_exceptions=False)
    assert result.exit_code == status, result.output
    return result.output


def fault(*words: str) -> str:
    with pytest.raises(TriageError) as caught:
        CliRunner().invoke(app, list(words), catch_exceptions=False)
    message = str(caught.value)
    assert "\n" not in message
    return message


def keep(*words: str) -> str:
    return run("keep", NOTES, "--today", "2026-11-25", *words)


def test_a_decision_from_keeping_to_what_it_teaches(home: Path) -> None:
    assert "no journal yet; `triage journal keep` begins one" in fault("list")
    out = keep("--decision", "follow", "--reason", "frost on the slate roof", "--pilot", "b")
    assert "Quillmere Heron 2" in out and out.endswith("Kept as entry 1.\n")
    advice = json.loads(run("show", "1", "--json"))["record"]["payload"]["advised"][0]["verdict"]
    as_advised, against = ("update", "wait") if advice == "update-now" else ("wait", "update")
    bare = ("keep", NOTES, "--today", "2026-11-25", "--decision", against)
    assert "to overrule the advice takes a reason" in fault(*bare)
    apart = ("--apart", f"heron={against}", "--decision", "follow", "--reason", "job")
    keep(*apart, "--review", "2026-12-01")
    out = run("show", "1")
    assert "frost on the slate roof" in out and "by b." in out and "1 reports counted of 1" in out
    assert run("show", "1", "--notes").startswith("# Quillmere Heron 2: release notes")
    assert [json.loads(x)["record"]["seq"] for x in run("list", "--json").splitlines()] == [2, 1]
    assert "against the advice" in run("list", "--only", "decision", "--limit", "1")

    ics = home / "reviews.ics"
    out = run("due", "--today", "2026-12-03", "--calendar", str(ics))
    assert "2026-12-01  2 days late  2" in out
    events = Calendar.from_ical(ics.read_bytes()).walk("VEVENT")
    assert "2026-12-01" in [event.decoded("DTSTART").isoformat() for event in events]

    run("outcome", "1", "problem", "stayed dark", "--function", "video-view", "--severity", "3",
        "--flights", "4", "--went-back", "--today", "2026-12-03")  # fmt: skip
    run("outcome", "2", "went-well", "--avoided", "a dark picture", "--today", "2026-12-03")
    run("review", "1", "still dark", "--next", "2027-01-10", "--today", "2026-12-04")
    assert "2027-01-10" in run("due", "--today", "2026-12-20")
    assert "None is due" in run("due", "--until", "2026-12-31", "--today", "2026-12-20")
    run("correct", "2", f"heron={as_advised}", "--because", "slip", "--today", "2026-12-05")
    out = run("show", "4")  # a later entry leads to its decision
    assert "Entry 2" in out and f"decided instead: {as_advised} heron (slip)" in out
    assert "entry" in run("search", "dark").casefold() and "None." in run("search", "zebra")
    assert run("search", "slate", "--json").count("\n") == 1

    out = run("stats")
    assert "too few to tell (2 of 30)" in out and "Your own base rates" in out
    assert json.loads(run("stats", "--json"))["decisions"] == 2
    out = run("verify")
    assert "6 entries, each as written" in out
    end = next(line for line in out.splitlines() if "The end: " in line).split("The end: ")[1]
    run("verify", "--end", end)
    assert "NOT AS WRITTEN" in run("verify", "--end", "6:" + "0" * 64, status=1)
    assert "SAME" in run("replay", "1")

    whole, other = home / "all.jsonl", str(home / "other.sqlite")
    run("export", str(whole))
    assert "Imported 6 entries; the journal has 6." in run("import", str(whole), "--journal", other)
    assert run("export", "--journal", other) == whole.read_text() == run("export")
    assert "SAME" in run("replay", "2", "--journal", other)
    report = home / "report.html"
    run("export", str(report), "--form", "html", "--last", "1")
    assert "<svg" in report.read_text() and "And 1 earlier decisions." in report.read_text()
    assert "stayed dark" in run("export", "--form", "csv")
    for form in ("jsonl", "csv", "html"):
        out = run("export", "--form", form, "--without-names")
        assert "stayed dark" not in out and "heron" not in out.casefold() and "3.4.2" in out


def assumed(text: str) -> str:
    words = " ".join(text.split())
    return words[words.index("Assumed ---") :]


def test_own_base_rates_as_priors_are_asked_for_shown_kept_and_replayed(
    home: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    def assess(*words: str) -> str:
        assert command(["assess", NOTES, "--today", "2026-11-25", *words]) == 0
        return capfd.readouterr().out

    assert command(["assess", NOTES, "--own-priors"]) == 2
    assert "no journal yet" in capfd.readouterr().err
    keep("--decision", "update", "--reason", "a job")
    shipped = assess()
    assert "own record" not in assumed(shipped)
    asked = assumed(assess("--own-priors"))
    assert "too few flights of your own to tell for changes (0)" in asked
    run("outcome", "1", "went-well", "--flights", "40000")
    asked = assess("--own-priors", "--keep", "follow")
    assert "changes nobody named from 0 problems in 40,000 flights" in assumed(asked)
    assert asked[: asked.index("Assumed")] != shipped[: shipped.index("Assumed")]
    assert assess() == shipped  # off unless asked for
    kept = json.loads(run("show", "3", "--json").splitlines()[0])["record"]["payload"]
    assert 40_000 < kept["prior_flights"]["unnamed"] < 41_500  # own flights, and the prior's
    assert kept["prior_record"]["unnamed"] == {"problems": 0, "flights": 40000, "used": True}
    run("outcome", "3", "problem", "--flights", "9")  # the record has gone on since
    assert "SAME" in run("replay", "3") and "SAME" in run("replay", "1")
    other = str(home / "other.sqlite")
    with pytest.raises(TriageError, match="no journal yet"):
        keep("--decision", "follow", "--own-priors", "--journal", other)


def test_what_does_not_hold_is_one_line(home: Path) -> None:
    keep("--decision", "follow")
    assert "no entry 9; entries run from 1 to 1" in fault("show", "9")
    assert "no function 'nose'" in fault("outcome", "1", "problem", "--function", "nose")
    assert "'x' is no end of a journal" in fault("verify", "--end", "x")
    assert "--review: 'soon' is no date" in fault("outcome", "1", "went-well", "--review", "soon")
    assert "'heron' is no decision" in fault("correct", "1", "heron", "--because", "x")
    assert "'heron=follow' is no decision" in fault(
        "correct", "1", "heron=follow", "--because", "x"
    )
    assert "check the name" in fault("import", str(home / "none.jsonl"))
    assert "is no JSON" in fault("import", NOTES, "--journal", str(home / "new.sqlite"))
    assert "nothing to search for" in fault("search", "--", "-")
    (home / "kit.toml").write_text(KIT.replace("3.4.2", "3.6.0"))
    assert "nothing to decide" in fault("keep", NOTES, "--decision", "follow")


def test_the_record_is_private(home: Path) -> None:
    keep("--decision", "follow")
    run("export", str(home / "all.jsonl"))
    run("due", "--today", "2026-11-25", "--calendar", str(home / "r.ics"))
    for name in ("journal.sqlite", "journal.sqlite.anchor", "all.jsonl", "r.ics"):
        assert (home / name).stat().st_mode & 0o777 == 0o600, name


def test_the_commands_alone_load_no_database() -> None:
    """Every start of `triage` imports these modules; only a use of the journal may pay for it."""
    code = (
        "import sys, triage.cli.journal\n"
        "print(*{'sqlalchemy', 'alembic', 'icalendar', 'numpy', 'spacy'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "\n"
