"""The floor plan holds: imports run one way, rooms stay small, and only the edges print or exit."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "triage"

# From the ground floor up; a room imports only from rooms before it.
FLOORS = (
    ("errors",),
    ("domain", "resources"),
    ("vocabulary", "userfiles"),
    ("recordlog",),
    ("notes", "recognise"),
    ("classify",),
    ("kit",),
    ("looks",),
    ("advice",),
    ("pipeline",),
    ("journal", "updateday", "watch"),
    ("render",),
    ("web",),
    ("cli",),
)
LEVEL = {room: level for level, rooms in enumerate(FLOORS) for room in rooms}
MODULES = sorted(PACKAGE.rglob("*.py"))


def room(module: Path) -> str:
    return module.relative_to(PACKAGE).parts[0].removesuffix(".py")


def imported(module: Path) -> Iterator[tuple[str, ...]]:
    """The dotted names a module imports, wherever in it the import stands."""
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            yield tuple(node.module.split("."))
        elif isinstance(node, ast.Import):
            yield from (tuple(alias.name.split(".")) for alias in node.names)


def imports_of_triage(module: Path) -> set[str]:
    return {names[1] for names in imported(module) if names[0] == "triage" and len(names) > 1}


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_imports_run_down_only(module: Path) -> None:
    own = room(module)
    if own in ("__init__", "shipped"):
        return
    for other in imports_of_triage(module):
        assert other == own or LEVEL[other] < LEVEL[own], f"{own} imports {other}"


@pytest.mark.parametrize("module", sorted(PACKAGE.glob("advice/*.py")), ids=lambda m: m.name)
def test_advice_is_pure(module: Path) -> None:
    """No spaCy, scikit-learn, storage or clock where decisions are made."""
    banned = {"spacy", "sklearn", "sqlite3", "sqlalchemy", "time", "pathlib", "os"}
    assert not banned & {names[0] for names in imported(module)}
    assert "date.today" not in module.read_text(encoding="utf-8")


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_only_the_edges_print_or_exit(module: Path) -> None:
    if room(module) in ("cli", "web"):
        return
    calls = [
        node.func.id
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    ]
    assert not {"print", "exit", "quit", "input"} & set(calls)


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))
def test_no_module_outgrows_its_reason(module: Path) -> None:
    assert len(module.read_text(encoding="utf-8").splitlines()) <= 500


def test_no_pickle_anywhere() -> None:
    for module in MODULES:
        assert not {"pickle", "joblib", "dill", "marshal"} & {n[0] for n in imported(module)}
        assert "allow_pickle=True" not in module.read_text(encoding="utf-8")
