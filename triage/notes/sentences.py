"""Sentences with their places, and paragraphs that are plainly a run of separate changes."""

from __future__ import annotations

import re

from triage.notes.words import starts_with_verb

_END = re.compile(r"[.!?](?:[\"')\]]{0,2})(?=\s+[A-Z\"'(\[`*]|\s*\Z)|(?<=[;])(?=\s+[A-Z])")
_ABBREVIATION = re.compile(
    r"(?:\b(?:e\.g|i\.e|etc|approx|vs|no|nr|fig|ver|cf|resp|incl|max|min|St)|\b[A-Z])\.\Z"
)
_WORD = re.compile(r"[a-z]+(?:'t)?")


def words_of(text: str) -> list[str]:
    """The lower-case words of a text."""
    return _WORD.findall(text.lower())


def heads_of(text: str) -> set[str]:
    """The first four letters of each word, as a cheap stem."""
    return {word[:4] for word in _WORD.findall(text.lower())}


def sentences(text: str, start: int = 0, end: int | None = None) -> list[tuple[int, int]]:
    """Spans of the sentences in text[start:end], blanks around them left out."""
    stop = len(text) if end is None else end
    spans, begin = [], start
    for found in _END.finditer(text, start, stop):
        if _ABBREVIATION.search(text, max(begin, found.end() - 12), found.end()):
            continue
        spans.append(_trimmed(text, begin, found.end()))
        begin = found.end()
    spans.append(_trimmed(text, begin, stop))
    return [span for span in spans if span[0] < span[1]]


def _trimmed(text: str, start: int, end: int) -> tuple[int, int]:
    while start < end and text[start].isspace():
        start += 1
    while end > start and text[end - 1].isspace():
        end -= 1
    return start, end


def separate_changes(text: str, start: int, end: int) -> list[tuple[int, int]]:
    """The paragraph's span, or its sentences where each begins as a change of its own."""
    spans = sentences(text, start, end)
    if len(spans) < 2:
        return [(start, end)]
    if all(starts_with_verb(text[a:b]) and b - a > 12 for a, b in spans):
        return spans
    return [(start, end)]
