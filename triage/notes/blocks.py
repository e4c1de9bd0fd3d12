"""What the readers of the formats hand on: blocks of a document, in order, with their places."""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple

from triage.domain.notes import Place
from triage.notes.lean import lean


class Shape(IntEnum):
    """What a block is in the layout of the document."""

    HEADING = 0
    ENTRY = 1
    PARAGRAPH = 2
    ROW = 3
    RULE = 4


class Block(NamedTuple):
    """One block: characters [start, end) and lines [line, end_line] of the source.

    `text` is without marker and line breaks, inline markup still in. `style` of a heading is
    'h1'...'h6', 'numbered', 'bold', 'plain' or 'release'; `level` of an entry is its nesting.
    """

    shape: Shape
    text: str
    start: int
    end: int
    line: int
    end_line: int
    level: int = 0
    style: str = ""
    cells: tuple[str, ...] = ()

    def place(self) -> Place:
        """The block's place in the source."""
        return lean(Place(start=self.start, end=self.end, line=self.line, end_line=self.end_line))


class Line(NamedTuple):
    """One line without its outer blanks: its words, where they stand, and their indent."""

    text: str
    start: int
    end: int
    number: int
    indent: int


def lines_of(text: str, start: int = 0, number: int = 1) -> list[Line]:
    """Cut text that begins at `start`, line `number`, of the source into lines (LF, CRLF or CR)."""
    found = []
    for raw in text.splitlines(keepends=True):
        body = raw.strip()
        if body:
            lead = len(raw) - len(raw.lstrip())
            indent = lead if "\t" not in raw[:lead] else len(raw[:lead].expandtabs(4))
            found.append(Line(body, start + lead, start + lead + len(body), number, indent))
        else:
            found.append(Line("", start, start, number, 0))
        start += len(raw)
        number += 1
    return found
