"""An outline as Markdown (CommonMark with pipe tables)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import assert_never

from triage.render.outline import Block, Figure, Outline, Paragraph, Points, Section, Table

_SPECIAL = re.compile(r"([\\`*_\[\]<>#|~])")


def to_markdown(outline: Outline) -> str:
    """The outline with a final newline; text from notes is escaped."""
    return "\n".join(line for section in outline for line in _section(section))


def _section(section: Section) -> Iterator[str]:
    if section.title:
        yield f"{'#' * section.level} {escaped(section.title)}"
        yield ""
    for block in section.blocks:
        yield from _block(block)
        yield ""


def _block(block: Block) -> Iterator[str]:
    match block:
        case Paragraph():
            text = escaped(block.text)
            yield f"**{text}**" if block.strong else text
        case Figure():
            yield escaped(block.text)
        case Points():
            yield from _points(block)
        case Table():
            yield from _table(block)
        case _:
            assert_never(block)


def _points(block: Points) -> Iterator[str]:
    for number, point in enumerate(block.points, 1):
        mark = f"{number}." if block.numbered else "-"
        source = f" ({escaped(point.source)})" if point.source else ""
        yield f"{'  ' * point.level}{mark} {escaped(point.text)}{source}"


def _table(table: Table) -> Iterator[str]:
    yield f"| {' | '.join(escaped(cell) for cell in table.head)} |"
    yield f"|{'---|' * len(table.head)}"
    for row in table.rows:
        yield f"| {' | '.join(escaped(cell) for cell in row)} |"


def escaped(text: str) -> str:
    """The text with everything that Markdown would read escaped."""
    return _SPECIAL.sub(r"\\\1", " ".join(text.split()))
