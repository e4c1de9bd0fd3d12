"""What every format reader hands on: blocks of text in order, with exact place and layout."""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntEnum
from typing import NamedTuple

from triage.reading.mapped import Mapped, joined


class Shape(IntEnum):
    """What a block is in the layout of the document."""

    HEADING = 0  # marked as one by the format
    ENTRY = 1  # an entry of a list
    PARAGRAPH = 2
    LINE = 3  # a line of plain text, which may go on in the next one
    ROW = 4  # a row of a table
    CODE = 5


class Block(NamedTuple):
    """One block; `mapped` is its text without marker.

    `level` is the rank of a heading (1-6), the depth of an entry (from 0), 1 for a row of column
    headings; `marker` what stood before the text ('-', '1.', '☆'...), `indent` its column,
    `quoted` the depth of quotation. `gap` is the number of blank lines (or block borders) above.
    `bold`: all of it is. `cells` are the cells of a row that hold words, `labels` the headings of
    their columns, '' where unknown. A cell of several lines, paragraphs or entries has a line feed
    between them; there is no line feed in any other text.
    `soft`: the format itself says that the line goes on with the one above.
    """

    shape: Shape
    mapped: Mapped
    level: int = 0
    marker: str = ""
    indent: int = 0
    quoted: int = 0
    gap: int = 0
    bold: bool = False
    cells: tuple[Mapped, ...] = ()
    labels: tuple[str, ...] = ()
    soft: bool = False

    @property
    def text(self) -> str:
        """The block's words."""
        return self.mapped.text


def flat(cells: Sequence[Mapped]) -> Mapped:
    """The cells of a row in one line."""
    all_ = joined(cells)
    return Mapped(all_.text.replace("\n", " "), all_.runs)
