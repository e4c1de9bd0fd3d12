"""While an update run is open, the commands that a pilot turns to next say so."""

from __future__ import annotations

from pathlib import Path

from tests.cli.conftest import Run
from triage.reference.shipped import folder


def test_an_open_run_is_named_by_kit_and_assess(triage: Run, tmp_path: Path) -> None:
    notes = str(folder("corpora") / "demo" / "heron-2-release-notes.md")
    home = tmp_path / "home"
    home.mkdir()
    (home / "kit.toml").write_bytes((folder("corpora") / "demo" / "kit.toml").read_bytes())
    assert "is open" not in triage("kit", "list").stderr
    start = triage("update", "start", notes, "--unit", "heron", "--anyway", "--today", "2026-11-25")
    assert start.returncode == 0, start.stderr
    for arguments in (("kit", "list"), ("kit", "check"), ("assess", notes, "--brief")):
        done = triage(*arguments)
        assert "Update run 1" in done.stderr and "is open" in done.stderr, arguments
        assert "battery-4" in done.stderr
    assert triage("kit", "list", "--json").stdout.startswith("{")
