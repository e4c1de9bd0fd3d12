"""Tells what could not be understood because it is in another language."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from spacy.lang.en.stop_words import STOP_WORDS

from triage.domain.notes import Role
from triage.reading.statements import Statement

if TYPE_CHECKING:
    from langdetect.detector_factory import DetectorFactory

_LEAST = 30  # letters from which a statement's language can be told
_SURE = 0.99
_LATIN_LAST = 0x24F
_TOLD_FROM = 0.05
_WORD = re.compile(r"[^\W\d_]+")


class Understood(NamedTuple):
    """The share of the letters in statements of another language, and what to say of it."""

    share: float
    remarks: tuple[str, ...]


@cache
def _factory() -> DetectorFactory:
    from langdetect import detector_factory

    detector_factory.DetectorFactory.seed = 0  # the same text gives the same answer
    detector_factory.init_factory()
    return detector_factory._factory


def understood(statements: Sequence[Statement]) -> Understood:
    """How much of a document is not English; the other half of a text in two languages is read."""
    total = lost = 0
    for statement in statements:
        letters = sum(c.isalpha() for c in statement.text)
        total += letters
        if statement.role is not Role.DUPLICATE and is_foreign(statement.text, letters):
            lost += letters
    share = round(lost / total, 3) if total else 0.0
    if share < _TOLD_FROM:
        return Understood(share, ())
    return Understood(
        share,
        (f"{share:.0%} of the text is not English and was not understood; have it translated",),
    )


def is_foreign(text: str, letters: int) -> bool:
    """Whether a text is plainly not English: by its script, or by its words."""
    if sum(ord(c) > _LATIN_LAST and c.isalpha() for c in text) > 0.3 * max(1, letters):
        return True
    if letters < _LEAST or any(word.lower() in STOP_WORDS for word in _WORD.findall(text)):
        return False
    detector = _factory().create()
    detector.append(text)
    found = detector.get_probabilities()
    return bool(found) and found[0].lang != "en" and found[0].prob >= _SURE
