"""The shape of a text: which words are names, parameters or numbers, whatever they spell."""

from __future__ import annotations

import re
from functools import lru_cache
from itertools import pairwise

_EDGES = ".,;:!?()[]{}\"'*`"
_NUMBER = re.compile(r"[\d.,:/x%°+-]*\d[\d.,:/x%°+-]*[a-zA-Z%°/]{0,4}")
_STEPS = 4  # shares are told in quarters
_START, _END = "^", "$"


def shape(text: str) -> tuple[str, ...]:
    """Features of the shape, each once.

    `a:` a sort of word that occurs, `p:` a pair of neighbours one of which is a sort, or stands at
    an end; `r:` and `t:` the shares of sorts and of capitalised words, in quarters; `.` an end as
    of a sentence; `:` a prefix as of a module.
    """
    written = text.split()
    words = [sort for word in written if (sort := sort_of(word))]
    if not words:
        return ()
    found = [f"a:{word}" for word in words if word[0] == "<"]
    found += [
        f"p:{left} {right}"
        for left, right in pairwise([_START, *words, _END])
        if left[0] in "<^" or right[0] in "<$"
    ]
    capitals = sum(word[0].isupper() for word in written[1:])
    found.append(f"r:{_STEPS * sum(word[0] == '<' for word in words) // len(words)}")
    found.append(f"t:{_STEPS * capitals // len(words)}")
    if text.rstrip().endswith((".", "!")):
        found.append(".")
    if ":" in written[0] or written[1:2] == [":"]:
        found.append(":")
    return tuple(dict.fromkeys(found))


@lru_cache(maxsize=65536)
def sort_of(word: str) -> str:
    """The sort of a word: a number, a parameter, a name with digits or inner capitals, an
    abbreviation; else the word in lower case; '' for mere punctuation."""
    word = word.strip(_EDGES)
    if not word:
        return ""
    if _NUMBER.fullmatch(word):
        return "<number>"
    if "_" in word or "::" in word:
        return "<parameter>"
    if any(c.isdigit() for c in word) and any(c.isalpha() for c in word):
        return "<name>"
    if any(a.islower() and b.isupper() for a, b in pairwise(word)):
        return "<joined>"
    if word.isupper() and len(word) > 1:
        return "<capitals>"
    return word.lower()
