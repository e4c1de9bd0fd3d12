"""HTML to blocks with the standard library's parser, which tells where each tag and text stands."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html.parser import HTMLParser

from triage.reading.formats.blocks import Block, Shape
from triage.reading.formats.inline import plain
from triage.reading.formats.text import MARKER, text_blocks
from triage.reading.mapped import Mapped, joined, whole

_VOID = frozenset(
    [
        "area",
        "base",
        "br",
        "col",
        "embed",
        "hr",
        "img",
        "input",
        "link",
        "meta",
        "source",
        "track",
        "wbr",
    ]
)
_DROPPED = frozenset(
    [
        "script",
        "style",
        "template",
        "noscript",
        "head",
        "svg",
        "iframe",
        "select",
        "button",
        "object",
    ]
)
_INLINE = frozenset(
    [
        "a",
        "abbr",
        "acronym",
        "b",
        "bdi",
        "bdo",
        "big",
        "cite",
        "code",
        "data",
        "del",
        "dfn",
        "em",
        "font",
        "i",
        "ins",
        "kbd",
        "label",
        "mark",
        "q",
        "s",
        "samp",
        "small",
        "span",
        "strike",
        "strong",
        "sub",
        "sup",
        "time",
        "tt",
        "u",
        "var",
        "wbr",
        "img",
    ]
)
_LISTS = frozenset(("ul", "ol", "menu", "dir"))
_BOLD = frozenset(("b", "strong"))
_MOST_OPEN = 400  # tags open at once that are told apart; deeper ones are read as text


def html_blocks(text: str, start: int = 0) -> Iterator[Block]:
    """Blocks of an HTML source. `start`: the source offset of `text`."""
    reader = _Reader(text, start)
    reader.feed(text)
    reader.close()
    reader.finish()
    yield from reader.found


class _Reader(HTMLParser):
    """Collects the text between the tags that begin or end a block."""

    CDATA_CONTENT_ELEMENTS = ("script", "style")

    def __init__(self, text: str, base: int) -> None:
        super().__init__(convert_charrefs=False)
        self.text, self.base = text, base
        self.starts = [0]
        for line in text.split("\n"):
            self.starts.append(self.starts[-1] + len(line) + 1)
        self.found: list[Block] = []
        self.parts: list[Mapped] = []
        self.dropped: list[str] = []
        self.lists: list[str] = []
        self.fresh: list[str] = []  # for each open entry its marker, '' once it was handed on
        self.bold = self.quoted = self.pre = self.heading = 0
        self.all_bold = True
        self.soft = False
        self.gap = 0
        self.row: list[Mapped] | None = None
        self.cell: list[Mapped] | None = None
        self.labels: tuple[str, ...] = ()
        self.head_row = False

    def _offset(self) -> int:
        line, column = self.getpos()
        return self.starts[line - 1] + column

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if self.dropped:
            if tag in _DROPPED and tag not in _VOID and len(self.dropped) < _MOST_OPEN:
                self.dropped.append(tag)
            return
        if tag in _DROPPED:
            self._flush()
            self.dropped.append(tag)
        elif tag == "br":
            self._flush(soft=True)
        elif tag in _BOLD:
            self.bold += 1
        elif tag in _INLINE:
            return
        elif tag in _LISTS:
            self._flush()
            if len(self.lists) < _MOST_OPEN:
                self.lists.append(tag)
        elif tag in ("li", "dd"):
            self._flush()
            self.fresh = self.fresh[: max(0, len(self.lists) - 1)]
            self.fresh.append("1." if self.lists[-1:] == ["ol"] else "-")
        elif re.fullmatch(r"h[1-6]", tag):
            self._flush()
            self.heading = int(tag[1])
        elif tag in ("dt", "summary", "caption", "legend", "title"):
            self._flush()
            self.heading = 6
        elif tag in ("td", "th"):
            self._end_cell()
            self.row = [] if self.row is None else self.row
            self.cell = []
            self.head_row = self.head_row and tag == "th"
        elif tag == "tr":
            self._end_row()
            self.row, self.head_row = [], True
        elif tag == "table":
            self._end_row()
            self.labels = ()
        else:
            self._flush()
            self.gap += tag in ("p", "section", "article", "div", "hr")
            self.pre += tag == "pre"
            self.quoted += tag == "blockquote"

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _VOID or tag == "p":
            self.handle_starttag(tag, attrs)

    def handle_endtag(self, tag: str) -> None:
        if self.dropped:
            if tag in self.dropped:
                while self.dropped and self.dropped.pop() != tag:
                    pass
            return
        if tag in _BOLD:
            self.bold = max(0, self.bold - 1)
        elif tag in _INLINE or tag == "br":
            return
        elif tag in _LISTS:
            self._flush()
            if self.lists:
                self.lists.pop()
            self.fresh = self.fresh[: len(self.lists)]
        elif tag in ("li", "dd"):
            self._flush()
            if len(self.fresh) >= max(1, len(self.lists)):
                self.fresh.pop()
        elif re.fullmatch(r"h[1-6]", tag) or tag in ("dt", "summary", "caption", "legend", "title"):
            self._flush()
            self.heading = 0
        elif tag in ("td", "th"):
            self._end_cell()
        elif tag in ("tr", "table"):
            self._end_row()
        else:
            self._flush()
            self.pre = max(0, self.pre - (tag == "pre"))
            self.quoted = max(0, self.quoted - (tag == "blockquote"))

    def handle_data(self, data: str) -> None:
        if self.dropped or not data:
            return
        if self.pre:
            self.parts = []
            self.found += text_blocks(data, self.base + self._offset())
            return
        if data.strip():
            self.all_bold = (self.all_bold or not self.parts) and self.bold > 0
        self.parts.append(whole(data, self.base + self._offset()))

    def handle_entityref(self, name: str) -> None:
        self._reference(f"&{name};")

    def handle_charref(self, name: str) -> None:
        self._reference(f"&#{name};" if len(name) < 8 else "")

    def _reference(self, written: str) -> None:
        if not self.dropped and written and not self.pre:
            self.parts.append(plain_reference(written, self.base + self._offset()))

    def finish(self) -> None:
        """Hand on what is still open."""
        self._end_row()
        self._flush()

    def _take(self) -> Mapped:
        mapped = plain(joined(self.parts, ""))
        self.parts = []
        return mapped

    def _flush(self, *, soft: bool = False) -> None:
        mapped = self._take()
        if not mapped.text:
            self.gap += 1
            self.soft = soft and self.soft
            return
        if self.cell is not None:
            self.cell.append(mapped)
            return
        marker = self.fresh[-1] if self.fresh else ""
        own = MARKER.match(mapped.text)
        if own and own.end() < len(mapped.text):
            marker = own[0].strip()
            mapped = mapped.cut(own.end(), len(mapped.text))
        elif self.fresh:
            self.fresh[-1] = ""
        if self.fresh:
            self.fresh[-1] = ""
        shape = Shape.HEADING if self.heading else Shape.ENTRY if marker else Shape.LINE
        depth = max(0, len(self.lists) - 1)
        self.found.append(
            Block(
                shape,
                mapped,
                level=self.heading or depth,
                marker=marker,
                indent=2 * len(self.lists),
                quoted=self.quoted,
                gap=0 if self.soft else max(1, self.gap),
                bold=self.all_bold and not self.heading,
                soft=self.soft,
            )
        )
        self.soft = soft
        self.gap = 0
        self.all_bold = True

    def _end_cell(self) -> None:
        if self.cell is None:
            self._flush()
            return
        self._flush()
        if self.row is not None:
            self.row.append(joined(self.cell))
        self.cell = None

    def _end_row(self) -> None:
        self._end_cell()
        row, self.row = self.row, None
        if not row or not any(cell.text for cell in row):
            return
        if self.head_row:
            self.labels = tuple(cell.text for cell in row)
        labels = self.labels if len(self.labels) == len(row) and not self.head_row else ()
        full = [
            (c, label) for c, label in zip(row, labels or [""] * len(row), strict=True) if c.text
        ]
        cells = tuple(c for c, _ in full)
        self.found.append(
            Block(
                Shape.ROW,
                joined(cells),
                level=1 if self.head_row else 0,
                quoted=self.quoted,
                gap=0,
                cells=cells,
                labels=tuple(label for _, label in full) if labels else (),
            )
        )


def plain_reference(written: str, at: int) -> Mapped:
    """A character reference decoded, at the place it stands."""
    import html

    return Mapped(html.unescape(written).replace("\xa0", " "), ((0, at),))
