"""Which items meet which needs, by their words; the stand-in where no sentence vectors are used."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from triage.domain.base import Frozen
from triage.reference.loader import load_table

_WORD = re.compile(r"[^\W_]+", re.UNICODE)


class Matching(Frozen):
    """The file needs.toml; `turning` are words that turn the meaning of a need."""

    token_percent: float = Field(ge=0, le=100)
    need_share: float = Field(gt=0, le=1)
    small_words: frozenset[str]
    turning: frozenset[str]
    reason: str
    status: str


@cache
def matching() -> Matching:
    """The rule shipped with the package."""
    return load_table("needs.toml", Matching)


def need_chances(needs: Sequence[str], texts: Sequence[str]) -> NDArray[np.float64]:
    """The chance that a text meets a need, needs x texts: here 0 or 1.

    Case, small words and slips of spelling don't count; 'less' and 'no' do.
    """
    met = np.zeros((len(needs), len(texts)))
    if not needs or not texts:
        return met
    from rapidfuzz import fuzz, process

    rule = matching()
    tokens = [_words(text) for text in texts]
    vocabulary = sorted({word for words in tokens for word in words})
    if not vocabulary:
        return met
    place = {word: i for i, word in enumerate(vocabulary)}
    holds = np.zeros((len(texts), len(vocabulary)), np.float32)
    for row, words in enumerate(tokens):
        holds[row, [place[w] for w in words]] = 1
    turned = np.array([bool(rule.turning & set(words)) for words in tokens])
    for row, need in enumerate(needs):
        wanted = [w for w in dict.fromkeys(_words(need)) if w not in rule.turning]
        if not wanted:
            continue
        like = process.cdist(wanted, vocabulary, scorer=fuzz.ratio) >= rule.token_percent
        share = ((holds @ like.T.astype(np.float32)) > 0).mean(axis=1)
        same = turned == bool(rule.turning & set(_words(need)))
        met[row] = (share >= rule.need_share) & same
    return met


def _words(text: str) -> tuple[str, ...]:
    return tuple(w for w in _WORD.findall(text.casefold()) if w not in matching().small_words)
