"""Tells layout from language: section titles, verbs of change, lines that only point elsewhere."""

from __future__ import annotations

import re

from triage.notes.rules import lexicon, pattern, word_set

_SECTION = word_set(lexicon().section)
_PARTICIPLES = word_set(lexicon().participle)
_BESIDE = word_set(lexicon().beside)
VERBS = word_set(lexicon().verb)
_SECTION_CORE = pattern(lexicon().section_core)
_CHANGES_FROM = pattern(lexicon().changes_from)
_FURNITURE = pattern(lexicon().furniture)
_PREAMBLE = pattern(lexicon().preamble)
_FIRST = re.compile(r"[\W_]*([A-Za-z][\w'-]*)")
_NUMBER = re.compile(r"\A\W*(?:\d{1,2}[.)]\s*)?")


def starts_with_verb(text: str) -> bool:
    """Whether the text begins with a verb of change ('Added', 'fixes')."""
    first = _FIRST.match(text)
    return bool(first) and first.group(1).lower() in VERBS if first else False


def known_section(text: str) -> bool:
    """Whether the text is a usual section title ('Bug fixes and improvements:')."""
    if len(text) > 70:
        return False
    bare = _NUMBER.sub("", text).rstrip(" :*_#=!?-–—.").lower()
    words = bare.replace("/", " ").replace(",", " ").split()
    if not words or len(words) > 7:
        return False
    if words[0] in _PARTICIPLES and not all(word in _BESIDE for word in words[1:]):
        return False
    return all(w.strip("()'\"*_") in _SECTION for w in words) and bool(_SECTION_CORE.search(bare))


def title_like(text: str) -> bool:
    """Whether a line can be a heading by its look: short, no sentence, no verb in front."""
    bare = text.strip().strip("*_#= ")
    if not bare or len(bare) > 90 or bare[-1] in ".;,!":
        return False
    if known_section(bare):
        return True
    words = bare.split()
    return len(words) <= 10 and not starts_with_verb(bare) and any(c.isalpha() for c in bare)


def names_base_only(text: str) -> bool:
    """Whether a line only tells what the changes are counted from ('Changes since 1.2')."""
    return bool(_CHANGES_FROM.match(text))


def is_furniture(text: str) -> bool:
    """Whether a line only points elsewhere or names first-time contributors."""
    low = text[:120].lower()
    if len(low) < 12 and low.strip(" .-") in ("none", "n/a", "na"):
        return True
    telling = "made" in low or "change" in low or "download" in low or "table" in low
    return telling and bool(_FURNITURE.match(text))


def is_preamble(text: str) -> bool:
    """Whether a paragraph speaks of the document itself."""
    return bool(_PREAMBLE.match(text))
