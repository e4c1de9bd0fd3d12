from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from triage.cli.report import app
from triage.errors import ConfigError


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    return tmp_path


def run(*words: str) -> str:
    result = CliRunner().invoke(app, list(words), catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def test_reports_are_recorded_and_repeats_count_once(home: Path) -> None:
    assert "No reports yet" in run("list")
    run("add", "1.4", "clean", "--users", "200", "--where", "board", "--day", "2026-05-01")
    out = run("add", "1.4", "clean", "--users", "350", "--where", "board", "--day", "2026-05-09")
    assert "2 reports counted once: same place, no words" in out
    run(
        "add", "1.5", "problem", "turned the wrong way", "--function", "return-home",
        "--component", "drone", "--day", "2026-05-09",
    )  # fmt: skip
    out = run("list")
    assert "2026-05-09  1.4  clean, 350 users, board" in out and "200" not in out
    assert "2026-05-09  aircraft 1.5  problem, 1 user, return-home: turned the wrong way" in run(
        "list", "v1.5"
    )
    assert "1.4" not in run("list", "1.5") and '"counted"' in run("list", "--json")


def test_a_report_cut_short_is_reported(home: Path) -> None:
    run("add", "1.4", "clean")
    with (home / "reports.jsonl").open("a") as file:
        file.write('{"day": "20')
    assert "not counted" in run("list")
    assert "set aside" in run("add", "1.4", "problem")
    assert (home / "reports.jsonl.torn").read_text() == '{"day": "20\n'


@pytest.mark.parametrize(
    "words",
    [
        ["add", " ", "clean"],
        ["add", "1.4", "clean", "--day", "2999-01-01"],
        ["add", "1.4", "clean", "--component", "hoverboard"],
        ["add", "1.4", "problem", "--function", "levitation"],
    ],
)
def test_faults_are_one_line_with_the_mend(home: Path, words: list[str]) -> None:
    with pytest.raises(ConfigError) as caught:
        CliRunner().invoke(app, words, catch_exceptions=False)
    assert caught.value.mend and not (home / "reports.jsonl").exists()
