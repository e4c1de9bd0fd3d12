"""Rows of HTML tables: columns counted through spans, headings found, layout told from data."""

from __future__ import annotations

import re

from triage.reading.formats.blocks import Block, Shape, flat
from triage.reading.formats.columns import heads
from triage.reading.formats.tags import Tag, attribute
from triage.reading.mapped import joined

MOST_NESTED = 60  # tables open at once; deeper ones are read as part of the cell they stand in
_MOST_SPAN, _MOST_COLUMNS = 200, 500
_LONGEST_CELL, _MOST_BLOCKS = 3000, 40  # a larger cell is a part of the page, not a datum


class Table:
    """An open table; `out` takes its rows. `layout`: it only arranges the page."""

    def __init__(self, out: list[Block], *, layout: bool = False) -> None:
        self.out, self.layout = out, layout
        self.in_head = False
        self._labels: dict[int, str] = {}
        self._below: dict[int, int] = {}  # for each column how many more rows a cell reaches down
        self._row: list[tuple[int, int, bool, list[Block]]] = []  # column, width, heading, content
        self._open = self._in_row = False
        self._rows = 0

    def start_row(self) -> None:
        """Begin a row; spans from above take their columns."""
        self._row, self._in_row = [], True

    def start_cell(self, tag: Tag) -> list[Block]:
        """Begin a cell; what is returned takes its blocks."""
        column = self._row[-1][0] + self._row[-1][1] if self._row else 0
        while self._below.get(column, 0) > 0:
            column += 1
        width, height = _span(tag, "colspan"), _span(tag, "rowspan")
        content: list[Block] = []
        self._row.append((column, width, tag.name == "th" or self.in_head, content))
        if height > 1:
            for one in range(column, min(column + width, _MOST_COLUMNS)):
                self._below[one] = -height  # counts from the next row on
        self._open = self._in_row = True
        return content

    def end_cell(self, out: list[Block]) -> list[Block]:
        """End the cell that `out` belongs to, if one is open; returns where blocks go now."""
        if not self._open:
            return out
        self._open = False
        return self.out

    def end_row(self, quoted: int) -> None:
        """Hand the row on: as a row, or block by block where it is none."""
        if not self._in_row:
            return
        row, self._row, self._in_row = self._row, [], False
        self._below = {
            column: -left - 1 if left < 0 else left - 1
            for column, left in self._below.items()
            if left not in (0, 1)
        }
        full = [cell for cell in row if cell[3]]
        if not full:
            return
        if self.layout or len(full) == 1 or any(_is_part(content) for *_, content in full):
            alone = len(full) == 1 and len(full[0][3]) == 1 and full[0][2]
            for _, _, _, content in full:
                self.out += [content[0]._replace(bold=True)] if alone else content
            return
        self._emit(full, quoted)

    def _emit(self, full: list[tuple[int, int, bool, list[Block]]], quoted: int) -> None:
        cells = tuple(joined([block.mapped for block in content], "\n") for *_, content in full)
        words = [cell.text for cell in cells]
        head = all(heading for _, _, heading, _ in full) or (self._rows == 0 and heads(words))
        labels = () if head else tuple(self._labels.get(column, "") for column, *_ in full)
        if head:
            for (column, width, _, _), text in zip(full, words, strict=True):
                for one in range(column, min(column + width, _MOST_COLUMNS)):
                    above = self._labels.get(one, "") if self._rows else ""
                    self._labels[one] = f"{above} {text}".strip().replace("\n", " ")[:120]
        self.out.append(
            Block(
                Shape.ROW,
                flat(cells),
                level=int(head),
                quoted=quoted,
                gap=int(self._rows == 0),
                cells=cells,
                labels=labels if any(labels) else (),
            )
        )
        self._rows += 1


def _span(tag: Tag, name: str) -> int:
    if name not in tag.attributes.lower():
        return 1
    found = re.match(r"\d{1,4}", attribute(tag, name))
    return max(1, min(_MOST_SPAN, int(found[0]))) if found else 1


def _is_part(content: list[Block]) -> bool:
    """Whether a cell holds a part of the page: headings, a table, or very much."""
    return (
        len(content) > _MOST_BLOCKS
        or any(block.shape in (Shape.HEADING, Shape.ROW) for block in content)
        or sum(len(block.text) for block in content) > _LONGEST_CELL
    )
