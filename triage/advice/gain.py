"""What a release brings: needs matched to items, defects mended, features added."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from triage.advice import tables
from triage.advice.rule import worth_order
from triage.advice.stakes import Bools, Ints, Kinds
from triage.advice.weigh import Case
from triage.domain.advice import Gain, Reason
from triage.domain.policy import Worth

_WORD = re.compile(r"[^\W_]+", re.UNICODE)
_MEDIUM = 1


@dataclass(frozen=True)
class Gains:
    """Worth that each item brings as feature, as fix, and for a stated need (orders of `Worth`)."""

    feature: Ints
    fix_flight: Ints
    fix_plain: Ints
    need: Ints
    needs_met: tuple[tuple[int, ...], ...]
    base: int


def _words(text: str) -> tuple[str, ...]:
    small = tables.priors().matching.small_words
    return tuple(w for w in _WORD.findall(text.casefold()) if w not in small)


def match_needs(needs: Sequence[str], texts: Sequence[str]) -> Bools:
    """Which texts meet which needs, needs x texts: enough of the need's words stand in the text.

    Case, small words and slips of spelling do not count.
    """
    met = np.zeros((len(needs), len(texts)), bool)
    if not needs or not texts:
        return met
    from rapidfuzz import fuzz, process

    matching = tables.priors().matching
    tokens = [_words(text) for text in texts]
    vocabulary = sorted({word for words in tokens for word in words})
    if not vocabulary:
        return met
    place = {word: i for i, word in enumerate(vocabulary)}
    holds = np.zeros((len(texts), len(vocabulary)), bool)
    for row, words in enumerate(tokens):
        holds[row, [place[w] for w in words]] = True
    for row, need in enumerate(needs):
        wanted = tuple(dict.fromkeys(_words(need)))
        if not wanted:
            continue
        like = process.cdist(wanted, vocabulary, scorer=fuzz.ratio) >= matching.token_percent
        found = (holds.astype(np.float32) @ like.T.astype(np.float32)) > 0
        met[row] = found.mean(axis=1) >= matching.need_share
    return met


@cache
def _feature_worth(function: str) -> int:
    found = tables.function(function)
    return worth_order(found.gain if found else Worth.LITTLE)


def gains(case: Case, met: Bools) -> Gains:
    """The worth of each item of the case; features count by function where no need is stated.

    `met` tells which items of the case meet which needs, needs x items.
    """
    needs = len(met) > 0
    little, some, much = (worth_order(w) for w in (Worth.LITTLE, Worth.SOME, Worth.MUCH))
    feature = [
        little if needs else max((_feature_worth(f.id) for f in s.plain), default=0)
        for s in case.stakes
    ]

    def fixes(stay: Ints) -> Ints:
        return np.where(stay < 0, 0, np.where(stay // 10 >= _MEDIUM, some, little))

    return Gains(
        feature=np.array(feature, dtype=np.int64),
        fix_flight=fixes(case.stay_flight),
        fix_plain=fixes(case.stay_plain),
        need=np.where(met.any(axis=0), much, 0) if needs else np.zeros(len(feature), np.int64),
        needs_met=tuple(tuple(int(i) for i in np.flatnonzero(row)) for row in met),
        base=much if case.candidate.wanted_by else 0,
    )


def worth(found: Gains, kinds: Kinds) -> Ints:
    """The order of `Worth` of the release under each reading of the notes."""
    if not found.feature.size:
        return np.full(kinds.fix.shape[0], found.base)
    fix = np.where(kinds.flight, found.fix_flight, found.fix_plain)
    some_kind = kinds.feature | kinds.fix | kinds.compatibility
    each = np.maximum(
        np.maximum(np.where(kinds.feature, found.feature, 0), np.where(kinds.fix, fix, 0)),
        np.where(some_kind, found.need, 0),
    )
    best: Ints = np.maximum(each.max(axis=1), found.base)
    return best


def describe(case: Case, found: Gains, kinds: Kinds, needs: Sequence[str]) -> Gain:
    """The gain in words, most first."""
    reasons: list[Reason] = []
    for text in case.candidate.wanted_by:
        reasons.append(Reason(text=text))
    some_kind = (kinds.feature | kinds.fix | kinds.compatibility)[0]
    for need, items in zip(needs, found.needs_met, strict=False):
        met = [case.stakes[i].pointer for i in items if some_kind[i]]
        if met:
            reasons.append(Reason(text=f"meets your need '{need}'", pointers=tuple(met)))
    fixes = np.flatnonzero(kinds.fix[0])
    features = np.flatnonzero(kinds.feature[0])
    for rows, one, many in (
        (fixes, "mends a known defect", "mends {} known defects"),
        (features, "adds or betters one thing", "adds or betters {} things"),
    ):
        if rows.size:
            text = one if rows.size == 1 else many.format(rows.size)
            reasons.append(Reason(text=text, pointers=tuple(case.stakes[i].pointer for i in rows)))
    order = int(worth(found, kinds)[0])
    return Gain(worth=list(Worth)[order], reasons=tuple(reasons))
