"""The last gate before a terminal: nothing that steers it gets through."""

from __future__ import annotations

import unicodedata

_KEPT = "\n\t"


def screened(text: str) -> str:
    """The text without control, format-override and lone-surrogate characters."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(c for c in text if c in _KEPT or unicodedata.category(c) not in _HIDDEN)


# Cc controls, Cf formats (bidirectional overrides, zero width), Cs surrogates, Zl/Zp line breaks
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
