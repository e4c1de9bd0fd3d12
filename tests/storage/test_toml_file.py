from __future__ import annotations

import datetime as dt
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tomlkit import TOMLDocument

from triage.domain.base import Frozen
from triage.errors import ConfigError, StoreError
from triage.storage import atomic_write, toml_file, user_folder


class Thing(Frozen):
    label: str
    version: str = ""
    spare: bool = False
    day: dt.date | None = None


class Shelf(Frozen):
    thing: tuple[Thing, ...] = ()
    words: tuple[str, ...] = ()


GOOD = """# my shelf
words = [
  "one",  # first
  "two",
]

[[thing]]
label = "a"
version = "1.4"

[[thing]]
label = "b"
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_home_follows_the_environment(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert user_folder.home() == folder
    assert user_folder.user_file("kit.toml") == folder / "kit.toml"
    monkeypatch.delenv("TRIAGE_HOME")
    assert user_folder.home().name == "triage"


def test_what_is_made_is_the_users_alone(folder: Path) -> None:
    path = folder / "deeper" / "shelf.toml"
    toml_file.edit_toml(path, Shelf, lambda document: None, start=GOOD)
    assert mode(folder) == mode(folder / "deeper") == 0o700
    assert mode(path) == 0o600
    assert not list(path.parent.glob("*.tmp"))


def test_an_edit_keeps_comments_mode_links_and_the_rest(tmp_path: Path) -> None:
    real = tmp_path / "real.toml"
    real.write_text(GOOD)
    real.chmod(0o640)
    link = tmp_path / "link.toml"
    link.symlink_to(real)

    def change(document: TOMLDocument) -> None:
        document["thing"][1]["version"] = "2"

    result = toml_file.edit_toml(link, Shelf, change)
    assert result.thing[1].version == "2"
    assert real.read_text() == GOOD + 'version = "2"\n'
    assert link.is_symlink() and mode(real) == 0o640


def test_an_edit_that_does_not_hold_writes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "shelf.toml"
    path.write_text(GOOD)

    def change(document: TOMLDocument) -> None:
        document["colour"] = "red"

    with pytest.raises(ConfigError, match="colour is not a key known here"):
        toml_file.edit_toml(path, Shelf, change)
    assert path.read_text() == GOOD


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        (GOOD + "version = 1.10\n", 13, "version of thing 2 is 1.1, not text; put it in quotes"),
        (GOOD + "colour = 1\n", 13, "known are: label, version, spare, day"),
        (GOOD.replace('label = "a"\n', ""), 7, "label of thing 1 is missing; add label = ..."),
        (GOOD + 'spare = "perhaps"\n', 13, "write true or false without quotes"),
        (GOOD + 'day = "05/31/2026"\n', 13, "write it as 2026-05-31"),
        (GOOD.replace('"two"', "2"), 2, "words 2 is 2, not text"),
        (GOOD + "version 2\n", 13, "is not TOML"),
        (GOOD + '[[thing]\nlabel = "c"\n', 13, "is not TOML"),
        ('words = ["one"', 1, "is not TOML"),
        ("thing = 4\n", 1, "thing is 4, not a list"),
    ],
)
def test_errors_name_file_line_and_mend(tmp_path: Path, text: str, line: int, words: str) -> None:
    path = tmp_path / "shelf.toml"
    path.write_text(text)
    with pytest.raises(ConfigError) as caught:
        toml_file.load_toml(path, Shelf)
    message = str(caught.value)
    assert message.startswith(f"{path}:{line}: ") and words in message and "\n" not in message
    assert caught.value.mend


def test_text_in_another_encoding_names_the_line(tmp_path: Path) -> None:
    path = tmp_path / "shelf.toml"
    path.write_bytes(b"# fine\n# caf\xe9\n")
    with pytest.raises(ConfigError, match=r"shelf.toml:2: is not UTF-8"):
        toml_file.load_toml(path, Shelf)
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert len(toml_file.load_toml(path, Shelf).thing) == 2


def test_missing_file_and_unusable_folder_are_one_line(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="no such file"):
        toml_file.load_toml(tmp_path / "none.toml", Shelf)
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreError):
        toml_file.edit_toml(tmp_path / "file" / "shelf.toml", Shelf, lambda document: None)


def test_a_failed_replacement_leaves_the_old_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "shelf.toml"
    path.write_text("old")

    def fail(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(StoreError, match="no space left"):
        atomic_write.replace_text(path, "new")
    assert path.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["shelf.toml"]


ADD = """
import sys
from pathlib import Path
from pydantic import BaseModel
from triage.storage.toml_file import edit_toml
class Words(BaseModel):
    words: list[str] = []
for n in range(10):
    edit_toml(Path(sys.argv[1]), Words, lambda d: d["words"].append(f"{sys.argv[2]}{n}"),
              start="words = []")
"""


def test_two_processes_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "words.toml"
    runs = [subprocess.Popen([sys.executable, "-c", ADD, str(path), name]) for name in "ab"]
    assert [run.wait(60) for run in runs] == [0, 0]
    words = toml_file.load_toml(path, Shelf).words
    assert sorted(words) == sorted(f"{name}{n}" for name in "ab" for n in range(10))


def test_a_lock_that_is_held_is_reported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(atomic_write, "LOCK_SECONDS", 0.05)
    path = tmp_path / "shelf.toml"
    with (
        atomic_write.locked(path),
        pytest.raises(StoreError, match="another process"),
        atomic_write.locked(path),
    ):
        pass


@given(st.lists(st.lists(st.sampled_from(["# note", ""]), max_size=3), min_size=1, max_size=6))
def test_line_of_finds_the_key_whatever_stands_between(gaps: list[list[str]]) -> None:
    lines: list[str] = []
    wanted = []
    for number, gap in enumerate(gaps):
        lines += [*gap, "[[thing]]", 'note = """', "label = 1", '"""', f"label = 'x{number}'"]
        wanted.append(len(lines))
    text = "\n".join(lines)
    for number, line in enumerate(wanted):
        assert toml_file.line_of(text, ("thing", number, "label")) == line


@given(st.text(max_size=200))
def test_any_text_gives_a_shelf_or_a_config_error(text: str) -> None:
    try:
        toml_file.parse_toml(text, Shelf, where="shelf.toml")
    except ConfigError as error:
        assert "\n" not in str(error)


def test_import_is_light() -> None:
    code = (
        "import sys, triage.storage.toml_file; "
        "print([m for m in ('tomlkit', 'filelock', 'platformdirs', 'rapidfuzz', 'packaging')"
        " if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"
