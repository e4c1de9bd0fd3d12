"""The neutral form of everything shown: titled sections of paragraphs, points and tables."""

from __future__ import annotations

from typing import Literal

from triage.domain.base import Frozen


class Paragraph(Frozen):
    """Running text; `strong` for what must not be missed."""

    form: Literal["paragraph"] = "paragraph"
    text: str
    strong: bool = False


class Figure(Frozen):
    """A plot as inline SVG; where none can be drawn, `text` says what it shows."""

    form: Literal["figure"] = "figure"
    text: str
    svg: str


class Point(Frozen):
    """One point of a list; `source` names the items and lines it rests on."""

    text: str
    source: str = ""
    level: int = 0


class Points(Frozen):
    """A list of points."""

    form: Literal["points"] = "points"
    points: tuple[Point, ...]
    numbered: bool = False


class Table(Frozen):
    """Rows under a head; all cells are plain text."""

    form: Literal["table"] = "table"
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


Block = Paragraph | Figure | Points | Table
"""What a section is made of; a new one is drawn by `text`, `markdown` and the templates."""


class Section(Frozen):
    """A title with what stands under it; `level` 1 is the head of a document."""

    title: str
    blocks: tuple[Block, ...] = ()
    level: int = 2


Outline = tuple[Section, ...]
