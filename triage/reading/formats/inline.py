"""Takes inline markup out of a text, and keeps every character's place."""

from __future__ import annotations

import html
import re

from triage.reading.mapped import Mapped, replaced

_ENTITY = re.compile(r"&(?:#\d{1,7}|#x[0-9a-f]{1,6}|[a-z][a-z0-9]{1,30});", re.I)
_COMMENT = re.compile(r"<!--.{0,2000}?-->", re.S)
_TAG = re.compile(r"</?[a-z][a-z0-9]{0,15}(?:\s[^<>]{0,300})?/?>", re.I)
# A picture says nothing; of a link its words stay; a bare reference in brackets goes.
_IMAGE = re.compile(r"!\[[^\]\n]{0,200}\]\([^)\s]{0,500}(?:\s\"[^\"\n]{0,100}\")?\)")
_LINK = re.compile(
    r"\[([^\[\]\n]{1,300})\](?:\([^()\s]{0,500}(?:\([^()\s]{0,100}\))?[^()\s]{0,100}\)|\[[^\]\n]{0,80}\])"
)
_STRONG = re.compile(r"\*\*\*?(?=\S)|(?<=\S)\*\*\*?|(?<![\w_])___?(?=\S)|(?<=\S)___?(?![\w_])|~~")
_EMPHASIS = re.compile(r"(?<![\w*\\])\*(?=[^\s*])([^*\n]{1,200}?)(?<=[^\s*])\*(?![\w*])")
_UNDER = re.compile(r"(?<![\w_\\])_(?=[^\s_])([^_\n]{1,200}?)(?<=[^\s_])_(?![\w_])")
_TICKS = re.compile(r"`{1,3}")
_ESCAPED = re.compile(r"\\(?=[\\`*_{}\[\]()#+\-.!<>|~])")
_BLANKS = re.compile(r"\s{2,}|[\t\n\r]")


def plain(part: Mapped) -> Mapped:
    """Blanks made single, entities decoded."""
    if "&" in part.text:
        found = [(m.start(), m.end(), html.unescape(m[0])) for m in _ENTITY.finditer(part.text)]
        part = replaced(part, found)
    if _BLANKS.search(part.text):
        part = replaced(part, [(m.start(), m.end(), " ") for m in _BLANKS.finditer(part.text)])
    return part.cut(0, len(part.text))


def without_markdown(part: Mapped) -> Mapped:
    """The words of Markdown text: links by their words, without emphasis, ticks, HTML tags."""
    if not part.text.isascii() or any(mark in part.text for mark in "[*_`<\\~&!"):
        for pattern in (_COMMENT, _IMAGE, _TAG):
            part = _dropped(part, pattern)
        for pattern in (_LINK, _EMPHASIS, _UNDER):
            part = _kept_inside(part, pattern)
        for pattern in (_STRONG, _TICKS, _ESCAPED):
            part = _dropped(part, pattern)
        for pattern in (_EMPHASIS, _UNDER):
            part = _kept_inside(part, pattern)
    return plain(part)


def _dropped(part: Mapped, pattern: re.Pattern[str]) -> Mapped:
    spans = [(m.start(), m.end(), "") for m in pattern.finditer(part.text)]
    return replaced(part, spans)


def _kept_inside(part: Mapped, pattern: re.Pattern[str]) -> Mapped:
    spans = []
    for m in pattern.finditer(part.text):
        spans += [(m.start(), m.start(1), ""), (m.end(1), m.end(), "")]
    return replaced(part, spans)
