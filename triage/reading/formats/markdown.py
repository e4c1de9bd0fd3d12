"""Markdown to blocks by markdown-it-py's block rules, with exact offsets."""

from __future__ import annotations

import re
from collections.abc import Iterator, Set
from functools import cache
from itertools import pairwise

from markdown_it import MarkdownIt
from markdown_it.token import Token

from triage.reading.formats.blocks import Block, Shape, flat
from triage.reading.formats.html import html_blocks
from triage.reading.formats.inline import BREAK, without_comments, without_markdown
from triage.reading.formats.text import MARKER, text_blocks
from triage.reading.mapped import Mapped, joined, whole

_PIECE = 200_000  # characters parsed at a time, so that a long document needs little memory
_BOLD = re.compile(r"\s*(?:\*\*|__)(?=\S)[^*]{1,200}(?:\*\*|__):?\s*\Z")
_CUT = re.compile(r"\n(?=#{1,6} )|\n[ \t]*\n(?=[A-Za-z])")
_ANY_LINE = re.compile(r"\n(?=[^\s>|])")
_ATX = re.compile(r"[\s>]*#{1,6}\s*")
_LINE = re.compile(r"[^\r\n]*+(?:\r\n|\r|\n)?")
_DEFINITION = re.compile(  # only with an address behind it: '[Note]: ...' is a statement
    r"^[ >]{0,9}\[([^\[\]\n]{1,100}+)\]:[ \t]*<?(?:[a-z]{2,9}:(?=\S)|[/.#]|www\.)\S*+"
    r"(?:[ \t]+[\"'(].*)?$",
    re.M | re.I,
)
_HARD = re.compile(r"(?: {2}|\\)\Z")
_DEPTH = 60  # lists and quotations within each other; deeper ones are read as plain text
_LONGEST = 5000  # characters of a line in which tables are looked for


@cache
def _parser() -> MarkdownIt:
    parser = MarkdownIt("commonmark", {"maxNesting": _DEPTH})
    return parser.enable("table").disable("inline", True).disable("reference", True)


def markdown_blocks(text: str, start: int = 0) -> Iterator[Block]:
    """Blocks of a Markdown source. `start`: the source offset of `text`."""
    at = 0
    text = without_comments(text)
    labels = frozenset(found[1].lower() for found in _DEFINITION.finditer(text))
    if text.startswith("---\n") and 0 < (end := text.find("\n---\n", 3)) < 2000:
        yield from text_blocks(text[4:end], start + 4)
        at = end + 5
    while at < len(text):
        stop = _piece_end(text, at)
        yield from _Walk(text[at:stop], start + at, labels).blocks()
        at = stop


def _piece_end(text: str, at: int) -> int:
    """Where a piece ends: before a heading or paragraph, or else at a line's end."""
    if len(text) - at <= 2 * _PIECE:
        return len(text)
    cut = _CUT.search(text, at + _PIECE, at + 2 * _PIECE) or _ANY_LINE.search(text, at + _PIECE)
    return cut.end() if cut else len(text)


class _Walk:
    """Goes through the tokens of one piece."""

    def __init__(self, text: str, base: int, labels: Set[str]) -> None:
        self.text, self.base, self.labels = text, base, labels
        self.starts = [found.start() for found in _LINE.finditer(text) if found[0]]
        self.starts.append(len(text))
        self.last = 0  # the line below the last block
        self.lists: list[str] = []
        self.fresh: list[bool] = []
        self.quoted = 0
        self.columns: tuple[str, ...] = ()
        self.head = False

    def blocks(self) -> Iterator[Block]:
        for token in _parser().parse(self.text):
            kind = token.type
            if kind == "list_item_open":
                self.lists.append(f"{token.info}{token.markup}")
                self.fresh.append(True)
            elif kind == "list_item_close":
                self.lists.pop()
                self.fresh.pop()
            elif kind in ("blockquote_open", "blockquote_close"):
                self.quoted += 1 if kind.endswith("open") else -1
            elif kind in ("thead_open", "thead_close"):
                self.head = kind == "thead_open"
            elif token.map and kind in _READERS:
                first, stop = self._lines(token)
                yield from self._skipped(first)
                gap = max(0, first - self.last)
                self.last = max(self.last, stop)
                yield from _READERS[kind](self, token, first, stop, gap)
        yield from self._skipped(len(self.starts) - 1)

    def _skipped(self, stop: int) -> Iterator[Block]:
        """Lines that the parser left out, as it does with what is nested too deep."""
        if stop <= self.last:
            return
        begin, end = self.starts[self.last], self.starts[stop]
        if not self.text[begin:end].strip(" \t\r\n>-=*_|:"):
            return
        for block in text_blocks(self.text[begin:end], self.base + begin):
            mapped = without_markdown(block.mapped, self.labels)
            if mapped.text:
                self.last = stop
                yield block._replace(mapped=mapped)

    def _lines(self, token: Token) -> tuple[int, int]:
        first, stop = token.map or [0, 1]
        stop = min(stop, len(self.starts) - 1)
        while stop > first + 1 and not self._raw(stop - 1).strip():
            stop -= 1
        return first, stop

    def _raw(self, line: int) -> str:
        return self.text[self.starts[line] : self.starts[line + 1]]

    def _heading(self, token: Token, first: int, stop: int, gap: int) -> Iterator[Block]:
        underlined = token.markup in ("=", "-")
        for line in range(first, stop - 1 if underlined else stop):
            raw = self._raw(line)
            mapped = whole(raw, self.base + self.starts[line])
            lead = len(raw) - len(raw.lstrip(" \t>"))
            if not underlined and (found := _ATX.match(raw)):
                lead = found.end()
            mapped = without_markdown(_without_closing(mapped.cut(lead, len(raw))), self.labels)
            if mapped.text:
                yield Block(
                    Shape.HEADING, mapped, level=int(token.tag[1]), quoted=self.quoted, gap=gap
                )
            gap = 0

    def _paragraph(self, token: Token, first: int, stop: int, gap: int) -> Iterator[Block]:
        soft = False
        for line in range(first, stop):
            raw = self._raw(line).rstrip("\r\n")
            if _DEFINITION.match(raw):
                continue
            marker, lead = self._marker(raw, fresh=line == first)
            entry = line == first and bool(self.lists) and bool(marker)
            at = lead
            for found in (*BREAK.finditer(raw, lead), None):
                end = found.start() if found else len(raw)
                words = whole(raw[at:end], self.base + self.starts[line] + at)
                mapped = without_markdown(words, self.labels)
                if mapped.text:
                    yield Block(
                        Shape.ENTRY if marker else Shape.LINE,
                        mapped,
                        level=max(0, len(self.lists) - 1),
                        marker=marker,
                        indent=2 * (len(self.lists) - entry),
                        quoted=self.quoted,
                        gap=gap,
                        bold=bool(_BOLD.match(raw[at:end])),
                        soft=soft,
                    )
                    gap, marker = 0, ""
                at, soft = (found.end() if found else end), False
            soft = not _HARD.search(raw)

    def _marker(self, raw: str, *, fresh: bool) -> tuple[str, int]:
        """What stands before the words of a line, and where they begin."""
        lead = len(raw) - len(raw.lstrip(" \t>"))
        if fresh and self.fresh and self.fresh[-1]:
            self.fresh[-1] = False
            own = MARKER.match(raw, lead)
            while own and lead < own.end() < len(raw):
                lead = own.end()
                own = MARKER.match(raw, lead) if raw[lead - 1] == " " else None
            return self.lists[-1], lead
        own = MARKER.match(raw, lead) if not self.lists else None
        if own and own.end() < len(raw):
            return own[0].strip(), own.end()
        return "", lead

    def _html(self, token: Token, first: int, stop: int, gap: int) -> Iterator[Block]:
        begin, end = self.starts[first], self.starts[stop]
        for number, block in enumerate(html_blocks(self.text[begin:end], self.base + begin)):
            yield block._replace(gap=gap) if number == 0 else block

    def _code(self, token: Token, first: int, stop: int, gap: int) -> Iterator[Block]:
        """Indented code in notes is mostly a list or a letter that was pasted with its indent."""
        fenced = token.type == "fence"
        if fenced:
            closed = stop > first + 1 and self._raw(stop - 1).strip(" \t\r\n>").startswith(
                token.markup
            )
            first, stop = first + 1, stop - closed
        begin, end = self.starts[first], self.starts[max(first, stop)]
        for number, block in enumerate(text_blocks(self.text[begin:end], self.base + begin)):
            shape = Shape.CODE if fenced and token.info else block.shape
            yield block._replace(shape=shape, gap=gap if number == 0 else block.gap)

    def _row(self, token: Token, first: int, stop: int, gap: int) -> Iterator[Block]:
        raw = self._raw(first).rstrip()
        cells = _cells(raw, self.base + self.starts[first], self.labels)
        full = [(number, cell) for number, cell in enumerate(cells) if cell.text]
        if self.head:
            self.columns = tuple(cell.text.replace("\n", " ") for cell in cells)
        if not full:
            return
        heads = () if self.head else self.columns
        labels = tuple(heads[number] if number < len(heads) else "" for number, _ in full)
        words = tuple(cell for _, cell in full)
        yield Block(
            Shape.ROW,
            flat(words),
            gap=gap,
            cells=words,
            labels=labels if any(labels) else (),
            quoted=self.quoted,
            level=int(self.head),
        )


_READERS = {
    "heading_open": _Walk._heading,
    "paragraph_open": _Walk._paragraph,
    "html_block": _Walk._html,
    "code_block": _Walk._code,
    "fence": _Walk._code,
    "tr_open": _Walk._row,
}


def _without_closing(part: Mapped) -> Mapped:
    words = part.text.rstrip()
    bare = words.rstrip("#")
    return part.cut(0, len(bare)) if bare != words and bare.endswith((" ", "\t")) else part


def _cells(raw: str, base: int, labels: Set[str]) -> list[Mapped]:
    """The cells of a table row; a bar behind a backslash is part of its cell."""
    bars = [m.start() for m in re.finditer(r"(?<!\\)\|", raw)]
    edges = [-1, *bars, len(raw)]
    cells = []
    for left, right in pairwise(edges):
        if (left == -1 or right == len(raw)) and not raw[left + 1 : right].strip(" \t>"):
            continue
        cells.append(_cell(raw, left + 1, right, base, labels))
    return cells


def _cell(raw: str, start: int, end: int, base: int, labels: Set[str]) -> Mapped:
    """A cell's words; its lines are parted by a line feed."""
    lines: list[Mapped] = []
    at = start
    for found in (*BREAK.finditer(raw, start, end), None):
        stop = found.start() if found else end
        words = without_markdown(whole(raw[at:stop], base + at), labels)
        own = MARKER.match(words.text) if found or lines else None
        lines.append(words.cut(own.end(), len(words.text)) if own else words)
        at = found.end() if found else stop
    return joined(lines, "\n")
