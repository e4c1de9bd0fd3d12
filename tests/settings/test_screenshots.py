from __future__ import annotations

import hashlib
import io
import sys
from pathlib import Path

import pytest

from triage.errors import ConfigError, SourceError
from triage.settings import screenshots
from triage.settings.read_settings import read_settings
from triage.settings.recording_session import Recording
from triage.settings.screenshots import TextPiece, in_rows, read_picture

ROWS = [
    ("Return-to-home altitude", "60 m"),
    ("Signal loss action", "Return to home"),
    ("Low battery warning", "30 %"),
    ("Landing protection", ""),
]


def picture(rows: list[tuple[str, str]]) -> bytes:
    image = pytest.importorskip("PIL.Image")
    draw = pytest.importorskip("PIL.ImageDraw")
    font = pytest.importorskip("PIL.ImageFont").load_default(size=28)
    made = image.new("RGB", (900, 60 + 80 * len(rows)), "white")
    for n, (name, value) in enumerate(rows):
        draw.Draw(made).text((40, 40 + 80 * n), name, fill="black", font=font)
        draw.Draw(made).text((650, 40 + 80 * n), value, fill="black", font=font)
    out = io.BytesIO()
    made.save(out, "PNG")
    return out.getvalue()


@pytest.fixture
def ocr() -> None:
    pytest.importorskip("rapidocr", reason="the extra `screenshots` is not installed")


def test_pieces_on_one_height_are_a_row() -> None:
    pieces = [
        TextPiece("60 m", 600, 12, 32),
        TextPiece("Return altitude", 10, 10, 30),
        TextPiece("Landing protection", 10, 60, 80),
        TextPiece("Max distance: 400 m", 10, 110, 130),
    ]
    pairs, single = in_rows(pieces)
    assert [(p.name, p.value) for p in pairs] == [
        ("Return altitude", "60 m"),
        ("Max distance", "400 m"),
    ]
    assert single == ["Landing protection"]


def test_a_picture_is_read_asked_about_and_remembered_by_its_digest(ocr: None, home: Path) -> None:
    data = picture(ROWS)
    recording = Recording("heron", "3.4.2")
    doubts = recording.read(read_settings(data, "list.png"))
    assert not recording.entries  # nothing stands unconfirmed
    assert [d.name for d in doubts] == [name for name, _ in ROWS]
    assert doubts[0].question == "is it set to 60 m?"
    assert "shows no value" in doubts[3].question  # a toggle is drawn, not written
    for doubt, answer in zip(doubts, ["y", "y", "25 %", "on"], strict=True):
        assert recording.answer(doubt, answer) is None
    values = {e.name: e.value.text for e in recording.entries.values()}
    assert values["Low battery warning"] == "25 %"
    assert recording.pictures[0].sha256 == hashlib.sha256(data).hexdigest()


@pytest.mark.parametrize("data", [b"", b"\x89PNG\r\n\x1a\nnonsense", b"\xff\xd8\xff", b"RIFF"])
def test_what_is_no_picture_is_one_line(ocr: None, data: bytes) -> None:
    with pytest.raises(SourceError, match=r"a\.png: is no picture that can be read"):
        read_picture(data, "a.png")


def test_an_empty_picture_is_one_line(ocr: None) -> None:
    with pytest.raises(SourceError, match="holds no text that can be read"):
        read_picture(picture([("", "")]), "a.png")


def test_without_the_extra_the_line_to_install_it_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    screenshots._engine.cache_clear()
    monkeypatch.setitem(sys.modules, "rapidocr", None)
    with pytest.raises(ConfigError, match=r"pip install rapidocr onnxruntime"):
        read_picture(b"\x89PNG", "a.png")
    screenshots._engine.cache_clear()
