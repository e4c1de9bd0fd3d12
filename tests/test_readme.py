"""The README tells what the tool does: its commands exist, and its CI is the same test command."""

from __future__ import annotations

import re
from pathlib import Path

from typer.main import get_command

from triage.cli.main import app

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
