from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from triage.cli.kit import app
from triage.errors import ConfigError
from triage.kit import load_kit

ADD = ["add", "heron", "drone", "--name", "Quillmere Heron 2", "--version", "01.00.0500"]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    return tmp_path


def run(*words: str) -> str:
    result = CliRunner().invoke(app, list(words), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_a_kit_from_nothing(home: Path) -> None:
    assert "assumed" in run("list") and "no kit is stated" in run("check")
    assert re.search(r"01\.00\.0500 +way back not stated", run(*ADD))
    run("add", "battery-1", "battery", "--version", "same as the aircraft", "--back", "no")
    run("set", "heron", "--back", "yes", "--uses", "return-home", "--label", "bird")
    run("job", "2030-05-31", "roof survey")
    run("need", "longer flights", "a steadier hover")
    run("use", "landing", "obstacle-sensing")
    run("need", "longer flights", "--remove")
    out = run("list")
    assert re.search(r"bird +aircraft +Quillmere Heron 2 +01\.00\.0500 +can go back", out)
    assert "bird is relied on for: return-home" in out
    assert "Relied on: landing, obstacle-sensing" in out
    assert "Job 2030-05-31: roof survey" in out and out.count("Need: ") == 1
    assert run("check").strip() == "Nothing is missing."
    run("job", "2030-05-31", "--remove")
    run("set", "bird", "--version", "", "--back", "unknown", "--uses", "")
    run("remove", "battery-1")
    kit = load_kit()
    assert [unit.label for unit in kit.units] == ["bird"] and not kit.jobs
    out = run("check")
    assert "the installed version is not stated" in out
    assert all(len(line) <= 80 for line in out.splitlines())
    assert '"needs"' in run("list", "--json")


def test_a_stated_kit_file(home: Path) -> None:
    run(*ADD, "--kit", str(home / "other.toml"))
    assert load_kit().assumed and "heron" in run("list", "--kit", str(home / "other.toml"))


def test_ids_are_listed() -> None:
    assert "return-home" in run("use", "--list") and "radio-controller" in run("kinds")


@pytest.mark.parametrize(
    "words",
    [
        ["add", "heron", "hoverboard"],
        ["set", "visor", "--version", "1"],
        ["set", "heron"],
        ["remove", "visor"],
        ["job", "2020-01-01", "--remove"],
        ["use", "levitation"],
        ["use"],
    ],
)
def test_faults_are_one_line_with_the_mend(words: list[str]) -> None:
    with pytest.raises(ConfigError) as caught:
        CliRunner().invoke(app, words, catch_exceptions=False)
    assert caught.value.mend and "\n" not in str(caught.value)
