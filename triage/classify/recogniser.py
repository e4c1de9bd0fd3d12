"""Finds vocabulary phrases in items: spaCy's PhraseMatcher, then misspellings and word order."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from triage.classify.misspelling import Speller
from triage.classify.phrases import APART, COMPONENT, FREQUENCY, HARM, NEAR, SETTING, phrases
from triage.classify.tokenizer import tokenizer
from triage.classify.word_order import Reordered
from triage.domain.finds import Find, Finds
from triage.reference.vocabulary import similar_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from spacy.tokens import Doc

# From the surest statement to the weakest: the most careful word in a line decides.
_RANK = ("rarely", "sometimes", "often", "always")
_CACHE = 4096
_JOINTS = frozenset({"-", "_"})
_REACH = 10  # tokens before and after a clue's words in which its company is looked for


class Reading(NamedTuple):
    """An item's tokens (lower case, white space dropped) and what was found in it."""

    text: str
    tokens: tuple[str, ...]
    heading_tokens: tuple[str, ...]
    finds: Finds


class Recogniser:
    """Holds the matchers; build one and use it for all items (building takes some 100 ms)."""

    def __init__(self) -> None:
        from spacy.matcher import PhraseMatcher

        self._tokenizer = tokenizer()
        self._matcher = PhraseMatcher(self._tokenizer.vocab, attr="LOWER")
        self._keys: dict[int, tuple[str, str]] = {}
        self._company: dict[int, tuple[frozenset[str], frozenset[str]]] = {}
        wordlists: dict[str, list[tuple[str, ...]]] = {}
        grouped: dict[str, list[Doc]] = {}
        near: dict[str, set[str]] = {}
        apart: dict[str, set[str]] = {}
        for key, phrase in phrases():
            if key.startswith((NEAR, APART)):
                relation, _, clue = key.partition(":")
                (near if relation == NEAR else apart).setdefault(clue, set()).add(phrase)
                continue
            doc = self._tokenizer(phrase)
            doc, _ = _unjoined(doc, [t.lower_ for t in doc])
            grouped.setdefault(key, []).append(doc)
            if key.startswith(SETTING) and "#" not in key:
                wordlists.setdefault(key, []).append(tuple(t.text for t in doc))
        for key, docs in grouped.items():
            self._matcher.add(key, docs)
            family, _, name = key.partition(":")
            code = self._tokenizer.vocab.strings[key]
            self._keys[code] = (family, name.partition("#")[0])
            if "#" in name:
                self._company[code] = (
                    frozenset(near.get(key, ())),
                    frozenset(apart.get(key, ())),
                )
        content = (d for key, docs in grouped.items() if _content(key) for d in docs)
        self._speller = Speller((t.text for d in content for t in d), similar_words())
        self._reordered = Reordered(wordlists)
        self._heading = lru_cache(maxsize=_CACHE)(self._read_heading)

    def read(self, text: str, heading: tuple[str, ...] = ()) -> Reading:
        """What `text` (cleaned item text) speaks of; `heading` is the path above it."""
        doc = self._tokenizer(text)
        words = [t.lower_ for t in doc]
        spans = self._exact(doc, words)
        spans += self._misspelt(doc, words, spans)
        spans += self._swapped(words)
        heading_tokens, above = self._heading(" / ".join(heading)) if heading else ((), Finds())
        found = _gather(text, doc, spans)
        return Reading(
            text,
            tuple(w for w in words if not w.isspace()),
            heading_tokens,
            found.model_copy(
                update={
                    "settings": _with_heading(found.settings, above.settings),
                    "components": _with_heading(found.components, above.components),
                }
            ),
        )

    def _read_heading(self, heading: str) -> tuple[tuple[str, ...], Finds]:
        doc = self._tokenizer(heading)
        words = [t.lower_ for t in doc]
        found = _gather(heading, doc, self._exact(doc, words))
        return tuple(w for w in words if not w.isspace()), found

    def _exact(self, doc: Doc, words: Sequence[str]) -> list[_Span]:
        plain, place = _unjoined(doc, words)
        return [
            _Span(*self._keys[key], place[start], place[end - 1] + 1, 100.0)
            for key, start, end in self._matcher(plain)
            if key not in self._company or self._in_company(plain, key, start, end)
        ]

    def _in_company(self, doc: Doc, key: int, start: int, end: int) -> bool:
        """Whether a clue's words stand near what it asks for and away from what it shuns."""
        near, apart = self._company[key]
        around = {t.lower_ for t in doc[max(0, start - _REACH) : start]}
        around.update(t.lower_ for t in doc[end : end + _REACH])
        return around.isdisjoint(apart) and (not near or not around.isdisjoint(near))

    def _misspelt(self, doc: Doc, words: list[str], found: list[_Span]) -> list[_Span]:
        """Matches once more after repairing words that no exact match covers."""
        repaired = {
            i: fix
            for i, word in enumerate(words)
            if (fix := self._speller.repair(word)) is not None
        }
        if not repaired:
            return []
        from spacy.tokens import Doc as Document

        right = [repaired[i][0] if i in repaired else w for i, w in enumerate(words)]
        mended = Document(doc.vocab, words=right)
        seen = {(s.family, s.name, s.start, s.end) for s in found}
        return [
            span._replace(score=min(repaired[i][1] for i in touched))
            for span in self._exact(mended, right)
            if (span.family, span.name, span.start, span.end) not in seen
            and (touched := [i for i in range(span.start, span.end) if i in repaired])
        ]

    def _swapped(self, words: list[str]) -> list[_Span]:
        return [_Span(SETTING, *found) for found in self._reordered.find(words)]


def _unjoined(doc: Doc, words: Sequence[str]) -> tuple[Doc, Sequence[int]]:
    """The words without the joints of 'return-to-home' and RTL_ALT, and their places in `doc`."""
    if _JOINTS.isdisjoint(words):
        return doc, range(len(words))
    from spacy.tokens import Doc as Document

    place = [i for i, word in enumerate(words) if word not in _JOINTS]
    return Document(doc.vocab, words=[words[i] for i in place]), place


def _content(key: str) -> bool:
    return key.startswith((SETTING, COMPONENT))


class _Span(NamedTuple):
    family: str
    name: str
    start: int
    end: int
    score: float


def _gather(text: str, doc: Doc, spans: list[_Span]) -> Finds:
    """Keeps the longest match where two of one family overlap, and orders by place.

    One run of words that is listed under two names stands for both.
    """
    kept: dict[str, list[_Span]] = {SETTING: [], COMPONENT: [], FREQUENCY: [], HARM: []}
    for span in sorted(spans, key=lambda s: (s.start - s.end, -s.score, s.start, s.name)):
        rivals = kept[span.family]
        if all(
            span.end <= r.start
            or span.start >= r.end
            or (span.start == r.start and span.end == r.end and span.name != r.name)
            for r in rivals
        ):
            rivals.append(span)
    frequency = next((r for r in _RANK if any(s.name == r for s in kept[FREQUENCY])), "")
    return Finds(
        settings=_finds(text, doc, kept[SETTING]),
        components=_finds(text, doc, kept[COMPONENT]),
        frequency=frequency,
        severity_words=_finds(text, doc, kept[HARM]),
    )


def _finds(text: str, doc: Doc, spans: list[_Span]) -> tuple[Find, ...]:
    finds = []
    for span in sorted(spans):
        start, last = doc[span.start].idx, doc[span.end - 1]
        end = last.idx + len(last)
        finds.append(
            Find(id=span.name, words=text[start:end], start=start, end=end, score=span.score)
        )
    return tuple(sorted(finds, key=lambda f: (f.start, f.id)))


def _with_heading(own: tuple[Find, ...], above: tuple[Find, ...]) -> tuple[Find, ...]:
    """The item's own finds, then those that only the heading has, without a place."""
    names = {find.id for find in own}
    extra = {f.id: f for f in above if f.id not in names}
    return own + tuple(f.model_copy(update={"start": -1, "end": -1}) for f in extra.values())
