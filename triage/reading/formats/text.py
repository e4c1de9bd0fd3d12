"""Plain text to blocks: one a line, with its marker, indent and quotation; tables by columns."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from triage.reading.formats.blocks import Block, Shape
from triage.reading.formats.columns import MOST_COLUMNS, Field, Line, belongs, rows_of
from triage.reading.formats.inline import plain
from triage.reading.mapped import Mapped, whole

_LINE = re.compile(r"[^\n\r\v\f\x85\u2028\u2029]*+(?:\r\n|[\n\r\v\f\x85\u2028\u2029])?")
_QUOTE = re.compile(r"(?:[ \t]{0,3}>)++ ?")
# A bullet is a sign or a short number with a mark behind it; a dash or letter needs a blank.
MARKER = re.compile(
    r"(?:[-*+•◦▪■□●○‣⁃∙·–—✓✔✗✘►▶➢➤→»☆★✨✅❌⚠🔧🐛🚀🆕🔹🔸👉⭐️❗️❕\ufe0f]{1,3}(?=\s)|[•◦▪●‣⁃∙►➢✓✔・※◆◇◎]"
    r"|[①-⓿❶-➓㈠-㈩㊀-㊉]"
    r"|[☀-➿🌀-🫿]\ufe0f?(?=\s)"
    r"|[(（]?\d{1,3}[.)、:．）](?=\s|[^\W\d_]\w)|\(?[a-zA-Z][.)](?=\s)"
    r"|\[[ xX*+!\d.]{1,4}\](?=\s)"
    r"|\d{1,2}(?=\s{2,8}[A-Z]))\s{0,8}"
)
# Who said it and when, as chats put it in front: '[19:02] name: ', '12/03/26, 19:02 - name: '.
_SPEAKER = re.compile(
    r"\[?(?:\d{1,4}[./-]\d{1,2}[./-]\d{1,4},? {1,2})?\d{1,2}:\d{2}(?::\d{2})?(?: ?[ap]m)?\]?"
    r"(?: ?[-–] ?| {1,3})[^:\n]{1,40}+: {1,3}",
    re.I,
)
_SECTION = re.compile(r"(\d{1,2}(?:\.\d{1,2}){1,3})\.?\s{1,8}(?=[A-Z\"'(])")
_RULE = re.compile(r"[-=_*~#+|:.\s─-╿]{3,}\Z")
_APART = re.compile(r" {3}|[\t|│┃]")
_WIDE = re.compile(r" {3,}")
_TAB = re.compile(r"\t")
_BAR = re.compile(r"[|│┃]")


def text_blocks(text: str, start: int = 0) -> Iterator[Block]:
    """One block a line; blank lines are counted in `gap`. `start`: the source offset of `text`."""
    return line_blocks(
        whole(found[0], start + found.start()) for found in _LINE.finditer(text) if found[0]
    )


def line_blocks(lines: Iterable[Mapped]) -> Iterator[Block]:
    """The same of lines that may be put together from several places."""
    gap, ruled = 0, False
    table: list[Line] = []
    sections: set[str] = set()
    above = ""
    for raw in lines:
        text = raw.text.rstrip()
        if not text:
            gap += 1
            continue
        line = _line(raw, text, gap, ruled, sections, above if not gap else "")
        above = text
        if line is None:
            ruled = True
            gap += 0 if table else 1
            continue
        gap, ruled = 0, False
        if belongs(table, line):
            table.append(line)
            continue
        yield from rows_of(table)
        table = [line] if belongs((), line) else []
        if not table:
            yield line.block
    yield from rows_of(table)


def _line(
    raw: Mapped, text: str, gap: int, ruled: bool, sections: set[str], above: str
) -> Line | None:
    quote = _QUOTE.match(text)
    lead = quote.end() if quote else 0
    body = text[lead:]
    words = body.lstrip()
    if not words or _RULE.match(words):
        return None
    indent = len(body) - len(words)
    offset = lead + indent
    marker = ""
    speaker = _SPEAKER.match(words)
    if speaker and speaker.end() < len(words):
        marker = speaker[0].strip()
        offset += speaker.end()
        words = words[speaker.end() :]
    mark = MARKER.match(words) or _section(words, sections)
    if mark and mark.end() < len(words) and not _flows(mark[0], above, sections):
        marker = marker or mark[0].strip()
        sections.add(marker.strip("(). "))
        offset += mark.end()
    mapped = plain(raw.part(offset, len(text)))
    if not mapped.text:
        return None
    fields, by_number = _fields(raw, text, offset)
    block = Block(
        Shape.ENTRY if marker else Shape.LINE,
        mapped,
        marker=marker,
        indent=len(body[:indent].expandtabs(4)),
        quoted=text.count(">", 0, lead),
        gap=gap,
    )
    return Line(block, fields, by_number, ruled)


def _flows(mark: str, above: str, sections: set[str]) -> bool:
    """Whether what looks like a number of a list ends a sentence of the line above."""
    number = mark.strip("(). \t")
    return (
        bool(above)
        and above[-1] not in ".:;!?)>"
        and number.isdecimal()
        and int(number) > 1
        and str(int(number) - 1) not in sections
    )


def _section(words: str, sections: set[str]) -> re.Match[str] | None:
    """A number such as 2.3 counts sections, and is no version, where 2 or 2.2 came before it."""
    found = _SECTION.match(words)
    if not found:
        return None
    above, _, last = found[1].rpartition(".")
    return found if above in sections or f"{above}.{int(last) - 1}" in sections else None


def _fields(raw: Mapped, text: str, offset: int) -> tuple[tuple[Field, ...], bool]:
    """The columns of a line: parted by tabs, bars or three blanks; whether they are numbered."""
    if not _APART.search(text, offset):
        return (Field(offset, len(text), raw),), False
    by_number = True
    if _BAR.search(text, offset):
        gaps = list(_BAR.finditer(text, offset))
    elif "\t" in text[offset:]:
        gaps = list(_TAB.finditer(text, offset))
    else:
        by_number, gaps = False, list(_WIDE.finditer(text, offset))
    if not gaps:
        return (Field(offset, len(text), raw),), False
    if len(gaps) > MOST_COLUMNS:
        return (), False
    found: list[Field] = []
    at, number = offset, 0
    for gap in (*gaps, None):
        end = gap.start() if gap else len(text)
        if text[at:end].strip():
            mapped = plain(raw.part(at, end))
            if mapped.text:
                column = (number, -1) if by_number else (at, end)
                found.append(Field(*column, mapped))
        if gap:
            number += 1
            at = gap.end()
    return tuple(found), by_number
