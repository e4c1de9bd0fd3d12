"""Misspelt vocabulary words: the nearest word by rapidfuzz, if it is near enough to be meant."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

_SHORTEST = 6  # shorter words have too many neighbours
_SWAPPED_LETTER_FROM = 8  # a wrong letter makes another word too easily in a shorter one
_TWO_ERRORS_FROM = 10  # longer words may hold two errors


class Speller:
    """Repairs single words towards a closed list."""

    def __init__(self, words: Iterable[str], known: Iterable[str] = ()) -> None:
        """`words` may be repaired to; `known` are correct as they stand."""
        wanted = {w for w in words if w.isalpha() and len(w) >= _SHORTEST}
        self._known = wanted | set(known)
        self._by_initial: dict[str, list[str]] = {}
        for word in sorted(wanted):
            self._by_initial.setdefault(word[0], []).append(word)
        self.repair = lru_cache(maxsize=65536)(self._repair)

    def _repair(self, word: str) -> tuple[str, float] | None:
        """The vocabulary word meant by lower-case `word` and the likeness in percent, or None."""
        if len(word) < _SHORTEST or word in self._known or not word.isalpha():
            return None
        from rapidfuzz import process
        from rapidfuzz.distance import OSA

        limit = 2 if len(word) >= _TWO_ERRORS_FROM else 1
        found = process.extractOne(
            word, self._by_initial.get(word[0], ()), scorer=OSA.distance, score_cutoff=limit
        )
        if found is None or _inflected(word, found[0]):
            return None
        if len(word) == len(found[0]) < _SWAPPED_LETTER_FROM and sorted(word) != sorted(found[0]):
            return None
        return found[0], 100.0 * (1 - found[1] / max(len(word), len(found[0])))


def _inflected(word: str, base: str) -> bool:
    """Whether the two share a stem, so that the difference is grammar and no misspelling."""
    return bool(_stems(word) & _stems(base))


def _stems(word: str) -> set[str]:
    stems = {word}
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= _SHORTEST - 2:
            stems.add(word[: -len(ending)])
    if word.endswith("ss"):
        stems.discard(word[:-1])
    return stems


_ENDINGS = (
    *("s", "es", "d", "ed", "ing", "er", "or", "ers", "ors", "ly", "y", "al", "able", "ity", "ise"),
    *("ize", "ised", "ized", "ion", "ions", "ation", "ations", "ate", "ates", "ated", "ating"),
    *("e", "ive", "ative", "ability", "est", "ness", "ment", "isation", "ization"),
)
