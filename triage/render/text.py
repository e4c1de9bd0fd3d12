"""An outline as plain terminal text, 80 columns unless told otherwise."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import assert_never

from triage.render.outline import Block, Figure, Outline, Paragraph, Points, Section, Table

WIDTH = 80


def to_text(outline: Outline, width: int = WIDTH) -> str:
    """The outline with a final newline; no line is wider than `width` columns."""
    return "\n".join(line for section in outline for line in _section(section, width)) + "\n"


def _section(section: Section, width: int) -> Iterator[str]:
    if section.title:
        title = _wrapped(section.title, width)
        yield from title
        yield ("=" if section.level == 1 else "-") * max(map(len, title))
    for block in section.blocks:
        yield from _block(block, width)
    yield ""


def _block(block: Block, width: int) -> Iterator[str]:
    match block:
        case Paragraph():
            mark = "! " * block.strong
            yield from _wrapped(block.text, width, mark, " " * len(mark))
        case Figure():
            yield from _wrapped(block.text, width)
        case Points():
            yield from _points(block, width)
        case Table():
            yield from _table(block, width)
        case _:
            assert_never(block)


def _points(block: Points, width: int) -> Iterator[str]:
    for number, point in enumerate(block.points, 1):
        mark = f"{number}. " if block.numbered else "- "
        indent = "  " * point.level
        text = f"{point.text}  [{point.source}]" if point.source else point.text
        yield from _wrapped(text, width, indent + mark, indent + " " * len(mark))


def _wrapped(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    lines = textwrap.wrap(
        text,
        width,
        initial_indent=first,
        subsequent_indent=rest,
        break_on_hyphens=False,
        break_long_words=True,
    )
    return lines or [first.rstrip()]


def _table(table: Table, width: int) -> Iterator[str]:
    """Columns as wide as they need, the widest giving way; rich measures and folds the cells."""
    import io

    from rich.box import Box
    from rich.console import Console
    from rich.table import Table as Grid
    from rich.text import Text

    lines = Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)
    grid = Grid(box=lines, show_edge=False, padding=(0, 1, 0, 0), header_style="")
    for cell in table.head:
        grid.add_column(Text(cell), overflow="fold")
    for row in table.rows:
        grid.add_row(*map(Text, row))
    out = io.StringIO()
    Console(file=out, width=width, color_system=None, force_terminal=False).print(grid)
    yield from (line.rstrip() for line in out.getvalue().splitlines())
