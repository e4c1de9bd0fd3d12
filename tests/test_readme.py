"""The README tells what the tool does: its commands exist, and its CI is the same test command."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from typer.main import get_command

from triage import __version__
from triage.cli.main import app, run

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks() -> list[str]:
    return re.findall(r"```sh\n(.*?)```", README, re.DOTALL)


def test_two_commands_come_first() -> None:
    first, second = blocks()[:2]
    assert "triage demo" in first
    assert "-m pytest" in second


def test_ci_calls_the_test_command_of_the_readme() -> None:
    command = next(line for line in blocks()[1].splitlines() if "pytest" in line)
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert re.search(r"\S+python -m pytest.*$", command).group() in script  # type: ignore[union-attr]


def test_every_command_named_exists() -> None:
    root = get_command(app)
    groups = {name: getattr(c, "commands", {}) for name, c in root.commands.items()}  # type: ignore[attr-defined]
    for name, sub in re.findall(r"`triage ([a-z]+)(?: ([a-z]+))?", README):
        assert name in groups, name
        if groups[name] and sub:
            assert sub in groups[name], f"{name} {sub}"


def test_every_command_is_documented() -> None:
    root = get_command(app)
    for name in root.commands:  # type: ignore[attr-defined]
        assert f"`triage {name}" in README or f"triage {name}" in blocks()[0], name


def test_commands_of_the_readme_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    monkeypatch.chdir(ROOT)
    lines = [line for block in blocks()[2:] for line in block.splitlines()]
    commands = [shlex.split(line)[1:] for line in lines if line.startswith("triage ")]
    assert len(commands) >= 5 and lines[0] == ". .venv/bin/activate"
    for command in commands:
        assert run(command) == 0, (command, capsys.readouterr().err)


def test_the_changes_name_this_version_first() -> None:
    changes = README.partition("## Changes")[2]
    assert re.match(rf"\s*\*\*{re.escape(__version__)}\*\* \(\d{{4}}-\d\d-\d\d\)", changes)


def test_licence_texts_are_here_and_go_into_the_wheel() -> None:
    assert (
        'license-files = ["triage/reference/licences/*"]' in (ROOT / "pyproject.toml").read_text()
    )
    named = re.findall(
        r"`([^`/]+\.txt)`", (ROOT / "triage" / "reference" / "licences" / "README.md").read_text()
    )
    texts = {path.name for path in (ROOT / "triage" / "reference" / "licences").glob("*.txt")}
    assert set(named) == texts and all(
        (ROOT / "triage" / "reference" / "licences" / n).stat().st_size > 500 for n in texts
    )


def test_licence_terms_stand_in_readme_and_pyproject() -> None:
    assert "MIT" in README
    assert 'license = "MIT"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")


def test_the_top_level_holds_nothing_else() -> None:
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "triage",
        "models",
        "corpora",
        "tests",
    }
    made = {"build", "dist", "__pycache__", "triage.egg-info"}
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found - made <= allowed
