"""Plain text to blocks: bullets of any kind, wrapped and lost ones, headings by their look."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from enum import IntEnum

from triage.notes import headers, words
from triage.notes.blocks import Block, Line, Shape, lines_of

_GLYPHS = "•◦▪▫■□●○‣⁃∙·➢➤►▶✓✔✦✧★☆»†\uf0b7\uf0a7\uf0d8\u2043\u2212"
_BULLET = re.compile(
    rf"(?:[-*+–—‐‑~]|\*{{2,3}}|--|o(?= [A-Z\"'(\[]))[ \t]+(?=\S)|[{_GLYPHS}]+[ \t]*(?=\S)|-(?=[A-Z][a-z]+ )"
)
_PIECE = 200_000  # characters; a piece ends at a blank line before an unindented one
_CUT = re.compile(r"(?:\r\n|\n|\r(?!\n))[ \t]{0,80}(?:\r\n|\n|\r(?!\n))(?=[^\s])")
_OUTER = frozenset("* • ● ■ ▪".split())  # at one indent, these may hold a list of these:
_INNER = frozenset("- – + o ○ ◦".split())
_NUMBER = re.compile(
    r"(?:\(?\d{1,3}[.)]|\[\d{1,3}\]|[a-z]\))[ \t]+(?=\S)|\(?\d{1,3}\)(?=[A-Za-z])|①|②|③|④|⑤|⑥|⑦|⑧|⑨|\d{1,2}\.(?=[A-Z])"
)
_ATX = re.compile(r"(#{1,6})[ \t]+(?=\S)")
_RULE = re.compile(r"(?:[-=_*~#+–—•.] ?){3,}\Z|[|+]?[-=:|+ ]{3,}\Z")
_LABEL = re.compile(r"[A-Za-z][\w./()-]{0,40}(?: [\w./()-]{1,20}){0,2} ?: \S")
_CONNECT = re.compile(
    r"(?:,|\(|\[|/|-|&|\b(?:and|or|the|a|an|to|of|for|with|in|on|by|at|from|is|are|that|when|if))\Z",
    re.I,
)
# A sentence that points back at the one before it is no statement of its own.
_BACKWARD = re.compile(
    r"(?:This|These|It|They|There (?:is|was|were)) (?=[a-z])|[A-Z][a-z]+-[a-z]+-by: "
)
_HYPHENATED = re.compile(r"(?<=[A-Za-z]{2})- (?=[a-z]{2})(?!(?:and|or|to|bis|und)\b)")
_BOLD = re.compile(r"\A(?:\*\*|__)(?=\S)([^*]{1,150}?)(?:\*\*|__):?\Z")


class Kind(IntEnum):
    """What a line is by its own look."""

    BLANK = 0
    RULE = 1
    BULLET = 2
    NUMBER = 3
    ATX = 4
    GLUED = 5
    RELEASE = 6
    VERSION = 7
    TABLE = 8
    PLAIN = 9


class _Seen:
    """A line with its kind and the length of its marker."""

    __slots__ = ("kind", "line", "mark")

    def __init__(self, line: Line) -> None:
        self.line = line
        self.kind, self.mark = _kind(line.text)

    @property
    def words(self) -> str:
        return self.line.text[self.mark :]


def _kind(text: str) -> tuple[Kind, int]:
    if not text:
        return Kind.BLANK, 0
    first = text[0]
    if not first.isalnum():
        if len(text) > 2 and _RULE.match(text):
            return Kind.RULE, 0
        bullet = _BULLET.match(text)
        if bullet:
            return Kind.BULLET, bullet.end()
        atx = _ATX.match(text) if first == "#" else None
        if atx:
            return Kind.ATX, atx.end()
    elif first == "o" and (bullet := _BULLET.match(text)):
        return Kind.BULLET, bullet.end()
    if (first in "([" or first.isdigit() or text[1:2] in ".)") and (number := _NUMBER.match(text)):
        return Kind.NUMBER, number.end()
    if text.count("|") >= 2 or "\t" in text:
        return Kind.TABLE, 0
    if headers.glued(text):
        return Kind.GLUED, 0
    if len(text) <= 140 and headers.looks_dated_or_numbered(text):
        if (":" in text or "=" in text) and headers.version_row(text):
            return Kind.VERSION, 0
        if headers.parse_header(text, marked=False):
            return Kind.RELEASE, 0
    return Kind.PLAIN, 0


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
    return _Reader([_Seen(line) for line in lines]).blocks()


def list_mark(lines: Sequence[Line]) -> bool:
    """Whether a paragraph's lines hold a release header or version rows, and so are no prose."""
    kinds = [_kind(line.text)[0] for line in lines]
    return kinds[0] is Kind.RELEASE or kinds.count(Kind.VERSION) >= min(2, len(kinds))


class _Reader:
    """One pass over the lines, with a look at the next line that is not blank."""

    def __init__(self, seen: list[_Seen]) -> None:
        self.seen = seen
        self.found: list[Block] = []
        self.indents: list[tuple[int, str]] = []
        self.entry: list[Line] = []
        self.entry_level = 0
        self.entry_mark = 0
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
            return index + 1
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
            row = headers.version_row(one.line.text)
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
        if one.kind is Kind.BULLET and (row := headers.version_row(text) if ":" in text else None):
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
        self.entry_mark = one.mark
        self.entry_level = self._level(one)
        return index + 1

    def _level(self, one: _Seen) -> int:
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
        if one.kind is Kind.RELEASE or one.kind is Kind.VERSION:
            if one.line.indent <= self.entry[0].indent and self._stands_free(index, in_list=True):
                return False
            return True
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
        elif single and words.known_section(text) and not (alone and text.endswith(".")):
            self._heading(group, "plain", text)
        elif single and leads and words.title_like(text):
            self._heading(group, "plain", text)
        elif single and alone and text.endswith(":") and words.title_like(text):
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


def join_lines(parts: Sequence[str]) -> str:
    """Join wrapped lines; a compound broken at its hyphen ('pre-', 'arm') is put together again."""
    text = " ".join(parts)
    return _HYPHENATED.sub("-", text) if "- " in text else text


def _cells(text: str) -> tuple[str, ...]:
    parts = text.strip("|").split("|") if "|" in text else re.split(r"\t+", text)
    return tuple(part.strip() for part in parts)


def split_run(run: list[Line]) -> list[list[Line]]:
    """Tell a wrapped paragraph from a list without bullets.

    Lines broken by a word processor are full: the next line's first word would not have fitted.
    Where that holds all through, the lines are one paragraph; else each is a statement of its own,
    apart from lines that plainly go on.
    """
    if len(run) == 1:
        return [run]
    texts = [line.text for line in run]
    width = max(max(len(text) for text in texts), 40)
    full = [
        len(texts[i]) + 1 + len(texts[i + 1].split(None, 1)[0]) > width
        for i in range(len(texts) - 1)
    ]
    verbs = sum(words.starts_with_verb(text) and text[0].isupper() for text in texts)
    labels = sum(bool(_LABEL.match(text)) for text in texts)
    listed = verbs >= max(2, len(texts) * 0.6) or labels >= max(2, len(texts) * 0.6)
    if all(full) and not listed:
        return [run]
    sentences = sum(text[-1] in ".!?:" for text in texts)
    if not listed and sentences == len(texts) and width > 70 and verbs * 2 < len(texts):
        return [run]
    groups = [[run[0]]]
    for index, line in enumerate(run[1:]):
        if _goes_on(texts[index], line, run[index], room=width - len(texts[index])):
            groups[-1].append(line)
        else:
            groups.append([line])
    return groups


def _goes_on(above: str, line: Line, upper: Line, *, room: int) -> bool:
    if words.known_section(line.text) or words.known_section(above):
        return False
    if _CONNECT.search(above) or line.indent > upper.indent + 1 or _BACKWARD.match(line.text):
        return True
    lower = line.text[0].islower() and not _LABEL.match(line.text)
    return lower and above[-1] not in ".!?:;" and room < len(line.text.split(None, 1)[0]) + 13
