"""Markdown to blocks by markdown-it-py's block rules, with exact offsets."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from markdown_it import MarkdownIt
from markdown_it.token import Token

from triage.reading.formats.blocks import Block, Shape
from triage.reading.formats.inline import without_markdown
from triage.reading.formats.text import MARKER, text_blocks
from triage.reading.mapped import Mapped, whole

_PIECE = 200_000  # characters parsed at a time, so that a long document needs little memory
_BOLD = re.compile(r"\s*(?:\*\*|__)(?=\S)[^*]{1,200}(?:\*\*|__):?\s*\Z")
_CUT = re.compile(r"\n(?=#{1,6} )|\n[ \t]*\n(?=[A-Za-z])")
_ATX = re.compile(r"\s{0,3}#{1,6}\s*|\s+#+\s*\Z")
_DEPTH = 60


@cache
def _parser() -> MarkdownIt:
    return MarkdownIt("commonmark", {"maxNesting": _DEPTH}).enable("table").disable("inline", True)


def markdown_blocks(text: str, start: int = 0) -> Iterator[Block]:
    """Blocks of a Markdown source. `start`: the source offset of `text`."""
    at = 0
    if text.startswith("---\n") and 0 < (end := text.find("\n---\n", 3)) < 2000:
        yield from text_blocks(text[4:end], start + 4)
        at = end + 5
    while at < len(text):
        cut = _CUT.search(text, at + _PIECE) if len(text) - at > _PIECE else None
        stop = cut.end() if cut else len(text)
        yield from _Walk(text[at:stop], start + at).blocks()
        at = stop


class _Walk:
    """Goes through the tokens of one piece."""

    def __init__(self, text: str, base: int) -> None:
        self.text, self.base = text, base
        self.starts = [0]
        for line in text.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))
        self.last = 0  # the line below the last block
        self.lists: list[str] = []
        self.fresh: list[bool] = []
        self.quoted = 0
        self.labels: tuple[str, ...] = ()
        self.head = False

    def blocks(self) -> Iterator[Block]:
        tokens = _parser().parse(self.text)
        for index, token in enumerate(tokens):
            kind = token.type
            if kind == "list_item_open":
                self.lists.append(f"{token.info}{token.markup}")
                self.fresh.append(True)
            elif kind == "list_item_close":
                self.lists.pop()
                self.fresh.pop()
            elif kind in ("blockquote_open", "blockquote_close"):
                self.quoted += 1 if kind.endswith("open") else -1
            elif kind == "heading_open":
                yield from self._heading(token)
            elif kind == "paragraph_open":
                yield from self._paragraph(token)
            elif kind == "html_block":
                yield from self._html(token)
            elif kind in ("code_block", "fence"):
                yield from self._code(token)
            elif kind in ("thead_open", "thead_close"):
                self.head = kind == "thead_open"
            elif kind == "tr_open" and token.map:
                yield from self._row(token)

    def _lines(self, token: Token) -> tuple[int, int]:
        first, stop = token.map or [0, 1]
        stop = min(stop, len(self.starts) - 1)
        while stop > first + 1 and not self.text[self.starts[stop - 1] : self.starts[stop]].strip():
            stop -= 1
        return first, stop

    def _gap(self, first: int, stop: int) -> int:
        gap = max(0, first - self.last)
        self.last = stop
        return gap

    def _heading(self, token: Token) -> Iterator[Block]:
        first, stop = self._lines(token)
        raw = self.text[self.starts[first] : self.starts[first + 1]]
        mapped = whole(raw, self.base + self.starts[first])
        lead = _ATX.match(raw)
        mapped = without_markdown(_without_closing(mapped.cut(lead.end() if lead else 0, len(raw))))
        if mapped.text:
            yield Block(
                Shape.HEADING,
                mapped,
                level=int(token.tag[1]),
                quoted=self.quoted,
                gap=self._gap(first, stop),
            )

    def _paragraph(self, token: Token) -> Iterator[Block]:
        first, stop = self._lines(token)
        gap = self._gap(first, stop)
        for line in range(first, stop):
            raw = self.text[self.starts[line] : self.starts[line + 1]].rstrip()
            entry = line == first and bool(self.fresh) and self.fresh[-1]
            lead = len(raw) - len(raw.lstrip(" \t>"))
            marker = self.lists[-1] if entry else ""
            if entry:
                self.fresh[-1] = False
                while (
                    (own := MARKER.match(raw, lead)) and own.end() > lead and own.end() < len(raw)
                ):
                    lead = own.end()
                    if self.text[self.starts[line] + lead - 1 : self.starts[line] + lead] != " ":
                        break
            elif not self.lists and (own := MARKER.match(raw, lead)) and own.end() < len(raw):
                marker = own[0].strip()
                lead = own.end()
            mapped = without_markdown(whole(raw[lead:], self.base + self.starts[line] + lead))
            if not mapped.text:
                continue
            yield Block(
                Shape.ENTRY if marker else Shape.LINE,
                mapped,
                level=max(0, len(self.lists) - 1),
                marker=marker,
                indent=2 * len(self.lists) if not entry else 2 * (len(self.lists) - 1),
                quoted=self.quoted,
                gap=gap if line == first else 0,
                bold=bool(_BOLD.match(raw[lead:])),
                soft=line > first,
            )

    def _html(self, token: Token) -> Iterator[Block]:
        from triage.reading.formats.html import html_blocks

        first, stop = self._lines(token)
        self._gap(first, stop)
        begin, end = self.starts[first], self.starts[stop]
        yield from html_blocks(self.text[begin:end], self.base + begin)

    def _code(self, token: Token) -> Iterator[Block]:
        """Indented code in notes is mostly a list or a letter that was pasted with its indent."""
        first, stop = self._lines(token)
        gap = self._gap(first, stop)
        if token.type == "fence":
            first, stop = first + 1, max(first + 1, stop - 1)
        begin, end = self.starts[first], self.starts[stop]
        for number, block in enumerate(text_blocks(self.text[begin:end], self.base + begin)):
            fenced = token.type == "fence" and bool(token.info)
            shape = Shape.CODE if fenced else block.shape
            yield block._replace(shape=shape, gap=gap if number == 0 else block.gap)

    def _row(self, token: Token) -> Iterator[Block]:
        first, stop = self._lines(token)
        gap = self._gap(first, stop)
        begin = self.starts[first]
        raw = self.text[begin : self.starts[first + 1]].rstrip()
        cells = _cells(raw, self.base + begin)
        words = tuple(cell.text for cell in cells)
        if self.head:
            self.labels = words
        from triage.reading.mapped import joined

        full = [cell for cell in cells if cell.text]
        if not full:
            return
        labels = () if self.head or len(self.labels) != len(cells) else self.labels
        kept = (
            [label for label, cell in zip(labels, cells, strict=True) if cell.text]
            if labels
            else ()
        )
        yield Block(
            Shape.ROW,
            joined(full),
            gap=gap,
            cells=tuple(full),
            labels=tuple(kept),
            quoted=self.quoted,
            level=1 if self.head else 0,
        )


def _without_closing(part: Mapped) -> Mapped:
    words = part.text.rstrip()
    bare = words.rstrip("#")
    return part.cut(0, len(bare)) if bare != words and bare.endswith(" ") else part


def _cells(raw: str, base: int) -> list[Mapped]:
    """The cells of a table row; a bar behind a backslash is part of its cell."""
    bars = [m.start() for m in re.finditer(r"(?<!\\)\|", raw)]
    edges = [-1, *bars, len(raw)]
    cells = []
    for left, right in zip(edges, edges[1:], strict=False):
        if (left == -1 or right == len(raw)) and not raw[left + 1 : right].strip():
            continue
        cells.append(without_markdown(whole(raw[left + 1 : right], base + left + 1)))
    return cells
