"""Phrases whose words stand in another order: 'altitude for the return to home'."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

_LIKENESS = 85.0  # rapidfuzz token-sort ratio, 0..100, from which the phrase is held to be meant
_STRAY = 2  # little words that may stand between
_LITTLE = frozenset({"a", "an", "the", "of", "for", "to", "in", "on", "at", "by", "and", "-", "is"})


class Reordered:
    """An index of phrases of two words or more by their rarest content word."""

    def __init__(self, phrases: Mapping[str, Sequence[tuple[str, ...]]]) -> None:
        """`phrases` maps `family:name` to the phrases' tokens."""
        content = [
            (key.partition(":")[2], words)
            for key, lists in phrases.items()
            for tokens in lists
            if len(words := tuple(w for w in tokens if w not in _LITTLE and w.isalnum())) > 1
            and len(set(words)) == len(words)
        ]
        count: dict[str, int] = {}
        for _, words in content:
            for word in words:
                count[word] = count.get(word, 0) + 1
        self._index: dict[str, list[tuple[str, tuple[str, ...]]]] = {}
        for name, words in dict.fromkeys(content):
            rarest = min(words, key=lambda w: (count[w], w))
            self._index.setdefault(rarest, []).append((name, words))

    def find(self, words: Sequence[str]) -> Iterator[tuple[str, int, int, float]]:
        """(name, first token, token after the last, likeness) of each phrase found once."""
        given = set(words)
        done = set()
        for word in (w for w in dict.fromkeys(words) if w in self._index):
            for name, phrase in self._index[word]:
                if name not in done and given.issuperset(phrase):
                    found = _window(words, phrase)
                    if found is not None:
                        done.add(name)
                        yield name, *found


def _window(words: Sequence[str], phrase: tuple[str, ...]) -> tuple[int, int, float] | None:
    """The narrowest run of tokens that holds all words of the phrase and little else."""
    wanted = set(phrase)
    places = [i for i, word in enumerate(words) if word in wanted]
    best: tuple[int, int, float] | None = None
    for first in places:
        missing = set(wanted)
        for i in range(first, len(words)):
            missing.discard(words[i])
            if not missing:
                run = words[first : i + 1]
                extra = [w for w in run if w not in wanted and w not in _LITTLE]
                if len(run) - len(phrase) <= 2 * _STRAY and not extra:
                    from rapidfuzz import fuzz

                    kept = " ".join(w for w in run if w in wanted)
                    score = float(fuzz.token_sort_ratio(kept, " ".join(phrase)))
                    if score >= _LIKENESS and (best is None or i + 1 - first < best[1] - best[0]):
                        best = (first, i + 1, score)
                break
    return best
