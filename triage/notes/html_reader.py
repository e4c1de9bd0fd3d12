"""Saved HTML to blocks in one pass; every block keeps its exact place in the source.

A tree builder tells lines at best; the spans of items have to be exact to the character, so the
tags are scanned here. Commented-out parts, scripts, styles and page furniture are dropped.
"""

from __future__ import annotations

import html
import re
from bisect import bisect_right
from collections.abc import Iterator

from triage.notes.blocks import Block, Line, Shape
from triage.notes.rules import word_set
from triage.notes.screen import screen
from triage.notes.text_reader import blocks_of_lines

_NAME = re.compile(r"</?([A-Za-z][A-Za-z0-9:-]{0,40})")
_PIECE = 3000  # blocks handed on at a time
_LONGEST_TAG = 100_000
_BREAK = re.compile(r"\r\n|\r|\n")
_DROPPED = word_set(
    "script style template noscript nav footer aside form select button svg iframe object head"
)
_RAW = word_set("script style")
_CLOSING = {name: re.compile(rf"</{name}", re.I) for name in _RAW}
_HEADING = re.compile(r"h[1-6]\Z")
_PARTS = word_set(
    "p div section article main header blockquote figure figcaption address center body html"
    " table tbody thead tfoot caption details fieldset dl"
)
_BULLET_FIRST = re.compile(r"[•◦▪●○‣·*+–—-]\s*\S|\(?\d{1,2}[.)]\s+\S")


def _tags(text: str) -> Iterator[tuple[int, int, str]]:
    """Tags as (start, end, name), '/name' for closing ones and '!' for comments; linear."""
    at, length = 0, len(text)
    while True:
        start = text.find("<", at)
        if start < 0:
            return
        if text.startswith("<!--", start):
            end = text.find("-->", start + 4)
            end = length if end < 0 else end + 3
            yield start, end, "!"
            at = end
            continue
        name = _NAME.match(text, start)
        if name is None:
            if text.startswith(("<!", "<?"), start):
                end = text.find(">", start, start + 2000)
                end = start + 1 if end < 0 else end + 1
                if end > start + 1:
                    yield start, end, "!"
                at = end
            else:
                at = start + 1
            continue
        end = _tag_end(text, name.end())
        if end < 0:
            at = start + 1
            continue
        label = name.group(1).lower()
        yield start, end, "/" + label if text[start + 1] == "/" else label
        at = end
        if label in _RAW and text[start + 1] != "/":
            close = _CLOSING[label].search(text, at)
            at = close.start() if close else length


def _tag_end(text: str, at: int) -> int:
    """Behind the '>' that ends a tag, quoted values passed over; -1 when there is none near."""
    stop = min(len(text), at + _LONGEST_TAG)
    plain = text.find(">", at, stop)
    if plain < 0:
        return -1
    quote = _first_quote(text, at, plain)
    if quote < 0:
        return plain + 1
    position = at
    for _ in range(200):
        plain = text.find(">", position, stop)
        if plain < 0:
            return -1
        quote = _first_quote(text, position, plain)
        if quote < 0:
            return plain + 1
        closing = text.find(text[quote], quote + 1, min(stop, quote + 5000))
        if closing < 0:
            return plain + 1
        position = closing + 1
    return text.find(">", position, stop) + 1 or -1


def _first_quote(text: str, start: int, stop: int) -> int:
    """The first quote that opens a value; one in the middle of an unquoted value does not."""
    found = [q for q in (text.find('="', start, stop), text.find("='", start, stop)) if q >= 0]
    return min(found) + 1 if found else -1


def read_html_blocks(text: str, start: int = 0, number: int = 1) -> Iterator[list[Block]]:
    """Blocks of HTML that begins at offset `start`, line `number`, of the source; in pieces."""
    return _Walk(text, start, number).blocks()


class _Walk:
    """Collects text between block tags; `base` and `number` place it in the source."""

    def __init__(self, text: str, base: int, number: int) -> None:
        self.text = text
        self.base = base
        self.number = number
        self.breaks = [found.end() for found in _BREAK.finditer(text)]
        self.found: list[Block] = []
        self.parts: list[tuple[int, int]] = []
        self.lines: list[list[tuple[int, int]]] = []
        self.lists = 0
        self.items: list[int] = []  # for each open list item: index of its entry, -1 before it
        self.heading = ""
        self.bold = 0
        self.in_bold = 0
        self.size = 0
        self.dropped: list[str] = []
        self.pre = 0
        self.row: list[str] | None = None
        self.row_span = (0, 0)
        self.cell: list[str] | None = None
        self.held: list[Block] = []

    def blocks(self) -> Iterator[list[Block]]:
        at = 0
        for start, end, name in _tags(self.text):
            self._words(at, start)
            at = end
            if name != "!":
                self._tag(name, start, end)
            if len(self.found) > _PIECE and not self.items and self.heading and self.row is None:
                yield self.found
                self.found = []
        self._words(at, len(self.text))
        self._flush()
        self._end_row()
        yield self.found

    def _words(self, start: int, end: int) -> None:
        if start < end and not self.dropped:
            self.parts.append((start, end))
            if not self.text[start:end].isspace():
                self.size += end - start
                self.in_bold += (end - start) if self.bold else 0

    def _tag(self, name: str, start: int, end: int) -> None:
        bare = name.lstrip("/")
        if bare in _DROPPED:
            if name[0] != "/":
                self._flush()
                if len(self.dropped) < 100:
                    self.dropped.append(bare)
            elif bare in self.dropped:
                while self.dropped and self.dropped.pop() != bare:
                    pass
            return
        if self.dropped:
            return
        if bare in ("b", "strong"):
            self.bold = max(0, self.bold + (-1 if name[0] == "/" else 1))
        elif bare == "br":
            self.lines.append(self.parts)
            self.parts = []
        elif bare == "pre":
            self._flush()
            self.pre = 0 if name[0] == "/" else 1
        elif bare in ("ul", "ol", "menu"):
            self._flush()
            self.lists = max(0, self.lists + (-1 if name[0] == "/" else 1))
            if name[0] == "/" and len(self.items) > self.lists:
                del self.items[self.lists :]
        elif bare in ("li", "dd"):
            self._item_tag(name)
        elif _HEADING.match(bare) or bare in ("dt", "summary"):
            self._flush()
            self.heading = "" if name[0] == "/" else (bare if bare[0] == "h" else "plain")
        elif bare in ("tr", "td", "th"):
            self._table_tag(name, start, end)
        elif bare == "hr":
            self._flush()
            self._add(Shape.RULE, "", start, end)
        elif bare in _PARTS:
            self._flush()
            if bare == "table":
                self._end_row()

    def _item_tag(self, name: str) -> None:
        self._flush()
        depth = max(1, self.lists)
        if name == "li" or name == "dd":
            del self.items[depth - 1 :]
            while len(self.items) < depth:
                self.items.append(-1)
        elif self.items:
            del self.items[max(0, depth - 1) :]

    def _table_tag(self, name: str, start: int, end: int) -> None:
        self._flush()
        if name == "tr":
            self._end_row()
            self.row, self.row_span = [], (end, end)
        elif name == "/tr":
            self._end_row()
        elif name in ("td", "th"):
            self._end_cell()
            if self.row is None:
                self.row, self.row_span = [], (end, end)
            self.cell = []
        else:
            self._end_cell()

    def _end_cell(self) -> None:
        if self.cell is not None and self.row is not None:
            self.row.append(" ".join(self.cell))
        self.cell = None

    def _end_row(self) -> None:
        self._end_cell()
        row, self.row = self.row, None
        if row is not None and any(row):
            start, end = self.row_span
            if len(row) > 1 or not self.held:
                if len(row) > 1:
                    self._add(Shape.ROW, " | ".join(row), start, end, cells=tuple(row))
                else:
                    self._add(Shape.PARAGRAPH, row[0], start, end)
        self.found += self.held
        self.held = []

    def _flush(self) -> None:
        """End the block that is open and hand it on by where it stands."""
        lines = [line for raw in (*self.lines, self.parts) if (line := self._line(raw))]
        bold = self.size > 0 and self.in_bold >= self.size
        self.lines, self.parts, self.size, self.in_bold = [], [], 0, 0
        if not lines:
            return
        text = " ".join(line.text for line in lines)
        start, end = lines[0].start - self.base, lines[-1].end - self.base
        if self.pre:
            self.found += blocks_of_lines(lines)
        elif self.cell is not None and not self.items:
            self.cell.append(text)
            first = self.row_span[0] if (self.row and any(self.row)) or self.cell[1:] else start
            self.row_span = (first, end)
        elif self.heading:
            self._add(Shape.HEADING, text, start, end, style=self.heading)
        elif self.items:
            self._entry(lines, text, start, end)
        elif len(lines) > 1 or _BULLET_FIRST.match(text) or (bold is False and self._is_row(text)):
            self.found += blocks_of_lines(lines)
        else:
            shape = Shape.HEADING if bold and len(text) < 160 else Shape.PARAGRAPH
            self._add(shape, text, start, end, style="bold" if bold else "")

    def _is_row(self, text: str) -> bool:
        from triage.notes.versions import version_row

        return ":" in text and version_row(text) is not None

    def _entry(self, lines: list[Line], text: str, start: int, end: int) -> None:
        into = self.held if self.cell is not None else self.found
        own = self.items[-1]
        if own >= 0 and own == len(into) - 1:
            entry = into[-1]
            into[-1] = entry._replace(
                text=f"{entry.text} {text}", end=end + self.base, end_line=self._at(end)
            )
            return
        self.items[-1] = len(into)
        self._add(Shape.ENTRY, text, start, end, level=len(self.items) - 1, into=into)

    def _line(self, parts: list[tuple[int, int]]) -> Line | None:
        """One line of a block: its words without entities, and its place; None without words."""
        text = "".join(self.text[a:b] for a, b in parts)
        if not text.strip():
            return None
        first, last = parts[0][0], parts[-1][1]
        for a, b in parts:
            piece = self.text[a:b]
            if piece.strip():
                first = a + len(piece) - len(piece.lstrip())
                break
        for a, b in reversed(parts):
            piece = self.text[a:b]
            if piece.strip():
                last = a + len(piece.rstrip())
                break
        if "&" in text:
            text = screen(html.unescape(text))
        words = " ".join(text.split())
        indent = len(text) - len(text.lstrip(" \xa0")) if self.lines else 0
        return (
            Line(words, first + self.base, last + self.base, self._at(first), indent)
            if words
            else None
        )

    def _at(self, offset: int) -> int:
        return self.number + bisect_right(self.breaks, offset)

    def _add(
        self,
        shape: Shape,
        text: str,
        start: int,
        end: int,
        *,
        level: int = 0,
        style: str = "",
        cells: tuple[str, ...] = (),
        into: list[Block] | None = None,
    ) -> None:
        block = Block(
            shape,
            text,
            start + self.base,
            end + self.base,
            self._at(start),
            self._at(max(start, end - 1)),
            level,
            style,
            cells,
        )
        (self.found if into is None else into).append(block)
