"""Makes a source harmless and uniform without moving a character.

Every replacement is one character for one, so offsets in the screened text are offsets in the
source: control and direction characters become blanks, full-width and typographic forms the plain
ones. What a terminal could obey never reaches an item's text.
"""

from __future__ import annotations

import re

_ESCAPE = re.compile(
    r"\x1b(?:\[[0-?]{0,40}[ -/]{0,10}[@-~]|\][^\x07\x1b\n]{0,200}(?:\x07|\x1b\\)|[@-_])?"
)
_ODD = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00a0\u061c\u1680\u2000-\u200a\u200e\u200f\u2018-\u201f"
    "\u2028-\u202f\u205f\u2032\u2033\u2060-\u206f\u3000\ufeff\uff01-\uff5e\ufff9-\ufffb\ue000"
    "\u3001\u3002\ud800-\udfff]"
)
_HIDDEN = re.compile("[\u00ad\u200b-\u200d\ufe0e\ufe0f]")
_PLAIN = {
    **dict.fromkeys("\u2018\u2019\u201a\u201b\u2032", "'"),
    **dict.fromkeys("\u201c\u201d\u201e\u201f\u2033", '"'),
    "\u3001": ",",
    "\u3002": ".",
    "\u2028": "\n",
    "\u2029": "\n",
}


def screen(source: str) -> str:
    """The source with each odd character replaced by one plain character; same length."""
    text = (
        _ESCAPE.sub(lambda found: " " * len(found.group()), source) if "\x1b" in source else source
    )
    return _ODD.sub(_plain, text)


def _plain(found: re.Match[str]) -> str:
    char = found.group()
    code = ord(char)
    if 0xFF01 <= code <= 0xFF5E:
        return chr(code - 0xFEE0)
    return _PLAIN.get(char, " ")


def unhide(text: str) -> str:
    """Drop soft hyphens, zero-width and variation characters: they split words invisibly."""
    return text if text.isascii() else _HIDDEN.sub("", text)
