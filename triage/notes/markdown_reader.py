"""Markdown to blocks by markdown-it-py's block rules; inline markup is left to the cleaning."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

from markdown_it import MarkdownIt
from markdown_it.token import Token

from triage.notes.blocks import Block, Line, Shape, lines_of
from triage.notes.runs import join_lines
from triage.notes.text_reader import blocks_of_lines, list_mark

_PIECE = 200_000  # characters parsed at a time, so that 50 MB need no 50 MB of tokens
_FENCE = re.compile(r" {0,3}(```|~~~)")
_BOLD = re.compile(r"\A(?:\*\*|__)(?=\S)[^*]{1,200}(?:\*\*|__):?\Z")
_GLYPH = re.compile(r"\A[•◦▪■●○‣⁃∙·–—✓✔►➢]\s*\S")


@cache
def _parser() -> MarkdownIt:
    return MarkdownIt("commonmark", {"maxNesting": 60}).enable("table").disable("inline", True)


def read_markdown_blocks(text: str) -> Iterator[list[Block]]:
    """Blocks of a Markdown source, with exact offsets, a piece at a time."""
    lines = lines_of(text)
    first = _after_front_matter(lines)
    for start, stop in _pieces(lines, first):
        begin = _line_start(text, lines, start)
        end = _line_start(text, lines, stop) if stop < len(lines) else len(text)
        piece = text[begin:end]
        tokens = _parser().parse(piece)
        yield _Walk(text, lines[start:stop], tokens).blocks()


def _line_start(text: str, lines: list[Line], index: int) -> int:
    start = lines[index].start
    return max(text.rfind("\n", 0, start), text.rfind("\r", 0, start)) + 1


def _after_front_matter(lines: list[Line]) -> int:
    """The first line behind a YAML front matter."""
    if lines and lines[0].text == "---":
        for index, line in enumerate(lines[1:60], 1):
            if line.text == "---":
                return index + 1
            if line.text and ":" not in line.text and not line.text.startswith(("-", "#")):
                break
    return 0


def _pieces(lines: list[Line], first: int) -> Iterator[tuple[int, int]]:
    """Cut where CommonMark cannot tell the difference: at an unindented heading outside a fence.

    Where no heading comes, a blank line before an unindented plain line serves.
    """
    start, fence = first, ""
    for index in range(first, len(lines)):
        line = lines[index]
        mark = _FENCE.match(line.text) if line.text[:1] in "`~" else None
        if mark:
            fence = "" if fence == mark.group(1) else fence or mark.group(1)
        if fence or index == start or line.start - lines[start].start < _PIECE:
            continue
        plain = line.text[:1].isalpha() and not lines[index - 1].text
        if line.indent == 0 and (line.text.startswith("#") or plain):
            yield start, index
            start = index
    if start < len(lines):
        yield start, len(lines)


class _Walk:
    """Goes through the tokens of one piece of `text`; `lines` are the piece's lines."""

    def __init__(self, text: str, lines: list[Line], tokens: list[Token]) -> None:
        self.text = text
        self.lines = lines
        self.tokens = tokens
        self.found: list[Block] = []
        self.fresh: list[bool] = []  # for each open list item, whether its entry is still to come
        self.own: list[int] = []  # for each open list item, the index of its entry in `found`
        self.numbered: list[bool] = []
        self.cells: list[str] | None = None

    def blocks(self) -> list[Block]:
        for index, token in enumerate(self.tokens):
            kind = token.type
            if kind == "list_item_open":
                self.fresh.append(True)
                self.own.append(-1)
                self.numbered.append(token.markup in (".", ")"))
            elif kind == "list_item_close":
                self.numbered.pop()
                self.fresh.pop()
                self.own.pop()
            elif kind == "heading_open":
                self._add(Shape.HEADING, token, self.tokens[index + 1].content, style=token.tag)
            elif kind == "paragraph_open":
                self._paragraph(token, self.tokens[index + 1].content)
            elif kind == "hr":
                self._add(Shape.RULE, token, "")
            elif kind == "html_block":
                self._html(token)
            elif kind == "code_block":
                self._code(token)
            elif kind == "tr_open":
                self.cells = []
            elif kind == "inline" and self.cells is not None:
                self.cells.append(token.content)
            elif kind == "tr_close":
                self._row(index)
        return self.found

    def _span(self, token: Token) -> tuple[Line, Line]:
        first, stop = token.map or [0, 1]
        stop = min(stop, len(self.lines))
        while stop > first + 1 and not self.lines[stop - 1].text:
            stop -= 1
        return self.lines[first], self.lines[stop - 1]

    def _add(
        self, shape: Shape, token: Token, text: str, *, level: int = 0, style: str = ""
    ) -> None:
        first, last = self._span(token)
        text = join_lines(text.split("\n")) if "\n" in text else text
        text = " ".join(text.split())
        self.found.append(
            Block(shape, text, first.start, last.end, first.number, last.number, level, style)
        )

    def _paragraph(self, token: Token, content: str) -> None:
        if self.fresh:
            self._in_item(token, content)
            return
        first, stop = token.map or [0, 1]
        lines = self.lines[first:stop]
        if len(lines) == 1 and _BOLD.match(lines[0].text):
            self._add(Shape.HEADING, token, content, style="bold")
        elif any(_GLYPH.match(line.text) for line in lines) or list_mark(lines):
            self.found += blocks_of_lines(lines)
        else:
            self._add(Shape.PARAGRAPH, token, content)

    def _in_item(self, token: Token, content: str) -> None:
        """The item's entry, or a further paragraph of it."""
        if self.fresh[-1]:
            self.fresh[-1] = False
            self.own[-1] = len(self.found)
            style = "number" if self.numbered[-1] else ""
            self._add(Shape.ENTRY, token, content, level=len(self.fresh) - 1, style=style)
        elif self.own[-1] == len(self.found) - 1 and self.own[-1] >= 0:
            entry = self.found[-1]
            _, last = self._span(token)
            text = f"{entry.text} {' '.join(join_lines(content.split(chr(10))).split())}"
            self.found[-1] = entry._replace(text=text, end=last.end, end_line=last.number)
        else:
            self._add(Shape.PARAGRAPH, token, content, level=len(self.fresh))

    def _html(self, token: Token) -> None:
        from triage.notes.html_reader import read_html_blocks

        first, last = self._span(token)
        for blocks in read_html_blocks(
            self.text[first.start : last.end], first.start, first.number
        ):
            self.found += blocks

    def _code(self, token: Token) -> None:
        """Indented code in notes is mostly a list that was pasted with its indent."""
        first, stop = token.map or [0, 1]
        inner = blocks_of_lines(self.lines[first:stop])
        self.found += [block for block in inner if block.shape is Shape.ENTRY]

    def _row(self, index: int) -> None:
        opened = next(t for t in reversed(self.tokens[:index]) if t.type == "tr_open")
        first, last = self._span(opened)
        cells = tuple(self.cells or ())
        self.cells = None
        self.found.append(
            Block(
                Shape.ROW,
                " | ".join(cells),
                first.start,
                last.end,
                first.number,
                last.number,
                cells=cells,
            )
        )
