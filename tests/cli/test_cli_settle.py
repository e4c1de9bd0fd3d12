"""Corrections: kept, in effect at once, and trained with only when nothing is silently lost."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.conftest import PACKAGE, START, Run

NOTES = (
    b"Quillmere Heron 2 1.4\n\n- Quieter landing\n- Fixed the map colours\n- Improved stability\n"
)


def kinds(triage: Run, ref: str) -> dict[str, tuple[str, bool]]:
    answer = json.loads(triage("items", "-", "--json", stdin=NOTES).stdout)
    item = next(i for i in answer["judged"]["items"] if i["item"]["ref"] == ref)
    return {j["kind"]: (j["standing"], j["settled"]) for j in item["judgements"]}


def test_a_correction_takes_effect_at_once_and_for_assess_too(triage: Run) -> None:
    done = triage("items", "-", "--settle-item", "2=feature, flight-behaviour", stdin=NOTES)
    assert done.returncode == 0, done.stderr
    assert "item 2 is feature, flight-behaviour" in done.stdout
    assert kinds(triage, "2") == {
        "feature": ("yes", True),
        "fix": ("no", True),
        "flight-behaviour": ("yes", True),
        "compatibility": ("no", True),
    }
    assert not kinds(triage, "1")["fix"][1]
    assert triage("items", "-", "--settle-item", "2=none", stdin=NOTES).returncode == 0
    assert {standing for standing, _ in kinds(triage, "2").values()} == {"no"}


@pytest.mark.parametrize("text", ["2", "99=fix", "2=", "2=mend", "2=f"])
def test_a_correction_that_does_not_hold_changes_nothing(
    triage: Run, tmp_path: Path, text: str
) -> None:
    done = triage("items", "-", "--settle-item", "1=fix", "--settle-item", text, stdin=NOTES)
    assert done.returncode == 2
    assert len(done.stderr.strip().splitlines()) == 1
    assert not (tmp_path / "home" / "corrections.jsonl").exists()


def test_unsure_items_are_asked_about_at_a_terminal(triage: Run, tmp_path: Path) -> None:
    notes = tmp_path / "notes.txt"
    notes.write_bytes(NOTES)
    mine, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-c", START, "items", str(notes), "--settle"],
        stdin=theirs,
        stdout=subprocess.PIPE,
        env={
            **os.environ,
            "TRIAGE_HOME": str(tmp_path / "home"),
            "PYTHONPATH": str(PACKAGE.parent),
        },
    )
    os.write(mine, b"nonsense\nfeature,flight\n" * 4)
    out, _ = process.communicate(timeout=60)
    os.close(mine)
    os.close(theirs)
    assert process.returncode == 0
    if b"is no kind" in out:
        assert b"Settled: item" in out
    else:
        assert b"No item is unsure" in out


def test_asking_needs_a_terminal(triage: Run) -> None:
    done = triage("items", "-", "--settle", stdin=NOTES)
    assert done.returncode == 2
    assert "--settle-item" in done.stderr


def test_training_with_corrections_reports_first_and_stays_the_operators_own(
    triage: Run, tmp_path: Path
) -> None:
    assert triage("model", "train", "--with-corrections").returncode == 2
    triage("items", "-", "--settle-item", "1=feature,flight-behaviour", stdin=NOTES)
    small = tmp_path / "corpus"
    small.mkdir()
    from triage.reference.shipped import folder

    for path in sorted((folder("corpora") / "items").glob("*.jsonl"))[:4]:
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        (small / path.name).write_text("".join(lines[:120]), encoding="utf-8")
    done = triage("model", "train", "--with-corrections", "--accept-loss", "--corpus", str(small))
    assert done.returncode == 0, done.stderr
    assert "as shipped" in done.stdout
    assert "with your corrections" in done.stdout
    assert (tmp_path / "home" / "kinds.zip").exists()
    assert triage("items", "-", stdin=NOTES).returncode == 0
    (tmp_path / "home" / "kinds.zip").write_bytes(b"x")
    broken = triage("items", "-", stdin=NOTES)
    assert broken.returncode == 2
    assert "train it again" in broken.stderr
