"""Pictures to blocks by text recognition: the extra `screenshots` (rapidocr, models included).

Errors: SourceError for a picture that cannot be read, ConfigError when the extra is missing.
"""

from __future__ import annotations

import logging
from functools import cache
from typing import Any

from triage.errors import ConfigError, SourceError
from triage.reading.formats.blocks import Block
from triage.reading.formats.page_layout import Piece, page_lines
from triage.reading.formats.screen import screen
from triage.reading.formats.text import text_blocks

LIMIT = 30 * 1024 * 1024  # bytes
MOST_PIXELS = 60_000_000
LEAST_SURE = 0.5  # of a piece of text; below it nothing is made of it (assumption)


def picture_blocks(data: bytes, name: str) -> tuple[str, str, list[Block]]:
    """The text recognised, how it was found, and its blocks."""
    lines = [line.text for line in page_lines(pieces_in(data, name))]
    text = screen("\n".join(lines))
    if not text.strip():
        raise SourceError(
            "holds no text that can be read", where=name, mend="take it sharper, or paste the text"
        )
    return text, "text recognised in a picture", list(text_blocks(text))


def pieces_in(data: bytes, name: str) -> list[Piece]:
    """The pieces of text in a picture, in pixels from its upper left corner."""
    if len(data) > LIMIT:
        raise SourceError(f"is larger than {LIMIT >> 20} MB", where=name, mend="cut it to the text")
    engine = _engine()
    _refuse_huge(data, name)
    try:
        found = engine(data)
    except Exception as error:  # the libraries below raise their own, undocumented kinds
        raise _unreadable(name) from error
    if found.txts is None or found.boxes is None:
        return []
    return [
        _piece(text.strip(), box)
        for text, box, score in zip(found.txts, found.boxes, found.scores, strict=True)
        if score >= LEAST_SURE and text.strip()
    ]


def _piece(text: str, box: Any) -> Piece:
    across, down = [float(x) for x, _ in box], [float(y) for _, y in box]
    return Piece(min(across), min(down), max(across), max(down), text)


def _refuse_huge(data: bytes, name: str) -> None:
    import io
    import warnings

    from PIL import Image

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            width, height = Image.open(io.BytesIO(data)).size
    except Exception as error:
        raise _unreadable(name) from error
    if width * height > MOST_PIXELS:
        raise SourceError(
            f"has more than {MOST_PIXELS // 1_000_000} million pixels", where=name, mend="cut it"
        )


def _unreadable(name: str) -> SourceError:
    return SourceError("is no picture that can be read", where=name, mend="save it as PNG or JPEG")


@cache
def _engine() -> Any:
    try:
        from rapidocr import RapidOCR

        logging.getLogger("RapidOCR").setLevel(logging.ERROR)  # it reports each start
        return RapidOCR(params={"Global.log_level": "error"})
    except ImportError as error:
        raise ConfigError(
            "reading pictures needs an extra that is not installed",
            mend="pip install 'triage[screenshots]', or paste the text",
        ) from error
