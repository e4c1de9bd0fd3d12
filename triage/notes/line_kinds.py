"""What a line of plain text is by its own look: bullet, number, rule, header, table row..."""

from __future__ import annotations

import re
from enum import IntEnum

from triage.notes import headers
from triage.notes.blocks import Line
from triage.notes.versions import looks_dated_or_numbered, version_row

_GLYPHS = "•◦▪▫■□●○‣⁃∙·➢➤►▶✓✔✦✧★☆»†\uf0b7\uf0a7\uf0d8\u2043\u2212"
_BULLET = re.compile(
    rf"(?:[-*+–—‐‑~]|\*{{2,3}}|--|o(?=\t| [A-Z\"'(\[]))[ \t]+(?=\S)"
    rf"|[{_GLYPHS}]+[ \t]*(?=\S)|-(?=[A-Z][a-z]+ )"
)
_NUMBER = re.compile(
    r"(?:\(?\d{1,3}[.)]|\[\d{1,3}\]|[a-z]\))[ \t]+(?=\S)"
    r"|\(?\d{1,3}\)(?=[A-Za-z])|\d{1,2},[ ]?(?=[^\x00-\x7f])|[①-⑳]|\d{1,2}\.(?=[A-Z])"
)
_ATX = re.compile(r"(#{1,6})[ \t]+(?=\S)")
_RULE = re.compile(r"(?:[-=_*~#+–—•.] ?){3,}\Z|[|+]?[-=:|+ ]{3,}\Z")


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


class SeenLine:
    """A line with its kind and the length of its marker."""

    __slots__ = ("kind", "line", "mark")

    def __init__(self, line: Line) -> None:
        self.line = line
        self.kind, self.mark = kind_of(line.text)

    @property
    def words(self) -> str:
        """The line without its marker."""
        return self.line.text[self.mark :]


def kind_of(text: str) -> tuple[Kind, int]:
    """The kind of a line, and how many characters its marker takes."""
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
    if len(text) <= 140 and looks_dated_or_numbered(text):
        if (":" in text or "=" in text) and version_row(text):
            return Kind.VERSION, 0
        if headers.parse_header(text, marked=False):
            return Kind.RELEASE, 0
    return Kind.PLAIN, 0
