"""Why the classifier judged as it did: what each word moves, by judging once more without it."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from triage.classify.classifier import Classifier
from triage.classify.recogniser import Reading
from triage.domain.base import Frozen
from triage.domain.kinds import Kind


class Moved(Frozen):
    """`word` at [start, end) of the text; without it the chance would be `without`."""

    word: str
    start: int
    end: int
    chance: float
    without: float

    @property
    def effect(self) -> float:
        """What the word adds to the chance; negative when it speaks against the kind."""
        return self.chance - self.without


def explain(
    classifier: Classifier,
    read: Callable[[str, tuple[str, ...]], Reading],
    text: str,
    heading: tuple[str, ...] = (),
    unit: str = "",
) -> dict[Kind, tuple[Moved, ...]]:
    """For each kind the words by falling absolute effect, exact by construction.

    The heading counts as one word, at [-1, -1).
    """
    words = _words(text)
    readings = [read(text, heading)]
    readings += [read(f"{text[:start]} {text[end:]}", heading) for start, end in words]
    named = [(text[start:end], start, end) for start, end in words]
    if heading:
        readings.append(read(text, ()))
        named.append((" / ".join(heading), -1, -1))
    chances = classifier.chances(readings, [unit] * len(readings))
    out = {}
    for k, kind in enumerate(classifier.kinds):
        base = float(chances[0, k])
        moved = [
            Moved(word=word, start=start, end=end, chance=base, without=float(without))
            for (word, start, end), without in zip(named, chances[1:, k], strict=True)
        ]
        order = np.argsort([-abs(m.effect) for m in moved], kind="stable")
        out[kind] = tuple(moved[i] for i in order)
    return out


def _words(text: str) -> list[tuple[int, int]]:
    """Places of the words, between white space."""
    places, start = [], None
    for i, character in enumerate(f"{text} "):
        if character.isspace():
            if start is not None:
                places.append((start, i))
            start = None
        elif start is None:
            start = i
    return places
