"""What the recogniser found in an item's words."""

from __future__ import annotations

from enum import StrEnum

from triage.domain.base import Frozen


class FoundBy(StrEnum):
    """What a find rests on: a word of the text, one of its headings, or the model's reading."""

    WORDS = "words"
    HEADING = "heading"
    MODEL = "model"


class Find(Frozen):
    """A vocabulary entry found in a text: characters [start, end) of the item's cleaned text.

    `score` is 100 for an exact match, below that the similarity in percent of a misspelt or
    reordered one. `start == end == -1` when the word stands in the heading; `start == end == 0`
    and no words when the sentence is about it without a listed word, `score` then being the chance
    of that in percent.
    """

    id: str
    words: str
    start: int
    end: int
    score: float = 100.0

    @property
    def by(self) -> FoundBy:
        """What the find rests on."""
        if self.start < 0:
            return FoundBy.HEADING
        return FoundBy.WORDS if self.words else FoundBy.MODEL


class Finds(Frozen):
    """Settings, components and words of condition found in one item and its headings.

    `frequency` is '' or an id of `conditions.toml` (always, sometimes, rarely...): how often the
    text says a defect shows. `severity_words` are words that speak of harm (crash, fly away...).
    """

    settings: tuple[Find, ...] = ()
    components: tuple[Find, ...] = ()
    frequency: str = ""
    severity_words: tuple[Find, ...] = ()
