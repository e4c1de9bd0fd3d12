"""An outline as plain terminal text, 80 columns unless told otherwise."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from triage.render.outline import Outline, Paragraph, Points, Section, Table

WIDTH = 80
_GAP = 2
_NARROWEST = 8


def to_text(outline: Outline, width: int = WIDTH) -> str:
    """The outline with a final newline; no line is longer than `width` unless one word is."""
    return "\n".join(line for section in outline for line in _section(section, width)) + "\n"


def _section(section: Section, width: int) -> Iterator[str]:
    if section.level == 1:
        yield from _wrapped(section.title, width)
        yield "=" * min(width, max(len(line) for line in _wrapped(section.title, width)))
    elif section.title:
        yield section.title
        yield "-" * len(section.title)
    for block in section.blocks:
        if isinstance(block, Paragraph):
            yield from _wrapped(
                block.text, width, "! " if block.strong else "", "  " * block.strong
            )
        elif isinstance(block, Points):
            yield from _points(block, width)
        else:
            yield from _table(block, width)
    yield ""


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
    widths = _widths((table.head, *table.rows), width)
    yield from _row(table.head, widths)
    yield " ".ljust(_GAP).join("-" * w for w in widths).rstrip()
    for row in table.rows:
        yield from _row(row, widths)


def _row(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    columns = [_wrapped(cell, w) for cell, w in zip(cells, widths, strict=True)]
    for n in range(max(len(column) for column in columns)):
        parts = [
            (column[n] if n < len(column) else "").ljust(w)
            for column, w in zip(columns, widths, strict=True)
        ]
        yield (" " * _GAP).join(parts).rstrip()


def _widths(rows: Sequence[Sequence[str]], width: int) -> list[int]:
    """Natural widths where they fit; else the widest columns give way."""
    widths = [max(len(row[c]) for row in rows) for c in range(len(rows[0]))]
    least = [
        min(w, max(_NARROWEST, *(len(word) for row in rows for word in row[c].split() or [""])))
        for c, w in enumerate(widths)
    ]
    room = width - _GAP * (len(widths) - 1)
    while sum(widths) > room:
        shrinkable = [c for c in range(len(widths)) if widths[c] > least[c]]
        if not shrinkable:
            least = [_NARROWEST] * len(widths)
            if all(w <= _NARROWEST for w in widths):
                break
            continue
        widest = max(shrinkable, key=lambda c: (widths[c], c))
        widths[widest] -= 1
    return widths
