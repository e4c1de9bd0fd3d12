"""Settings read from a picture of the screen; every value is for the operator to confirm.

Reading needs the extra `screenshots` (rapidocr, whose models come with its package). The state of
a toggle is a drawing and no text: such a name comes without a value, and has to be asked about.

Errors: SourceError for a picture that cannot be read, ConfigError when the extra is missing.
"""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Sequence
from functools import cache
from typing import Any, NamedTuple

from triage.domain.snapshots import Picture
from triage.errors import ConfigError, SourceError
from triage.settings.pasted_text import Pair, pairs_in

LIMIT = 30 * 1024 * 1024  # bytes
SUFFIXES = frozenset({".png", ".jpg", ".jpeg", ".webp", ".bmp"})
LEAST_SURE = 0.5  # of a piece of text; below it nothing is made of it (assumption)


class TextPiece(NamedTuple):
    """A piece of text in a picture: its left, top and bottom edge in pixels."""

    text: str
    left: float
    top: float
    bottom: float


class FromPicture(NamedTuple):
    """What a picture holds: names with values, names without, and the picture's digest."""

    pairs: tuple[Pair, ...]
    valueless: tuple[str, ...]
    picture: Picture


def read_picture(data: bytes, name: str) -> FromPicture:
    """The settings in a picture."""
    if len(data) > LIMIT:
        raise SourceError(f"is larger than {LIMIT >> 20} MB", where=name, mend="cut it to the list")
    pieces = _pieces(data, name)
    pairs, valueless = in_rows(pieces)
    if not pairs and not valueless:
        raise SourceError(
            "holds no text that can be read", where=name, mend="take it sharper, or type the values"
        )
    picture = Picture(name=name, sha256=hashlib.sha256(data).hexdigest())
    return FromPicture(tuple(pairs), tuple(valueless), picture)


def in_rows(pieces: Sequence[TextPiece]) -> tuple[list[Pair], list[str]]:
    """Pieces on one height are one row, the last its value; a row of one piece is read as text."""
    rows: list[list[TextPiece]] = []
    for piece in sorted(pieces, key=lambda p: p.top):
        row = next((r for r in rows if _level(r[0], piece)), None)
        if row is None:
            rows.append([piece])
        else:
            row.append(piece)
    pairs, single = [], []
    for n, row in enumerate(rows, start=1):
        texts = [piece.text for piece in sorted(row, key=lambda p: p.left)]
        if len(texts) > 1:
            pairs.append(Pair(" ".join(texts[:-1]).rstrip(": "), texts[-1], n))
        else:
            found, _ = pairs_in(texts[0])
            pairs += [pair._replace(line=n) for pair in found]
            single += [] if found else texts
    return pairs, single


def _level(one: TextPiece, other: TextPiece) -> bool:
    middle = (other.top + other.bottom) / 2
    return one.top <= middle <= one.bottom


def _pieces(data: bytes, name: str) -> list[TextPiece]:
    engine = _engine()
    try:
        found = engine(data)
    except Exception as error:  # the libraries below raise their own, undocumented kinds
        raise SourceError(
            "is no picture that can be read", where=name, mend="save it as PNG or JPEG"
        ) from error
    if found.txts is None or found.boxes is None:
        return []
    return [
        TextPiece(text.strip(), *_edges(box))
        for text, box, score in zip(found.txts, found.boxes, found.scores, strict=True)
        if score >= LEAST_SURE and text.strip()
    ]


def _edges(box: Any) -> tuple[float, float, float]:
    return (
        float(min(x for x, _ in box)),
        float(min(y for _, y in box)),
        float(max(y for _, y in box)),
    )


@cache
def _engine() -> Any:
    try:
        from rapidocr import RapidOCR

        logging.getLogger("RapidOCR").setLevel(logging.ERROR)  # it reports each start
        return RapidOCR(params={"Global.log_level": "error"})
    except ImportError as error:
        raise ConfigError(
            "reading pictures needs an extra that is not installed",
            mend="run: python -m pip install rapidocr onnxruntime",
        ) from error
