"""Pieces of text on a page to lines of text: rows by height, columns by the room between them.

A row keeps its columns by blanks, as a page printed with letters of one width would.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

_WIDEST = 240  # columns of a line
_ROOM = 2.2  # letters of room from which two pieces are two columns


class Piece(NamedTuple):
    """A run of words in the order of the file; edges in points or pixels, `top` < `bottom`."""

    left: float
    top: float
    right: float
    bottom: float
    text: str
    size: float = 0.0
    bold: bool = False


class Line(NamedTuple):
    """A line of the page as text ('' for a wide gap), with the size and weight it begins in."""

    text: str
    size: float = 0.0
    bold: bool = False


def page_lines(pieces: Sequence[Piece]) -> Iterator[Line]:
    """The lines of a page in reading order."""
    if not pieces:
        return
    widths = sorted((p.right - p.left) / max(1, len(p.text)) for p in pieces)
    letter = max(widths[len(widths) // 2], 0.5)
    for number, column in enumerate(_columns(pieces)):
        if number:
            yield Line("")
        yield from _column_lines(column, letter)


def _columns(pieces: Sequence[Piece]) -> list[list[Piece]]:
    """Split a page at a gutter that hardly a piece crosses, if the file goes column by column.

    A table has such gutters too, but goes from side to side, row by row.
    """
    if len(pieces) < 8:
        return [list(pieces)]
    left, right = min(p.left for p in pieces), max(p.right for p in pieces)
    near, far = left + 0.3 * (right - left), left + 0.7 * (right - left)
    starts = sorted({round(p.left) - 1 for p in pieces if near < p.left - 1 < far})
    best: tuple[int, int] | None = None
    for cut in starts[:: max(1, len(starts) // 60)]:
        sides = [side for p in pieces if (side := _side(p, cut)) and len(p.text) > 15]
        crossing = sum(_side(p, cut) == 0 for p in pieces)
        changes = sum(a != b for a, b in pairwise(sides))
        two = min(sides.count(-1), sides.count(1)) >= 4
        column_wise = changes <= 1 + 0.1 * len(sides)
        if two and column_wise and crossing <= 0.1 * len(pieces):
            best = min(best or (crossing, cut), (crossing, cut))
    if best is None:
        return [list(pieces)]
    # What crosses the gutter above both columns comes first, what crosses it below them last.
    cut = best[1]
    top = min(p.top for p in pieces if _side(p, cut))
    parts = (
        [p for p in pieces if _side(p, cut) == 0 and p.top <= top],
        [p for p in pieces if _side(p, cut) == -1],
        [p for p in pieces if _side(p, cut) == 1],
        [p for p in pieces if _side(p, cut) == 0 and p.top > top],
    )
    return [part for part in parts if part]


def _side(piece: Piece, cut: float) -> int:
    """-1 left of the cut, 1 right of it, 0 across it."""
    if piece.left >= cut:
        return 1
    return -1 if piece.right <= cut else 0


def _column_lines(pieces: Sequence[Piece], letter: float) -> Iterator[Line]:
    rows: list[list[Piece]] = []
    for piece in sorted(pieces, key=lambda p: ((p.top + p.bottom) / 2, p.left)):
        middle = (piece.top + piece.bottom) / 2
        first = rows[-1][0] if rows else None
        if first and abs((first.top + first.bottom) / 2 - middle) < 0.4 * (
            first.bottom - first.top
        ):
            rows[-1].append(piece)
        else:
            rows.append([piece])
    left = min(piece.left for piece in pieces)
    gaps = sorted(_gap(a, b) for a, b in pairwise(rows))
    usual = max(0.0, gaps[len(gaps) // 3]) if gaps else 0.0
    for number, row in enumerate(rows):
        row.sort(key=lambda p: p.left)
        if number and _gap(rows[number - 1], row) > 1.45 * usual + 0.1 * letter:
            yield Line("")
        yield Line(_text(row, left, letter), row[0].size, all(piece.bold for piece in row))


def _gap(upper: Sequence[Piece], lower: Sequence[Piece]) -> float:
    return lower[0].bottom - upper[0].bottom


def _text(row: Sequence[Piece], left: float, letter: float) -> str:
    text = ""
    for number, piece in enumerate(row):
        column = min(_WIDEST, max(0, round((piece.left - left) / letter)))
        if number == 0:
            text = " " * column
        elif piece.left - row[number - 1].right > _ROOM * letter and len(text.split()) > 1 - (
            len(text.strip()) > 2
        ):
            text += " " * max(3, column - len(text))
        elif piece.left - row[number - 1].right > 0.15 * letter:
            text += " "
        text += piece.text
    return text
