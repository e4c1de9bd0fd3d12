"""Takes inline markup out of a text, and keeps every character's place."""

from __future__ import annotations

import html
import re
from collections.abc import Set

from triage.reading.formats.screen import screen
from triage.reading.mapped import Mapped, replaced

_ENTITY = re.compile(r"&(?:#\d{1,7};|#x[0-9a-f]{1,6};|[a-z][a-z0-9]{1,30};|nbsp)", re.I)
_TAG = re.compile(r"</?[a-z][a-z0-9]{0,15}(?:\s[^<>]{0,300})?/?>", re.I)
BREAK = re.compile(r"<br\s{0,3}/?>", re.I)
# A picture says nothing; of a link its words stay; a bare reference in brackets goes.
_IMAGE = re.compile(r"!\[[^\[\]\n]{0,200}+\]\([^)\s]{0,500}+(?:\s\"[^\"\n]{0,100}\")?\)")
_LINK = re.compile(
    r"\[([^\[\]\n]{1,300}+)\]"
    r"(?:\([^()\s]{0,500}+(?:\([^()\s]{0,100}+\))?[^()\s]{0,100}+(?:\s\"[^\"\n]{0,100}+\")?\)"
    r"|\[[^\[\]\n]{0,80}+\])"
)
_SHORTCUT = re.compile(r"\[([^\[\]\n]{1,100}+)\](?![\[(:])")
_STRONG = re.compile(r"\*\*\*?(?=\S)|(?<=\S)\*\*\*?|(?<![\w_])___?(?=\S)|(?<=\S)___?(?![\w_])|~~")
_EMPHASIS = re.compile(r"(?<![\w*\\])\*(?=[^\s*])([^*\n]{1,200}+)(?<=[^\s*])\*(?![\w*])")
_UNDER = re.compile(r"(?<![\w_\\])_(?=[^\s_])([^_\n]{1,200}+)(?<=[^\s_])_(?![\w_])")
# A sign of emphasis that opens on one line and closes on another.
_STRAY = re.compile(r"\A[*_]{1,3}(?=\w)|(?<=[\w.,;:!?)])[*_]{1,3}\Z")
_TICKS = re.compile(r"`{1,3}")
_ESCAPED = re.compile(r"\\(?=[\\`*_{}\[\]()#+\-.!<>|~])")
_LINE_END = re.compile(r"\\\Z")  # a hard break
_TO_BLANKS = {ord(char): " " for char in "\t\n\r\f\v\xa0"}
# Blanks in a row, and characters that split words invisibly (soft hyphen, zero width, variation).
_BLANKS = re.compile(r" {2,}|[\u00ad\u200b-\u200d\ufe0e\ufe0f]+")

_UNPLAIN = re.compile(r"  |[&\t\n\r\f\v\xa0\u00ad\u200b-\u200d\ufe0e\ufe0f]")


def plain(part: Mapped) -> Mapped:
    """Entities decoded, blanks made single, invisible characters dropped."""
    if not _UNPLAIN.search(part.text):
        return part.cut(0, len(part.text))
    if "&" in part.text:
        found = [
            (m.start(), m.end(), screen(html.unescape(m[0].rstrip(";") + ";")))
            for m in _ENTITY.finditer(part.text)
        ]
        part = replaced(part, found)
    part = Mapped(part.text.translate(_TO_BLANKS), part.runs)
    found = [(m.start(), m.end(), " " * (m[0][0] == " ")) for m in _BLANKS.finditer(part.text)]
    part = replaced(part, found)
    return part.cut(0, len(part.text))


def without_markdown(part: Mapped, labels: Set[str] = frozenset()) -> Mapped:
    """The words of Markdown text: links by their words, without emphasis, ticks, HTML tags.

    `labels`: the names that reference links may be called by, in lower case.
    """
    if any(mark in part.text for mark in "[*_`<\\~&!"):
        for pattern in (_IMAGE, _TAG, _LINE_END):
            part = _dropped(part, pattern)
        for pattern in (_LINK, _EMPHASIS, _UNDER):
            part = _kept_inside(part, pattern)
        if labels and "[" in part.text:
            part = _unbracketed(part, labels)
        for pattern in (_STRONG, _TICKS, _ESCAPED):
            part = _dropped(part, pattern)
        for pattern in (_EMPHASIS, _UNDER):
            part = _kept_inside(part, pattern)
        part = _dropped(part.cut(0, len(part.text)), _STRAY)
    return plain(part)


def without_comments(text: str) -> str:
    """The text with HTML comments made blank; line ends stay, one never closed stays too."""
    if "<!--" not in text:
        return text
    pieces: list[str] = []
    at = 0
    while (start := text.find("<!--", at)) >= 0 and (end := text.find("-->", start + 4)) >= 0:
        pieces += [text[at:start], re.sub(r"[^\r\n]", " ", text[start : end + 3])]
        at = end + 3
    return "".join((*pieces, text[at:]))


def _dropped(part: Mapped, pattern: re.Pattern[str]) -> Mapped:
    spans = [(m.start(), m.end(), "") for m in pattern.finditer(part.text)]
    return replaced(part, spans)


def _kept_inside(part: Mapped, pattern: re.Pattern[str]) -> Mapped:
    spans = []
    for m in pattern.finditer(part.text):
        spans += [(m.start(), m.start(1), ""), (m.end(1), m.end(), "")]
    return replaced(part, spans)


def _unbracketed(part: Mapped, labels: Set[str]) -> Mapped:
    spans = []
    for m in _SHORTCUT.finditer(part.text):
        if m[1].lower() in labels:
            spans += [(m.start(), m.start(1), ""), (m.end(1), m.end(), "")]
    return replaced(part, spans)
