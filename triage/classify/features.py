"""Turns a reading into named features, in four groups that are each scaled to length one.

words    the item's words (`w:`), pairs of neighbours (`b:`), the first word (`f:`), and its shape:
         names, parameters and numbers stand for their sort, so that an unknown board is still a
         board (`a:`, `p:`), with the share of such words (`r:`) and of capitals (`t:`)
grams    runs of 3 to 5 letters within words, edges marked (`<fix`, `xed>`)
heading  the words of the headings above (`h:`)
marks    settings (`s:`), components (`c:`), frequency, harm, unit and length of the item
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from triage.classify.recogniser import Reading
from triage.classify.word_shape import shape

GROUPS = ("words", "grams", "heading", "marks")
Features = tuple[tuple[str, ...], ...]  # one tuple a group, in the order of GROUPS
Pair = tuple[str, str]  # what is read before an item, and the item

_GRAM_LENGTHS = (3, 4, 5)
_LENGTH_STEP, _LENGTH_STEPS = 5, 6


class Prepared(NamedTuple):
    """What the two models read of an item: the one its features, the other its pair."""

    features: Features
    pair: Pair


def prepared(reading: Reading, unit: str) -> Prepared:
    """What both models read of one item; `unit` as in `features`."""
    return Prepared(features(reading, unit), (context(reading, unit), reading.text))


def context(reading: Reading, unit: str) -> str:
    """What is read before an item: the component its release is for, and its heading."""
    return f"{unit} : {' '.join(reading.heading_tokens)}"


def features(reading: Reading, unit: str = "") -> Features:
    """The features of one item; `unit` is the component its release is for, '' when unknown."""
    words = [plain for token in reading.tokens if (plain := plain_word(token))]
    heading = [plain for token in reading.heading_tokens if (plain := plain_word(token))]
    return (
        (*_words(words), *shape(reading.text)),
        tuple(gram for word in dict.fromkeys(words) for gram in grams(word)),
        tuple(f"h:{word}" for word in heading) or ("h:",),
        tuple(_marks(reading, unit, len(words))),
    )


@lru_cache(maxsize=65536)
def plain_word(token: str) -> str:
    """The token as a feature: '' for punctuation, '#' for a number, else the token."""
    if not any(c.isalnum() for c in token):
        return "_" if token == "_" else ""
    return "#" if token[0].isdigit() and not any(c.isalpha() for c in token) else token


@lru_cache(maxsize=65536)
def grams(word: str) -> tuple[str, ...]:
    """The runs of letters of a word."""
    marked = f"<{word}>"
    return tuple(
        marked[i : i + n] for n in _GRAM_LENGTHS for i in range(max(1, len(marked) - n + 1))
    )


def _words(words: list[str]) -> Iterator[str]:
    if words:
        yield f"f:{words[0]}"
    for word in words:
        yield f"w:{word}"
    for left, right in pairwise(words):
        yield f"b:{left} {right}"


def _marks(reading: Reading, unit: str, length: int) -> Iterator[str]:
    for find in reading.finds.settings:
        if find.start >= 0:
            yield f"s:{find.id}"
    for find in reading.finds.components:
        yield f"c:{find.id}" if find.start >= 0 else f"hc:{find.id}"
    if reading.finds.frequency:
        yield f"q:{reading.finds.frequency}"
    if reading.finds.severity_words:
        yield "harm"
    if unit:
        yield f"u:{unit}"
    yield f"l:{min(_LENGTH_STEPS, length // _LENGTH_STEP)}"
