from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.domain.kit import Job, Kit, Unit
from triage.errors import ConfigError, StoreError
from triage.kit import kit_file, load_kit
from triage.kit.kit_check import kit_remarks

KIT = """# mine
needs = ["a steadier hover"] # really
functions = ["return-home"]

[[unit]]
label = "heron"
component = "drone" # any word for it
name = "Quillmere Heron 2"
version = "01.00.0500"
reversible = false

# the new one
[[unit]]
label = "battery-1"
component = "battery"
version = "same as the aircraft"

[[job]]
day = 2026-05-31
what = "roof survey"
"""


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    return tmp_path


@pytest.fixture
def path(home: Path) -> Path:
    path = home / "kit.toml"
    path.write_text(KIT)
    return path


def test_without_a_file_one_aircraft_is_assumed() -> None:
    assert load_kit() == Kit(units=(Unit(label="aircraft", component="aircraft"),), assumed=True)
    with pytest.raises(StoreError, match="no such file"):
        load_kit(Path("none.toml"))


def test_a_kit_is_read(path: Path) -> None:
    kit = load_kit()
    assert kit == load_kit(path)
    assert not kit.assumed
    assert [unit.component for unit in kit.units] == ["aircraft", "battery"]
    assert kit.units[0].reversible is False and kit.units[1].reversible is None
    assert kit.jobs == (Job(day=dt.date(2026, 5, 31), what="roof survey"),)
    assert kit.needs == ("a steadier hover",) and kit.functions == ("return-home",)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ('"drone"', '"hoverboard"', 7, "'hoverboard' is no component; write one of aircraft"),
        ('"return-home"', '"levitation"', 3, "'levitation' is no function"),
        ('"battery-1"', '"Heron"', 14, "two are called 'heron'; give each its own label"),
        ('"01.00.0500"', "1.10", 9, "put it in quotes"),
        ("reversible = false", 'reversible = "sometimes"', 10, "write true or false"),
        ("2026-05-31", '"31/5/2026"', 19, "write it as 2026-05-31"),
        ("what =", "wat =", 20, "known are: day, what"),
        ('label = "battery-1"\n', "", 13, "label of unit 2 is missing"),
        ('label = "battery-1"', 'label = " "', 14, "label of unit 2"),
    ],
)
def test_errors_name_line_and_mend(path: Path, old: str, new: str, line: int, words: str) -> None:
    path.write_text(KIT.replace(old, new))
    with pytest.raises(ConfigError) as caught:
        load_kit()
    assert f"kit.toml:{line}: " in str(caught.value) and words in str(caught.value)


def test_changes_keep_comments_and_everything_else(path: Path) -> None:
    before = load_kit()
    kit_file.add_unit(None, Unit(label="tiller", component="radio-controller", version="1.2"))
    kit_file.set_unit(None, "heron", version="01.00.0600", reversible=None, functions=("landing",))
    kit_file.add_job(None, dt.date(2026, 6, 2))
    kit_file.add_words(None, "needs", ["longer flights", "a steadier hover"])
    kit = kit_file.add_words(None, "functions", ["landing"])
    assert kit == load_kit()
    heron, _, tiller = kit.units
    assert (heron.version, heron.reversible, heron.functions) == ("01.00.0600", None, ("landing",))
    assert tiller == Unit(label="tiller", component="radio-controller", version="1.2")
    assert kit.needs == ("a steadier hover", "longer flights")
    text = path.read_text()
    for comment in ("# mine", "# really", "# any word for it", "# the new one"):
        assert comment in text

    kit_file.remove_unit(None, "tiller")
    kit_file.set_unit(None, "heron", version="01.00.0500", reversible=False, functions=())
    kit_file.remove_job(None, dt.date(2026, 6, 2))
    kit_file.remove_words(None, "needs", ["longer flights"])
    kit_file.remove_words(None, "functions", ["landing"])
    assert load_kit() == before


def test_the_first_command_makes_a_commented_file(home: Path) -> None:
    kit_file.add_unit(None, Unit(label="heron", component="aircraft"))
    text = (home / "kit.toml").read_text()
    assert text.startswith("# Everything of mine") and load_kit().units[0].label == "heron"
    kit = kit_file.remove_unit(None, "heron")
    assert kit.units == () and not kit.assumed
    kit = kit_file.add_unit(None, Unit(label="visor", component="goggles"))
    assert [unit.label for unit in kit.units] == ["visor"]


def test_taking_out_keeps_the_comments_of_the_rest(path: Path) -> None:
    kit_file.remove_unit(None, "Heron")
    kit_file.remove_job(None, dt.date(2026, 5, 31))
    text = path.read_text()
    assert '# the new one\n[[unit]]\nlabel = "battery-1"' in text and "# mine" in text
    assert "Heron" not in text and "[[job]]" not in text


def test_changes_that_cannot_be_made_are_one_line_and_change_nothing(path: Path) -> None:
    for change in (
        lambda: kit_file.add_unit(None, Unit(label="heron", component="aircraft")),
        lambda: kit_file.set_unit(None, "visor", version="1"),
        lambda: kit_file.remove_unit(None, "visor"),
        lambda: kit_file.remove_job(None, dt.date(2020, 1, 1)),
        lambda: kit_file.remove_words(None, "needs", ["fame"]),
        lambda: kit_file.add_words(None, "functions", ["fame"]),
        lambda: kit_file.set_unit(None, "heron", component="hoverboard"),
    ):
        with pytest.raises(ConfigError) as caught:
            change()  # type: ignore[no-untyped-call]
        assert caught.value.mend
    assert path.read_text() == KIT


words = st.text(st.characters(codec="utf-8", exclude_categories=["Cs"]), max_size=20)


@given(words.map(str.strip).filter(bool), words, words)
def test_any_words_come_back_as_written(label: str, name: str, version: str) -> None:
    from tempfile import TemporaryDirectory

    unit = Unit(label=label, component="app", name=name, version=version)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "kit.toml"
        try:
            kit_file.add_unit(path, unit)
        except ConfigError:
            assert not path.exists()  # a label with a line end inside
        else:
            assert load_kit(path).units == (unit,)


def test_check_says_what_is_missing_and_the_mend(path: Path) -> None:
    today = dt.date(2026, 6, 1)
    remarks = kit_remarks(load_kit(), today)
    assert len(remarks) == 2  # the battery's way back, and the job that is over
    assert "battery-1: whether it can go back" in remarks[0] and "2026-05-31" in remarks[1]
    path.write_text(KIT.replace('version = "01.00.0500"', ""))
    remarks = kit_remarks(load_kit(), today)
    assert any(r.startswith("heron: the installed version is not stated") for r in remarks)
    assert any(r.startswith("battery-1: 'same as the aircraft'") for r in remarks) or any(
        r.startswith("battery-1: the installed version is not stated") for r in remarks
    )
    path.unlink()
    assert "assumed" in kit_remarks(load_kit(), today)[0]
