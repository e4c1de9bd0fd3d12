"""Makes a text harmless and uniform without moving a character.

Every replacement is one character for one, so offsets in the screened text are offsets in the
source. What a terminal could obey never reaches a statement.
"""

from __future__ import annotations

import re

_ESCAPE = re.compile(
    r"\x1b(?:\[[0-?]{0,40}[ -/]{0,10}[@-~]|\][^\x07\x1b\n]{0,200}(?:\x07|\x1b\\)|[@-_])?"
)
# Controls, odd blanks, curled quotes, direction marks, private and half characters, and full-width
# letters and digits with the signs that stand inside versions. Eastern punctuation stays: it ends
# sentences.
_ODD = re.compile(
    "[\x00-\x08\x0e-\x1f\x7f-\x9f\u00a0\u061c\u1680\u2000-\u200a\u200e\u200f\u2018-\u201f"
    "\u2028-\u202f\u205f\u2032\u2033\u2060-\u206f\u3000\ufeff\uff0b\uff0d-\uff19\uff21-\uff3a"
    "\uff41-\uff5a\ufff9-\ufffb\ue000-\uf8ff\ud800-\udfff]"
)
_PLAIN = {
    **dict.fromkeys("\u2018\u2019\u201a\u201b\u2032", "'"),
    **dict.fromkeys("\u201c\u201d\u201e\u201f\u2033", '"'),
    **dict.fromkeys("\x85\u2028\u2029", "\n"),
}


def screen(source: str) -> str:
    """The source with each odd character replaced by one plain character; same length."""
    if "\x1b" in source:
        source = _ESCAPE.sub(lambda found: " " * len(found[0]), source)
    return _ODD.sub(_plain, source)


def _plain(found: re.Match[str]) -> str:
    char = found[0]
    code = ord(char)
    return chr(code - 0xFEE0) if 0xFF01 <= code <= 0xFF5E else _PLAIN.get(char, " ")
