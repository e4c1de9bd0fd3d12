"""Plain text to blocks: bullets of any kind, wrapped and lost ones, headings by their look."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from triage.notes import headers, words
from triage.notes.blocks import Block, Line, Shape, lines_of
from triage.notes.line_kinds import Kind, SeenLine, kind_of
from triage.notes.rules import word_set
from triage.notes.runs import join_lines, split_run
from triage.notes.versions import version_row

_PIECE = 200_000  # characters; a piece ends at a blank line before an unindented one
_CUT = re.compile(r"(?:\r\n|\n|\r(?!\n))[ \t]{0,80}(?:\r\n|\n|\r(?!\n))(?=[^\s])")
_OUTER = word_set("* • ● ■ ▪")
_INNER = word_set("- – + o ○ ◦")
_BOLD = re.compile(r"\A(?:\*\*|__)(?=\S)([^*]{1,150}?)(?:\*\*|__):?\Z")


def read_text_blocks(text: str) -> Iterator[list[Block]]:
    """Blocks of plain text, a piece at a time so that a long document needs little memory."""
    start, number = 0, 1
    while start < len(text):
        cut = _CUT.search(text, start + _PIECE)
        stop = cut.end() if cut else len(text)
        lines = lines_of(text[start:stop], start, number)
        yield blocks_of_lines(lines)
        start, number = stop, number + len(lines)


def blocks_of_lines(lines: Sequence[Line]) -> list[Block]:
    """Blocks of lines, whatever they were cut from."""
    return _Reader([SeenLine(line) for line in lines]).blocks()


def list_mark(lines: Sequence[Line]) -> bool:
    """Whether a paragraph's lines hold a release header or version rows, and so are no prose."""
    kinds = [kind_of(line.text)[0] for line in lines]
    return kinds[0] is Kind.RELEASE or kinds.count(Kind.VERSION) >= min(2, len(kinds))


class _Reader:
    """One pass over the lines, with a look at the next line that is not blank."""

    def __init__(self, seen: list[SeenLine]) -> None:
        self.seen = seen
        self.found: list[Block] = []
        self.indents: list[tuple[int, str]] = []
        self.entry: list[Line] = []
        self.entry_level = 0
        self.entry_mark = 0
        self.glued = False  # whether the open entry stands behind a header on one line
        self.counted = 0  # the last number of a numbered list
        self.bare: int | None = None  # indent of an open list without bullets
        self.following = self._next_words()

    def _next_words(self) -> list[int]:
        """For each line the index of the next line that is not blank, or the length."""
        following = [len(self.seen)] * len(self.seen)
        ahead = len(self.seen)
        for index in range(len(self.seen) - 1, -1, -1):
            following[index] = ahead
            if self.seen[index].kind is not Kind.BLANK:
                ahead = index
        return following

    def blocks(self) -> list[Block]:
        index = 0
        while index < len(self.seen):
            index = self._take(index)
        self._close()
        return self.found

    def _take(self, index: int) -> int:
        one = self.seen[index]
        kind = one.kind
        if kind is Kind.BLANK:
            return self._blank(index)
        if kind is Kind.BULLET or (kind is Kind.NUMBER and self._counts_on(index)):
            return self._marked(index)
        if kind is Kind.GLUED:
            self._close(end_list=True)
            self.entry, self.entry_mark, self.entry_level = [one.line], 0, 0
            self.glued = True
            return index + 1
        if kind is Kind.RULE and one.line.text[0] == "|":
            return index + 1  # the line between a table's head and body
        if kind is Kind.RULE:
            self._close(end_list=True)
            self._add(Shape.RULE, [one.line])
            return index + 1
        if kind is Kind.ATX:
            self._close(end_list=True)
            level = one.line.text.index(" ") if " " in one.line.text else 1
            self._heading([one.line], f"h{min(6, one.line.text[:level].count('#'))}", one.words)
            return index + 1
        in_bare = self.bare is not None and one.line.indent <= self.bare
        if self.entry and not in_bare and self._continues(index):
            self.entry.append(one.line)
            return index + 1
        if kind is Kind.RELEASE and self._stands_free(index):
            self._close(end_list=True)
            self._heading([one.line], "release", one.line.text)
            after = self.following[index]
            return after + 1 if self._is_underline(index, after) else index + 1
        if kind is Kind.VERSION:
            self._close(end_list=True)
            row = version_row(one.line.text)
            self._add(Shape.ROW, [one.line], cells=row or ())
            return index + 1
        if kind is Kind.TABLE and self._in_table(index):
            self._close(end_list=True)
            self._add(Shape.ROW, [one.line], cells=_cells(one.line.text))
            return index + 1
        return self._run(index)

    def _counts_on(self, index: int) -> bool:
        """A number right below an entry's line begins an entry only where it counts on from one."""
        digits = "".join(c for c in self.seen[index].line.text[:4] if c.isdigit())
        number = int(digits) if digits else 0
        follows = number in (0, 1, self.counted + 1)
        if follows or not self.entry or self.seen[index - 1].kind is Kind.BLANK:
            self.counted = number
            return True
        return False

    def _blank(self, index: int) -> int:
        """A blank line ends an entry, unless what follows is indented as its next paragraph."""
        self.bare = None
        after = self.following[index]
        if self.entry and after < len(self.seen):
            one = self.seen[after]
            content = self.entry[0].indent + self.entry_mark
            if one.kind is Kind.PLAIN and one.line.indent >= max(2, content - 1):
                return after
        self._close()
        return after if after < len(self.seen) else index + 1

    def _marked(self, index: int) -> int:
        one = self.seen[index]
        text = one.words
        if one.kind is Kind.BULLET and (row := version_row(text) if ":" in text else None):
            self._close()
            self._add(Shape.ROW, [one.line], cells=row)
            return index + 1
        if self._is_section(index):
            self._close(end_list=True)
            style = "numbered" if one.kind is Kind.NUMBER else "plain"
            self._heading([one.line], style, one.line.text if one.kind is Kind.NUMBER else text)
            return index + 1
        self._close()
        self.entry = [one.line]
        self.glued = False
        self.entry_mark = one.mark
        self.entry_level = self._level(one)
        return index + 1

    def _level(self, one: SeenLine) -> int:
        """Nesting by indent; at one indent, by a marker that differs from the list's own."""
        mark = "1" if one.kind is Kind.NUMBER else one.line.text[: one.mark].strip()
        indent = one.line.indent
        while self.indents and indent < self.indents[-1][0]:
            self.indents.pop()
        peers = [entry for entry in self.indents if entry[0] == indent]
        if not self.indents or indent > self.indents[-1][0]:
            self.indents.append((indent, mark))
        elif (indent, mark) in peers:
            while self.indents[-1] != (indent, mark):
                self.indents.pop()
        elif peers[-1][1] in _OUTER and mark in _INNER:
            self.indents.append((indent, mark))
        else:
            del self.indents[self.indents.index(peers[0]) + 1 :]
        return len(self.indents) - (1 if self.bare is None else 0)

    def _is_section(self, index: int) -> bool:
        """Whether a marked line is a section's title over the list that follows."""
        one = self.seen[index]
        after = self.following[index]
        if after >= len(self.seen):
            return False
        nxt = self.seen[after]
        bare = one.words
        if one.kind is Kind.BULLET:
            return (
                words.known_section(bare)
                and nxt.kind in (Kind.BULLET, Kind.NUMBER)
                and (
                    nxt.line.indent > one.line.indent
                    or one.line.text[: one.mark].strip() in ("**", "--")
                )
            )
        if not words.title_like(bare):
            return False
        if nxt.kind is Kind.BULLET:
            return True
        blank_between = after > index + 1
        return blank_between and nxt.kind is Kind.PLAIN and len(nxt.line.text) > len(bare)

    def _continues(self, index: int) -> bool:
        """Whether a plain line goes on with the open entry."""
        one = self.seen[index]
        if one.kind is Kind.VERSION:
            return one.line.indent > self.entry[0].indent
        if one.kind is Kind.RELEASE and self.glued:
            return False
        if one.kind is Kind.RELEASE:
            deeper = one.line.indent > self.entry[0].indent
            return deeper or not self._stands_free(index, in_list=True)
        after = self.following[index]
        leads = after < len(self.seen) and self.seen[after].kind in (Kind.BULLET, Kind.NUMBER)
        if one.line.indent > self.entry[0].indent or not leads:
            return not (
                words.known_section(one.line.text) and one.line.indent <= self.entry[0].indent
            )
        text = one.line.text
        return not (
            words.known_section(text)
            or (text.endswith(":") and words.title_like(text) and text[0].isupper())
            or bool(_BOLD.match(text))
        )

    def _stands_free(self, index: int, *, in_list: bool = False) -> bool:
        """Whether a header-like line is set off from what stands above it."""
        if index == 0:
            return True
        above = self.seen[index - 1]
        if above.kind is not Kind.PLAIN and not in_list:
            return True
        header = headers.parse_header(self.seen[index].line.text, marked=False)
        below = self.following[index]
        framed = below < len(self.seen) and self.seen[below].kind in (
            Kind.BULLET,
            Kind.NUMBER,
            Kind.RULE,
        )
        return bool(header and (header.date or framed))

    def _is_underline(self, index: int, after: int) -> bool:
        return (
            after == index + 1
            and after < len(self.seen)
            and self.seen[after].kind is Kind.RULE
            and self.seen[after].line.text[0] in "=-~"
        )

    def _in_table(self, index: int) -> bool:
        """Pipes or tabs make a table only when a neighbour has them too."""
        around = (
            self.seen[i] for i in (index - 1, self.following[index]) if 0 <= i < len(self.seen)
        )
        return any(near.kind in (Kind.TABLE, Kind.RULE) for near in around) or self.seen[
            index
        ].line.text.startswith("|")

    def _run(self, index: int) -> int:
        """A run of plain lines: a title, a wrapped paragraph, or a list that lost its bullets."""
        self._close()
        stop = index + 1
        while stop < len(self.seen) and self.seen[stop].kind >= Kind.RELEASE:
            kind = self.seen[stop].kind
            if stop > index and kind is Kind.VERSION:
                break
            if stop > index and kind is Kind.RELEASE and self._stands_free(stop):
                break
            if stop > index and kind is Kind.TABLE and self._in_table(stop):
                break
            stop += 1
        run = [one.line for one in self.seen[index:stop]]
        under = stop < len(self.seen) and self._is_underline(stop - 1, stop)
        if len(run) == 1 and under and len(run[0].text) <= 100 and run[0].text[-1] not in ".;,":
            rule = self.seen[stop].line.text
            if abs(len(rule) - len(run[0].text)) <= max(3, len(run[0].text) // 3):
                self.indents.clear()
                self._heading(run, "h1" if rule[0] == "=" else "h2", run[0].text)
                return stop + 1
        ahead = self.following[stop - 1]
        before_list = ahead < len(self.seen) and self.seen[ahead].kind in (Kind.BULLET, Kind.NUMBER)
        groups = split_run(run)
        bare = len(groups) > 2 or self.bare is not None
        for position, group in enumerate(groups):
            leads = before_list and position == len(groups) - 1 and (not bare or ahead > stop)
            self._plain(group, leads=leads, alone=len(groups) == 1 and not bare)
        self.bare = run[-1].indent if bare and self.found[-1].shape is Shape.ENTRY else None
        return stop

    def _plain(self, group: list[Line], *, leads: bool, alone: bool) -> None:
        text = group[0].text
        single = len(group) == 1
        bold = _BOLD.match(text) if single else None
        if bold:
            self._heading(group, "bold", text)
        elif (
            (single and words.known_section(text) and not (alone and text.endswith(".")))
            or (single and leads and words.title_like(text))
            or (single and alone and text.endswith(":") and words.title_like(text))
        ):
            self._heading(group, "plain", text)
        else:
            if not alone:
                self._add(Shape.ENTRY, group, text=join_lines([line.text for line in group]))
            else:
                self._add(Shape.PARAGRAPH, group, text=join_lines([line.text for line in group]))
            return
        self.indents.clear()

    def _heading(self, lines: list[Line], style: str, text: str) -> None:
        self.indents.clear()
        self.bare = None
        self._add(
            Shape.HEADING, lines, style=style, text=text.strip(" #") if style[0] == "h" else text
        )

    def _close(self, *, end_list: bool = False) -> None:
        """Hand on the open entry."""
        if self.entry:
            first = self.entry[0].text[self.entry_mark :]
            text = (
                first
                if len(self.entry) == 1
                else join_lines([first, *(x.text for x in self.entry[1:])])
            )
            self._add(Shape.ENTRY, self.entry, text=text, level=self.entry_level)
            self.entry = []
        if end_list:
            self.indents.clear()

    def _add(
        self,
        shape: Shape,
        lines: list[Line],
        *,
        text: str | None = None,
        level: int = 0,
        style: str = "",
        cells: tuple[str, ...] = (),
    ) -> None:
        first, last = lines[0], lines[-1]
        self.found.append(
            Block(
                shape,
                first.text if text is None else text,
                first.start,
                last.end,
                first.number,
                last.number,
                level,
                style,
                cells,
            )
        )


def _cells(text: str) -> tuple[str, ...]:
    parts = text.strip("|").split("|") if "|" in text else re.split(r"\t+", text)
    return tuple(part.strip() for part in parts)
