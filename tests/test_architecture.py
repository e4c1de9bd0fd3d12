"""The floor plan holds: it is drawn in DEVELOPERS.md, and this test reads it there.

Imports run down the drawing, never up and never in a circle, wherever in a module they stand; only
the faces write to the terminal or end the process; modules and functions stay small.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "triage"
FACES = frozenset({"cli", "web"})
MODULES = sorted(PACKAGE.rglob("*.py"))
LONGEST_MODULE, LONGEST_FUNCTION = 400, 60
TO_BE_REWRITTEN = frozenset({"notes"})
each_module = pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(PACKAGE)))


@cache
def drawing() -> tuple[tuple[str, ...], ...]:
    """The floors as drawn, from the top down; each line starts with its rooms."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    block = re.search(r"## Floor plan\n.*?```\n(.*?)```", text, re.DOTALL)
    assert block
    lines = [line for line in block.group(1).splitlines() if re.match(r"\S", line)]
    return tuple(tuple(re.findall(r"([a-z_]+(?:/|\.py))(?=\s)", line)) for line in lines)


@cache
def levels() -> dict[str, int]:
    """How high each room lies; the ground floor is 0."""
    names = [[name.removesuffix("/").removesuffix(".py") for name in floor] for floor in drawing()]
    return {name: level for level, floor in enumerate(reversed(names)) for name in floor}


def room(module: Path) -> str:
    return module.relative_to(PACKAGE).parts[0].removesuffix(".py")


def dotted(module: Path) -> str:
    parts = ("triage", *module.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imported(source: str) -> Iterator[str]:
    """The dotted names a source imports, in functions and under TYPE_CHECKING too.

    `from a import b` gives `a.b`, as `b` may be a module.
    """
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and node.module:
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def upward(own: str, source: str) -> list[str]:
    """The imports by which a room reaches up or sideways."""
    rooms = {name.split(".")[1] for name in imported(source) if name.startswith("triage.")}
    known = levels()
    return sorted(r for r in rooms & known.keys() if r != own and known[r] >= known[own])


def to_the_terminal(source: str) -> list[str]:
    """Calls and names by which a source prints, asks or ends the process."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            found.append(node.func.id)
        elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            found.append(f"{node.value.id}.{node.attr}")
    banned = {"print", "input", "exit", "quit", "sys.exit", "os._exit"}
    return [f for f in found if f in banned | {"sys.stdout", "sys.stderr", "sys.stdin"}]


def test_the_drawing_is_the_tree() -> None:
    drawn = [name.removesuffix("/") for floor in drawing() for name in floor]
    tree = {p.name for p in PACKAGE.iterdir() if p.is_dir() and p.name[:1] != "_"} - {"shipped"}
    tree |= {p.name for p in PACKAGE.glob("*.py") if p.stem != "__init__"}
    assert sorted(drawn) == sorted(tree)


@each_module
def test_imports_run_down_only(module: Path) -> None:
    if room(module) in levels():
        assert not upward(room(module), module.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "source",
    ["from triage.cli import out", "def f():\n    import triage.web.app", "import triage.advice"],
)
def test_an_import_upwards_is_seen(source: str) -> None:
    assert upward("kit", source)
    assert not upward("web", "from triage.kit import load")


def test_no_modules_import_in_a_circle() -> None:
    names = {dotted(module) for module in MODULES}
    graph: dict[str, set[str]] = {}
    for module in MODULES:
        source = module.read_text(encoding="utf-8")
        found = {n if n in names else n.rpartition(".")[0] for n in imported(source)}
        graph[dotted(module)] = found & names - {dotted(module)}
    while leaves := {name for name, below in graph.items() if not below}:
        graph = {name: below - leaves for name, below in graph.items() if name not in leaves}
    assert not graph


@pytest.mark.parametrize("module", sorted(PACKAGE.glob("advice/*.py")), ids=lambda m: m.name)
def test_advice_is_pure(module: Path) -> None:
    """No spaCy, scikit-learn, storage or clock where decisions are made."""
    banned = {"spacy", "sklearn", "sqlite3", "sqlalchemy", "time", "pathlib", "os"}
    source = module.read_text(encoding="utf-8")
    assert not banned & {name.split(".")[0] for name in imported(source)}
    assert "date.today" not in source


@each_module
def test_only_the_faces_print_or_exit(module: Path) -> None:
    if room(module) not in FACES:
        assert not to_the_terminal(module.read_text(encoding="utf-8"))


@pytest.mark.parametrize("source", ["print(1)", "import sys\nsys.exit(2)", "sys.stdout.write('a')"])
def test_printing_and_exiting_are_seen(source: str) -> None:
    assert to_the_terminal(source)


@each_module
def test_modules_and_functions_stay_small(module: Path) -> None:
    source = module.read_text(encoding="utf-8")
    if room(module) in TO_BE_REWRITTEN:
        return
    assert len(source.splitlines()) <= LONGEST_MODULE
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            lines = (node.end_lineno or 0) - node.lineno + 1
            assert lines <= LONGEST_FUNCTION, node.name


SURROUNDINGS = {"date.today", "datetime.now", "datetime.utcnow", "time.time", "os.environ"}
KNOWS = {
    "app/environment.py",
    "storage/user_folder.py",  # TRIAGE_HOME
    "journal/database.py",  # TRIAGE_JOURNAL
    "journal/writer.py",  # an entry carries the moment it is written, under the lock
}


def surroundings(source: str) -> set[str]:
    """What a source asks of the clock and the environment."""
    names = [ast.unparse(n) for n in ast.walk(ast.parse(source)) if isinstance(n, ast.Attribute)]
    return SURROUNDINGS & {".".join(name.split(".")[-2:]) for name in names}


@each_module
def test_only_the_use_cases_know_clock_and_environment(module: Path) -> None:
    if str(module.relative_to(PACKAGE)) not in KNOWS:
        assert not surroundings(module.read_text(encoding="utf-8"))


def test_a_clock_is_seen() -> None:
    assert surroundings("import datetime as dt\nday = dt.date.today()")


@each_module
def test_faces_read_judge_and_advise_through_the_use_cases(module: Path) -> None:
    """What an advice is made from is gathered in `app/gather.py` alone."""
    if room(module) not in FACES:
        return
    found = set(imported(module.read_text(encoding="utf-8")))
    rooms = {name.split(".")[1] for name in found if name.startswith("triage.")}
    assert not {"storage", "notes", "reading", "classify", "training", "watch"} & rooms
    assert not {name for name in found if name.startswith("triage.advice.assess")}
    assert "triage.kit.load" not in found and "triage.reports.read" not in found


TWINS_TO_GO = {"Manifest", "Recipe", "Stage", "Table", "load", "save", "shipped"}  # the encoder's


def test_one_name_means_one_thing() -> None:
    """Public classes and functions; a command and a route of one act may share its name."""
    found: dict[str, list[str]] = {}
    for module in MODULES:
        if room(module) in FACES | TO_BE_REWRITTEN | {"reading"}:
            continue
        for node in ast.parse(module.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
                found.setdefault(node.name, []).append(str(module.relative_to(PACKAGE)))
    twins = {name: places for name, places in found.items() if len(places) > 1}
    assert not {name: twins[name] for name in twins.keys() - TWINS_TO_GO}


def test_no_pickle_anywhere() -> None:
    for module in MODULES:
        source = module.read_text(encoding="utf-8")
        loaded = {name.split(".")[0] for name in imported(source)}
        assert not {"pickle", "joblib", "dill", "marshal"} & loaded
        assert "allow_pickle=True" not in source
