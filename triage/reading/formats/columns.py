"""Lines of columns to rows of a table: which lines belong to a row, and under which heading."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from triage.reading.formats.blocks import Block, Shape, flat
from triage.reading.mapped import Mapped, joined

MOST_COLUMNS = 40  # a line of more is no row
_LONGEST_LABEL = 40
_NEW_LINE = re.compile(r"[-*•◦·]\s|\d{1,2}[.)]\s")


class Field(NamedTuple):
    """A column's words in one line; `start` and `end` are its edges, or its number and -1.

    `last` is the length of its last line where it has several.
    """

    start: int
    end: int
    mapped: Mapped
    last: int = 0


class Line(NamedTuple):
    """A line as a block, and its fields; `by_number`: parted by bars or tabs, not by blanks.

    `ruled`: a rule of dashes stands right above.
    """

    block: Block
    fields: tuple[Field, ...]
    by_number: bool = False
    ruled: bool = False


class _Row(NamedTuple):
    line: Line
    fields: list[Field]
    more: list[Block]


def belongs(lines: Sequence[Line], line: Line) -> bool:
    """Whether a line may be part of the table that `lines` began."""
    if not lines:
        return len(line.fields) > 1
    if len(line.fields) > 1 and line.block.gap:
        first = lines[0]
        return (
            line.block.gap == 1
            and line.by_number == first.by_number
            and (abs(line.fields[0].start - first.fields[0].start) <= 1)
        )
    if len(line.fields) > 1:
        return True
    if line.block.gap or not line.fields or line.by_number != lines[-1].by_number:
        return False
    return line.by_number or line.fields[0].start >= lines[0].fields[1].start - 1


def rows_of(lines: Sequence[Line]) -> Iterator[Block]:
    """The rows of a table; lines as they are when there are not two rows in them."""
    rows: list[_Row] = []
    grid = sum(line.ruled for line in lines) > 1
    for line in lines:
        if rows and _continues(rows[-1], line, grid=grid):
            _merge(rows[-1], line)
        elif len(line.fields) > 1:
            rows.append(_Row(line, list(line.fields), []))
        elif rows and not rows[-1].more and _under(rows[-1], line):
            own = line.fields[0].mapped if line.by_number else line.block.mapped
            _merge(rows[-1], line._replace(fields=(line.fields[0]._replace(mapped=own),)))
        elif rows:
            rows[-1].more.append(line.block._replace(cells=()))
    if len(rows) < 2:
        yield from (line.block._replace(cells=()) for line in lines)
        return
    ruled = len(lines) > 1 and lines[1].ruled
    head = rows[0].fields if ruled or heads([field.mapped.text for field in rows[0].fields]) else []
    for number, row in enumerate(rows):
        cells = tuple(field.mapped for field in row.fields)
        named = tuple(_label(field, head) for field in row.fields) if number else ()
        yield row.line.block._replace(
            shape=Shape.ROW,
            mapped=flat(cells),
            cells=cells,
            labels=named if any(named) else (),
            level=int(number == 0 and bool(head)),
        )
        yield from row.more


def heads(cells: Sequence[str]) -> bool:
    """Whether the first row of a table looks like the headings of its columns.

    Two columns are names and values as often as not, and lose nothing without headings.
    """
    return len(cells) > 2 and not any(
        len(cell) > _LONGEST_LABEL or cell.endswith(":") or any(c.isdigit() for c in cell)
        for cell in cells
    )


def _continues(row: _Row, line: Line, *, grid: bool) -> bool:
    """A line without a first column goes on with the row above in a `grid`, where rules part the
    rows, and in the middle of a sentence."""
    if line.block.gap or line.ruled or len(line.fields) < 2 or line.by_number != row.line.by_number:
        return False
    first = row.line.fields[0]
    if line.fields[0].start <= first.start + (0 if line.by_number else 1):
        return False
    if not all(_above(field, row.fields) for field in line.fields):
        return False
    return grid or any(field.mapped.text[0].islower() for field in line.fields)


def _under(row: _Row, line: Line) -> bool:
    """Whether a line is the words of one cell; under the last cell it may be a line of its own."""
    return _above(line.fields[0], row.fields if line.by_number else row.fields[:-1]) is not None


def _above(field: Field, fields: Sequence[Field]) -> Field | None:
    return next((one for one in fields if abs(one.start - field.start) <= (field.end >= 0)), None)


def _merge(row: _Row, line: Line) -> None:
    for field in line.fields:
        for number, own in enumerate(row.fields):
            if abs(own.start - field.start) <= (field.end >= 0):
                between = "\n" if _begins(own, field) else " "
                row.fields[number] = own._replace(
                    end=max(own.end, field.end),
                    mapped=joined((own.mapped, field.mapped), between),
                    last=len(field.mapped.text),
                )
                break


def _begins(above: Field, field: Field) -> bool:
    """Whether a line of a cell begins a new one, and does not go on with the line above it."""
    text = field.mapped.text
    if _NEW_LINE.match(text) or above.mapped.text[-1] in ".!?;":
        return True
    if not text[0].isupper() or above.end < 0:
        return text[0].isupper()
    last = above.last or len(above.mapped.text)
    return last + 1 + len(text.split(" ", 1)[0]) < 0.75 * (above.end - above.start)


def _label(field: Field, head: Sequence[Field]) -> str:
    """The heading a field stands under: by its number, or by an edge or middle in common."""
    for one in head:
        if field.end < 0:
            if one.start == field.start:
                return one.mapped.text
        elif abs(one.start - field.start) <= 1 or abs(one.end - field.end) <= 1:
            return one.mapped.text
    if field.end >= 0:
        for one in head:
            if one.start <= field.end and field.start <= one.end:
                return one.mapped.text
    return ""
