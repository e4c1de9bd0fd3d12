from pathlib import Path

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from triage.errors import SourceError
from triage.reference.shipped import folder
from triage.settings.entries import entries_from
from triage.settings.exports import from_csv, from_json, from_toml
from triage.settings.pasted_text import lines_in, pairs_in
from triage.settings.read_settings import read_settings

WANTED = [("Return altitude", "60 m"), ("Beginner mode", "Off")]


@pytest.mark.parametrize(
    "text",
    [
        "Return altitude: 60 m\nBeginner mode: Off",
        "Return altitude = 60 m\nBeginner mode = Off",
        "Return altitude\t60 m\nBeginner mode\tOff",
        "Return altitude ...... 60 m\nBeginner mode ........ Off",
        "Return altitude    60 m\nBeginner mode      Off",
        "Return altitude 60 m\nBeginner mode Off",
        "- Return altitude: 60 m\n- Beginner mode: Off",
        "1. Return altitude: 60 m\n2. Beginner mode: Off",
        "| Setting | Value |\n|---|---|\n| Return altitude | 60 m |\n| Beginner mode | Off |",
        "Return altitude\n60 m\nBeginner mode\nOff",
        "SAFETY\nReturn altitude: 60 m\n\n## Pilot\nBeginner mode: Off",
        "Return altitude (m): 60\nBeginner mode: Off",
        "Return altitude -> 60 m\nBeginner mode → Off",
        "Return altitude — 60 m\nBeginner mode — Off",
        "**Return altitude**: 60 m\r\n**Beginner mode**: Off\r\n",
    ],
)
def test_layouts(text: str) -> None:
    pairs, unread = pairs_in(text)
    assert [(p.name, p.value) for p in pairs] == WANTED
    assert not unread


def test_lines_that_hold_no_setting_are_told() -> None:
    pairs, unread = pairs_in("Return altitude: 60 m\nthe quick brown 7 foxes jump over it\n")
    assert [(u.line, u.text) for u in unread] == [(2, "the quick brown 7 foxes jump over it")]
    assert len(pairs) == 1


def test_the_demo_settings_read_whole() -> None:
    for name, count in (("settings-before.txt", 24), ("settings-after.txt", 24)):
        pairs, unread = pairs_in((folder("corpora") / "demo" / name).read_text())
        assert (len(pairs), unread) == (count, [])


@given(st.text(max_size=400))
def test_any_text_is_read(text: str) -> None:
    pairs, unread = pairs_in(text)
    assert all(p.name and p.line >= 1 for p in pairs)
    assert all(u.line >= 1 for u in unread)


@pytest.mark.parametrize(
    "text",
    [
        "name,value\nReturn altitude,60 m\nBeginner mode,Off\n",
        "Setting;Value\nReturn altitude;60 m\nBeginner mode;Off\n",
        "group,name,value,unit\nA,Return altitude,60,m\nB,Beginner mode,Off,\n",
        "Return altitude,60 m\nBeginner mode,Off\n",
    ],
)
def test_csv(text: str) -> None:
    assert [(p.name, p.value) for p in from_csv(text, "s.csv")] == WANTED


@pytest.mark.parametrize(
    "text",
    [
        '{"Return altitude": "60 m", "Beginner mode": "Off"}',
        '{"unit": "heron", "safety": {"Return altitude": "60 m"},'
        ' "pilot": {"Beginner mode": "Off"}}',
        '[{"name": "Return altitude", "value": 60, "unit": "m"},'
        ' {"name": "Beginner mode", "value": "Off"}]',
        '{"Return altitude": {"value": 60, "unit": "m"}, "Beginner mode": "Off"}',
    ],
)
def test_json(text: str) -> None:
    assert [(p.name, p.value) for p in from_json(text, "s.json")] == WANTED


def test_toml() -> None:
    text = '"Return altitude" = "60 m"\n[pilot]\n"Beginner mode" = false\n'
    assert [(p.name, p.value.title()) for p in from_toml(text, "s.toml")] == [
        ("Return altitude", "60 M"),
        ("Beginner mode", "Off"),
    ]


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("s.json", b"{", "s.json:1: is not JSON"),
        ("s.json", b"[1]", "list of other than settings"),
        ("s.json", b"3", "holds no settings"),
        ("s.json", b'{"a":' * 30 + b"1" + b"}" * 30, "nested too deep"),
        ("s.toml", b"= 1", "is not TOML"),
        ("s.csv", b"a,b\nc\n", "s.csv:2: has no value"),
        ("s.txt", b"", "holds no settings"),
        ("s.txt", b"caf\xe9: 1", "is not UTF-8"),
        ("s.txt", b"a\0b: 1", "is no text"),
        ("s.txt", b"a: 1\n" * 2_000_000, "larger than 5 MB"),
    ],
)
def test_bad_sources_are_one_line(name: str, data: bytes, words: str) -> None:
    with pytest.raises(SourceError, match=words) as error:
        read_settings(data, name)
    assert "\n" not in str(error.value)


def test_utf_16_and_a_mark_at_the_start(tmp_path: Path) -> None:
    text = "Return altitude: 60 m"
    for data in (text.encode("utf-16"), text.encode("utf-8-sig")):
        assert read_settings(data, "s.txt").pairs[0].name == "Return altitude"


@given(st.binary(max_size=200), st.sampled_from(["s.csv", "s.json", "s.toml", "s.txt", "paste"]))
def test_any_bytes_are_read_or_refused_in_one_line(data: bytes, name: str) -> None:
    assume(not data.startswith((b"\x89PNG", b"\xff\xd8\xff", b"RIFF")))
    try:
        assert read_settings(data, name).pairs
    except SourceError as error:
        assert "\n" not in str(error)


@example("\t0", "s.csv")  # a value without a name
@given(st.text(max_size=200), st.sampled_from(["s.csv", "s.json", "s.toml"]))
def test_any_text_is_read_or_refused_in_one_line(text: str, name: str) -> None:
    try:
        pairs = read_settings(text.encode("utf-8", "ignore"), name).pairs
        assert entries_from(pairs)
    except SourceError as error:
        assert "\n" not in str(error)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        # a choice below its name
        (
            "Signal loss action\nReturn to home\nReturn altitude\n60 m\n",
            [("Signal loss action", "Return to home"), ("Return altitude", "60 m")],
        ),
        # a heading, then two-line and one-line forms together
        (
            "Safety\nReturn altitude\n60 m\nBeginner mode: Off\n",
            [("Return altitude", "60 m"), ("Beginner mode", "Off")],
        ),
        # no colon, and a choice for a value
        (
            "Signal loss action Return to home\nReturn altitude 60 m\n",
            [("Signal loss action", "Return to home"), ("Return altitude", "60 m")],
        ),
    ],
)
def test_forms_without_a_mark_between(text: str, wanted: list[tuple[str, str]]) -> None:
    pairs, unread = pairs_in(text)
    assert [(p.name, p.value) for p in pairs] == wanted
    assert not unread


@given(
    st.lists(st.text(st.characters(categories=["Ll", "Nd", "Zs", "Po"]), max_size=30), max_size=12)
)
def test_no_line_that_holds_a_word_vanishes(lines: list[str]) -> None:
    pairs, others = lines_in("\n".join(lines))
    told = {p.line for p in pairs} | {u.line for u in others}
    told |= {p.line + 1 for p in pairs}  # a value below its name
    for n, line in enumerate("\n".join(lines).splitlines(), start=1):
        if any(c.isalpha() for c in line):
            assert n in told


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ('{"rth": {"altitude": {"value": 60, "unit": "m"}}}', [("rth altitude", "60 m")]),
        (
            '{"flight": {"limits": {"maxAltitude": "110 m", "maxDistance": "400 m"}}}',
            [("max altitude", "110 m"), ("max distance", "400 m")],
        ),
        ('{"a": {"mode": "x"}, "b": {"mode": "y"}}', [("mode", "x"), ("b mode", "y")]),
        ('{"channels": [1, 2, 3], "spare": null}', [("channels", "1, 2, 3"), ("spare", "none")]),
        (
            '{"presets": [{"speed": "3 m/s"}, {"speed": "5 m/s"}]}',
            [("speed", "3 m/s"), ("presets 2 speed", "5 m/s")],
        ),
        (
            '[{"name": "Expo", "value": 0.3}, {"name": "Mode", "value": 2}]',
            [("Expo", "0.3"), ("Mode", "2")],
        ),
    ],
)  # fmt: skip
def test_nested_json(text: str, wanted: list[tuple[str, str]]) -> None:
    found = read_settings(text.encode(), "paste", pasted=True)
    assert [(p.name, p.value) for p in found.pairs] == wanted
