import io

import pytest

from triage.errors import ConfigError, SourceError
from triage.reading.formats import document_blocks, picture
from triage.reading.formats.page_layout import Piece, page_lines

PNG = b"\x89PNG\r\n\x1a\n"


def test_pieces_on_one_height_are_columns_of_a_row() -> None:
    pieces = [
        Piece(520, 32, 650, 58, "01.04.0500"),
        Piece(30, 30, 230, 58, "Aircraft firmware"),
        Piece(30, 90, 110, 118, "Remote"),
        Piece(520, 92, 650, 118, "01.02.0300"),
        Piece(30, 260, 400, 288, "Fixed a crash of the map"),
    ]
    lines = [line.text.split("   ") for line in page_lines(pieces)]
    assert [[w.strip() for w in line if w.strip()] for line in lines] == [
        ["Aircraft firmware", "01.04.0500"],
        ["Remote", "01.02.0300"],
        [],
        ["Fixed a crash of the map"],
    ]


def test_without_the_extra_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing() -> None:
        raise ConfigError(
            "reading pictures needs an extra that is not installed", mend="install it"
        )

    monkeypatch.setattr(picture, "_engine", missing)
    with pytest.raises(ConfigError, match="needs an extra"):
        document_blocks(PNG, "a.png")


def test_a_picture_is_read() -> None:
    pytest.importorskip("rapidocr")
    from PIL import Image, ImageDraw, ImageFont

    image = Image.new("RGB", (900, 200), "white")
    draw = ImageDraw.Draw(image)
    font = ImageFont.load_default(28)
    for at, words in enumerate(("Version 4.2.1", "Fixed a crash of the map")):
        draw.text((30, 30 + 70 * at), words, fill="black", font=font)
    file = io.BytesIO()
    image.save(file, "PNG")
    found = document_blocks(file.getvalue(), "a.png").blocks
    assert [b.text.lower() for b in found] == ["version 4.2.1", "fixed a crash of the map"]


def test_a_broken_or_huge_picture_is_refused() -> None:
    pytest.importorskip("rapidocr")
    with pytest.raises(SourceError, match="no picture that can be read"):
        document_blocks(PNG + b"broken", "a.png")
    from PIL import Image

    file = io.BytesIO()
    Image.new("1", (10_000, 10_000)).save(file, "PNG")
    with pytest.raises(SourceError, match="million pixels"):
        document_blocks(file.getvalue(), "a.png")
