"""PDF to text: columns read one after the other, words hyphenated at line ends joined again.

The text extracted is the source that spans and line numbers refer to.
Errors: SourceError for a damaged or locked file, and for one that holds pictures only.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import NamedTuple

import pypdfium2 as pdfium

from triage.errors import SourceError

_HYPHEN = re.compile(r"([A-Za-z]{1,40})[-\u00ad\u2010\ufffe\x02]\n[ ]{0,200}([a-z]{1,40})")
_GUTTER = 12.0  # points; words on a line stand closer than columns do


class _Piece(NamedTuple):
    """A run of text on one line of a page, in points from the lower left corner."""

    left: float
    bottom: float
    right: float
    top: float
    text: str


def extract(data: bytes, name: str) -> str:
    """The text of all pages, in reading order."""
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as error:
        locked = "assword" in str(error)
        raise SourceError(
            "the PDF is locked by a password" if locked else "the PDF is damaged",
            where=name,
            mend="save it without a password" if locked else "download it again, or paste its text",
        ) from error
    pages = []
    try:
        for number in range(len(document)):
            pages.append(_page(document, number))
    except pdfium.PdfiumError as error:
        raise SourceError(
            f"page {number + 1} of the PDF is damaged", where=name, mend="paste its text instead"
        ) from error
    finally:
        document.close()
    text = _dehyphenate("\n\n".join(page for page in pages if page.strip()))
    if not text.strip():
        raise SourceError(
            "the PDF holds pictures, no text", where=name, mend="paste the text of the notes"
        )
    return text


def _dehyphenate(text: str) -> str:
    """Join words divided at line ends; a compound keeps its hyphen if it stands so elsewhere."""

    def joined(found: re.Match[str]) -> str:
        left, right = found.groups()
        return f"{left}-{right}" if f"{left}-{right}" in text else left + right

    return _HYPHEN.sub(joined, text)


def _page(document: pdfium.PdfDocument, number: int) -> str:
    page = document[number]
    words = page.get_textpage()
    try:
        pieces = []
        for index in range(words.count_rects()):
            left, bottom, right, top = words.get_rect(index)
            text = words.get_text_bounded(left, bottom, right, top).strip("\r\n\0 ")
            if text:
                pieces.append(_Piece(left, bottom, right, top, " ".join(text.split())))
        return "\n".join(_column_text(column) for column in _columns(pieces))
    finally:
        words.close()
        page.close()


def _columns(pieces: list[_Piece]) -> list[list[_Piece]]:
    """Split a page at a gutter that no piece crosses and that has lines on both its sides."""
    if len(pieces) < 8:
        return [pieces] if pieces else []
    left, right = min(p.left for p in pieces), max(p.right for p in pieces)
    middle = (left + 0.3 * (right - left), left + 0.7 * (right - left))
    best: tuple[int, int] | None = None
    for cut in sorted({int(p.left) - 1 for p in pieces if middle[0] < p.left - 1 < middle[1]}):
        crossing = sum(_side(p, cut) == 0 for p in pieces)
        wide = [_side(p, cut) for p in pieces if len(p.text) > 15]
        two_sided = min(wide.count(-1), wide.count(1)) >= 4
        if two_sided and crossing <= 0.1 * len(pieces) and (best is None or crossing < best[0]):
            best = (crossing, cut)
    if best is None:
        return [pieces]
    parts = ([p for p in pieces if _side(p, best[1]) == side] for side in (0, -1, 1))
    return [part for part in parts if part]


def _side(piece: _Piece, cut: int) -> int:
    """-1 left of the cut, 1 right of it, 0 across it."""
    if piece.left >= cut:
        return 1
    return -1 if piece.right <= cut else 0


def _column_text(pieces: list[_Piece]) -> str:
    """Lines from top to bottom; a wide gap between lines becomes a blank line."""
    rows: list[list[_Piece]] = []
    for piece in sorted(pieces, key=lambda p: (-(p.top + p.bottom) / 2, p.left)):
        middle = (piece.top + piece.bottom) / 2
        if rows and abs((rows[-1][0].top + rows[-1][0].bottom) / 2 - middle) < 4:
            rows[-1].append(piece)
        else:
            rows.append([piece])
    left = min(piece.left for piece in pieces)
    lines = []
    gaps = sorted(_gap(a, b) for a, b in pairwise(rows))
    usual = gaps[len(gaps) // 3] if gaps else 0.0
    for number, row in enumerate(rows):
        row.sort(key=lambda p: p.left)
        if number and _gap(rows[number - 1], row) > 1.45 * usual + 1:
            lines.append("")
        lines.append(" " * max(0, round((row[0].left - left) / 6)) + _row_text(row))
    return "\n".join(lines)


def _gap(upper: list[_Piece], lower: list[_Piece]) -> float:
    return upper[0].bottom - lower[0].bottom


def _row_text(row: list[_Piece]) -> str:
    """Pieces of a line; a wide gap is a table's column and becomes a tab."""
    text = row[0].text
    for before, piece in pairwise(row):
        wide = piece.left - before.right > _GUTTER and not re.fullmatch(
            r"[•◦▪●○‣·–—*-]|\d{1,2}[.)]", before.text
        )
        text += ("\t" if wide else " ") + piece.text
    return text
