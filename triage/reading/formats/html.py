"""HTML to blocks in one pass over the tags; every block keeps its exact place in the source."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from itertools import pairwise

from triage.reading.formats.blocks import Block, Shape
from triage.reading.formats.html_tables import MOST_NESTED, Table
from triage.reading.formats.inline import plain
from triage.reading.formats.tags import Tag, attribute, tags_in
from triage.reading.formats.text import MARKER, line_blocks
from triage.reading.mapped import Mapped, joined, whole


def _names(names: str) -> frozenset[str]:
    return frozenset(names.split())


_DROPPED = _names(
    "script style template noscript svg iframe select object video audio canvas datalist"
)
_VOID = _names("area base br col embed hr img input link meta source track wbr")
_INLINE = _names(
    "a abbr acronym b bdi bdo big cite code data del dfn em font i ins kbd label mark q s samp"
    " small span strike strong sub sup time tt u var wbr img input rp rt ruby nobr"
)
_LISTS = frozenset(("ul", "ol", "menu", "dir"))
_HEADINGS = frozenset(("h1", "h2", "h3", "h4", "h5", "h6"))
_TITLES = frozenset(("dt", "summary", "caption", "legend", "title"))  # headings of the lowest rank
_ENDS_HEADING = _LISTS | {"p", "dd", "table"}  # where its own end was forgotten
_CLOSED_BY_NEXT = frozenset(("p", "li", "dt", "dd", "td", "th", "tr", "option"))
_STYLED = frozenset(("span", "font", "div"))  # are always closed, so what they mean can be ended
_HIDDEN = re.compile(r"display\s{0,5}:\s{0,5}none|visibility\s{0,5}:\s{0,5}hidden", re.I)
# Parts of a page that open at a click hold what is written there as much as any other.
_FOLDED = re.compile(r"accordion|collaps|tab|panel|expand|toggle|detail|faq|answer", re.I)
_HEAVY = re.compile(r"font-weight\s{0,5}:\s{0,5}(?:bold|[6-9]00)", re.I)
_KEPT_LINES = re.compile(r"white-space\s{0,5}:\s{0,5}(?:pre|break-spaces)", re.I)
_NEWLINE = re.compile(r"\r\n|\r|\n")
_DEEPEST = 400  # lists open at once that are told apart
_PIECE = 500  # blocks handed on at a time


def html_blocks(text: str, start: int = 0, remarks: list[str] | None = None) -> Iterator[Block]:
    """Blocks of an HTML source. `start`: the source offset of `text`.

    What the page hides for good is left out, and said in `remarks`.
    """
    return _Walk(text, start, remarks if remarks is not None else []).blocks()


class _Walk:
    """Collects the text between the tags that begin or end a block."""

    def __init__(self, text: str, base: int, remarks: list[str]) -> None:
        self.text, self.base, self.remarks = text, base, remarks
        self.out: list[Block] = []  # of the page, or of the cell that is open
        self.parts: list[Mapped] = []
        self.dropped, self.depth, self.hidden = "", 0, 0
        self.lists: list[str] = []
        self.fresh: list[str] = []  # for each open entry its marker, '' once it was handed on
        self.tables: list[Table] = []
        self.open: Counter[str] = Counter()
        self.styled: list[tuple[str, int, str]] = []  # name, how many were open, what it means
        self.bold = self.quoted = self.pre = self.heading = 0
        self.some = False  # whether the open block has words yet
        self.titled = False  # whether the open heading has been handed on
        self.all_bold = True
        self.gap = 1
        self._last: dict[str, int] = {}  # for each name where its last closing tag stands

    def blocks(self) -> Iterator[Block]:
        at = 0
        before = ""
        for tag in tags_in(self.text):
            self._words(at, tag.start)
            if not tag.closing and tag.name == before and at == tag.start:
                self._part_neighbours(tag)
            at = tag.end
            before = tag.name if tag.closing else ""
            if tag.name != "!":
                self._tag(tag)
            if len(self.out) > _PIECE and not self.tables:
                yield from self.out
                self.out = []
        self._words(at, len(self.text))
        self._flush()
        while self.tables:
            self._end_table()
        yield from self.out
        if self.hidden > 20:
            self.remarks.append(
                f"{self.hidden} characters that the page does not show were left out"
            )

    def _words(self, start: int, end: int) -> None:
        if start >= end:
            return
        if self.dropped:
            if self.dropped not in _DROPPED:
                self.hidden += len(self.text[start:end].strip())
            return
        if not self.text[start:end].isspace():
            self.all_bold = (self.all_bold or not self.some) and self.bold > 0
            self.some = True
        self.parts.append(whole(self.text[start:end], self.base + start))

    def _part_neighbours(self, tag: Tag) -> None:
        """Links and labels that touch each other are parted on the page by their style."""
        if tag.name in ("a", "label", "button", "time") and self.parts:
            self.parts.append(whole(" ", self.base + tag.start))

    def _tag(self, tag: Tag) -> None:
        if self.dropped and not self._ends_dropped(tag):
            return
        name = tag.name
        if tag.closing:
            if self.open[name]:
                self.open[name] -= 1
            self._end(name)
            return
        if name in _DROPPED or self._is_hidden(tag):
            self._drop(tag)
            return
        if name not in _VOID:
            self.open[name] += 1
        if name in _STYLED and "style" in tag.attributes:
            self._style(tag)
        self._start(tag)

    def _start(self, tag: Tag) -> None:
        name = tag.name
        if name in _ENDS_HEADING and self.heading:
            self._flush()
            self.heading *= not self.titled
        if name == "br":
            self._break(tag)
        elif name in ("b", "strong"):
            self.bold += 1
        elif name in _INLINE:
            return
        elif name in ("table", "tr", "td", "th", "thead"):
            self._table_tag(tag)
        elif name in _LISTS:
            self._flush()
            if len(self.lists) < _DEEPEST:
                self.lists.append(name)
        elif name in ("li", "dd"):
            self._flush()
            self.fresh = self.fresh[: max(0, len(self.lists) - 1)]
            self.fresh.append("1." if self.lists[-1:] == ["ol"] else "-")
        else:
            self._flush()
            if name in _HEADINGS or name in _TITLES:
                self.heading, self.titled = int(name[1]) if name in _HEADINGS else 6, False
            self.gap = max(self.gap, 2 if name == "hr" else 1)
            self.pre += name in ("pre", "textarea")
            self.quoted += name == "blockquote"

    def _end(self, name: str) -> None:
        while self.styled and self.styled[-1][0] == name and self.styled[-1][1] > self.open[name]:
            means = self.styled.pop()[2]
            if means == "pre":
                self._flush()
                self.pre = max(0, self.pre - 1)
            else:
                self.bold = max(0, self.bold - 1)
        if name in ("b", "strong"):
            self.bold = max(0, self.bold - 1)
        elif name in _INLINE or name in ("br", "thead"):
            return
        elif name in _LISTS:
            self._flush()
            if self.lists:
                self.lists.pop()
            del self.fresh[len(self.lists) :]
        elif name in ("li", "dd"):
            self._flush()
            if len(self.fresh) >= max(1, len(self.lists)):
                self.fresh.pop()
        elif name in ("td", "th", "tr", "table"):
            self._end_table_part(name)
        else:
            self._flush()
            if name in _HEADINGS or name in _TITLES:
                self.heading = 0
            self.pre = max(0, self.pre - (name in ("pre", "textarea")))
            self.quoted = max(0, self.quoted - (name == "blockquote"))

    def _is_hidden(self, tag: Tag) -> bool:
        attributes = tag.attributes
        if not attributes or tag.name in _VOID or tag.name in ("body", "html"):
            return False
        low = attributes.lower()
        if "hidden" not in low and "none" not in low:
            return False
        hidden = attribute(tag, "hidden") != "" or _HIDDEN.search(attribute(tag, "style"))
        return bool(hidden) and not _FOLDED.search(attributes)

    def _drop(self, tag: Tag) -> None:
        """Leave out what follows up to the closing tag, if there is one."""
        if tag.name not in _INLINE:
            self._flush()
        if tag.attributes.endswith("/") and tag.name in ("svg", "iframe", "object", "template"):
            return
        if (
            tag.name == "head"
            or tag.name in _CLOSED_BY_NEXT
            or self._closed_after(tag.name, tag.end)
        ):
            self.dropped, self.depth = tag.name, 1

    def _closed_after(self, name: str, at: int) -> bool:
        if name not in self._last:
            ends = re.finditer(rf"</{re.escape(name)}\b", self.text, re.I)
            self._last[name] = max((found.start() for found in ends), default=-1)
        return self._last[name] >= at

    def _ends_dropped(self, tag: Tag) -> bool:
        """Whether the tag is to be read: it ends the part left out without being its end tag."""
        if tag.name == self.dropped:
            if tag.name in _CLOSED_BY_NEXT and not tag.closing:
                self.dropped = ""
                return True
            self.depth += -1 if tag.closing else 1
            if not self.depth:
                self.dropped = ""
            return False
        ends = tag.name in ("p", "div", "table") or (tag.closing and tag.name not in _INLINE)
        if self.dropped in _CLOSED_BY_NEXT and ends:
            self.dropped = ""
            return True
        return False

    def _style(self, tag: Tag) -> None:
        style = attribute(tag, "style")
        if _HEAVY.search(style):
            self.styled.append((tag.name, self.open[tag.name], "bold"))
            self.bold += 1
        elif tag.name == "div" and _KEPT_LINES.search(style):
            self._flush()
            self.styled.append((tag.name, self.open[tag.name], "pre"))
            self.pre += 1

    def _break(self, tag: Tag) -> None:
        if self.pre:
            self.parts.append(whole("\n", self.base + tag.start))
        elif self.some:
            self._flush()
            self.gap = 0
        else:
            self.gap = min(3, self.gap + 1)

    def _table_tag(self, tag: Tag) -> None:
        self._flush()
        if tag.name == "table" and len(self.tables) < MOST_NESTED:
            self.tables.append(Table(self.out, layout=attribute(tag, "role") == "presentation"))
        elif not self.tables:
            if tag.name not in ("td", "th"):
                return
            self.tables.append(Table(self.out))
        table = self.tables[-1]
        if tag.name == "thead":
            table.in_head = True
        elif tag.name == "tr":
            self._end_row()
            table.start_row()
        elif tag.name in ("td", "th"):
            self._end_cell()
            self.out = table.start_cell(tag)
            self.fresh = []
            self.gap = 1

    def _end_table_part(self, name: str) -> None:
        self._flush()
        if not self.tables:
            return
        if name in ("td", "th"):
            self._end_cell()
        elif name == "tr":
            self._end_row()
        else:
            self._end_table()

    def _end_cell(self) -> None:
        self._flush()
        self.out = self.tables[-1].end_cell(self.out)
        self.fresh = []

    def _end_row(self) -> None:
        self._end_cell()
        self.tables[-1].end_row(self.quoted)

    def _end_table(self) -> None:
        self._end_row()
        self.out = self.tables.pop().out
        self.gap = max(self.gap, 1)

    def _flush(self) -> None:
        """Hand on the block that is open."""
        if not self.parts:
            return
        raw = joined(self.parts, "")
        self.parts, self.some = [], False
        if self.pre:
            self._kept_lines(raw)
            return
        mapped = plain(raw)
        if not mapped.text:
            return
        marker = self.fresh[-1] if self.fresh else ""
        own = MARKER.match(mapped.text)
        if own and own.end() < len(mapped.text) and not self.heading:
            marker = own[0].strip()
            mapped = mapped.cut(own.end(), len(mapped.text))
        if self.fresh:
            self.fresh[-1] = ""
        shape = Shape.HEADING if self.heading else Shape.ENTRY if marker else Shape.LINE
        self.out.append(
            Block(
                shape,
                mapped,
                level=self.heading or max(0, len(self.lists) - 1),
                marker="" if self.heading else marker,
                indent=2 * len(self.lists),
                quoted=self.quoted,
                gap=self.gap,
                bold=self.all_bold and not self.heading,
            )
        )
        self.gap = 1
        self.all_bold = self.titled = True

    def _kept_lines(self, raw: Mapped) -> None:
        """Lines that stand as they are written."""
        ends = [found.end() for found in _NEWLINE.finditer(raw.text)]
        edges = [0, *ends, len(raw.text)]
        lines = (raw.part(a, b) for a, b in pairwise(edges) if a < b)
        self.out += (
            block._replace(quoted=block.quoted + self.quoted) for block in line_blocks(lines)
        )
        self.gap = 1
