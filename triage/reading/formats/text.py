"""Plain text to blocks: one a line, with its marker, indent and quotation; tables by columns."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from triage.reading.formats.blocks import Block, Shape
from triage.reading.formats.inline import plain
from triage.reading.mapped import Mapped, whole

_QUOTE = re.compile(r"(?:[ \t]{0,3}>){1,20} ?")
# A bullet is a sign or a short number with a mark behind it; a dash or letter needs a blank.
MARKER = re.compile(
    r"(?:[-*+•◦▪■□●○‣⁃∙·–—✓✔✗✘►▶➢➤→»☆★✨✅❌⚠🔧🐛🚀🆕🔹🔸👉⭐️❗️❕\ufe0f]{1,3}(?=\s)|[•◦▪●‣⁃∙►➢✓✔]"
    r"|[☀-➿🌀-🫿]\ufe0f?(?=\s)"
    r"|\(?\d{1,3}[.)、:](?=\s|[^\W\d_])(?!\d)|\(?[a-zA-Z][.)](?=\s)|\[[ xX]\](?=\s)"
    r"|\d{1,2}(?:\.\d{1,2}){1,3}\.?(?=\s{1,8}[A-Z\"'(])|\d{1,2}(?=\s{2,8}[A-Z]))\s{0,8}"
)
_RULE = re.compile(r"[-=_*~#+|:.\s─═━]{3,}\Z")
_WIDE = re.compile(r" {3,}|\t+| ?\| ?")
_PLACEHOLDER = re.compile(r"[-–—.|\s]*\Z")


def text_blocks(text: str, start: int = 0) -> Iterator[Block]:
    """One block a line; blank lines are counted in `gap`. `start`: the source offset of `text`."""
    gap = 0
    table: list[Block] = []
    at = start
    for raw in text.splitlines(keepends=True):
        line, here = raw.rstrip(), at
        at += len(raw)
        if not line.strip():
            gap += 1
            continue
        block = _line(line, here, gap)
        if block is None:
            gap += 0 if table and line.lstrip()[:1] in "|+-" else 1
            continue
        gap = 0
        if (len(block.cells) > 1 and block.gap == 0) or (len(block.cells) > 1 and not table):
            table.append(block)
            continue
        if len(block.cells) > 1 and table and block.gap <= 1:
            table.append(block)
            continue
        yield from _rows(table)
        table = [block] if len(block.cells) > 1 else []
        if not table:
            yield block
    yield from _rows(table)


def _line(line: str, here: int, gap: int) -> Block | None:
    quote = _QUOTE.match(line)
    lead = quote.end() if quote and ">" in quote[0] else 0
    quoted = line[:lead].count(">")
    body = line[lead:]
    indent = len(body) - len(body.lstrip())
    columns = len(body[:indent].expandtabs(4))
    words = body.lstrip()
    if not words or _RULE.match(words):
        return None
    offset = lead + indent
    mark = MARKER.match(words)
    marker = ""
    if mark and mark.end() < len(words):
        marker = mark[0].strip()
        offset += mark.end()
    mapped = plain(whole(line[offset:], here + offset))
    if not mapped.text:
        return None
    return Block(
        Shape.ENTRY if marker else Shape.LINE,
        mapped,
        marker=marker,
        indent=columns,
        quoted=quoted,
        gap=gap,
        cells=cells_of(line, offset, here),
    )


def cells_of(line: str, offset: int, here: int) -> tuple[Mapped, ...]:
    """The columns of a line: parted by tabs, bars or three blanks; () where there is only one."""
    parts = []
    at = offset
    for found in (*_WIDE.finditer(line, offset), None):
        end = found.start() if found else len(line)
        if line[at:end].strip():
            parts.append(plain(whole(line[at:end], here + at)))
        at = found.end() if found else end
    return tuple(parts) if len(parts) > 1 else ()


def _rows(table: Sequence[Block]) -> Iterator[Block]:
    """Two or more lines of columns are rows under the first one's headings; one alone is a line."""
    if len(table) < 2:
        yield from (block._replace(cells=()) for block in table)
        return
    labels: tuple[str, ...] = ()
    for number, block in enumerate(table):
        head = number == 0 and not any(c.isdigit() for c in block.text)
        if head:
            labels = tuple(cell.text for cell in block.cells)
        same = len(labels) == len(block.cells)
        yield block._replace(shape=Shape.ROW, labels=labels if same and not head else ())
