"""What a release brings: needs met, defects mended, features added."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from triage.advice import tables
from triage.advice.hazards import Case
from triage.advice.items_matrix import Floats, Ints, Kinds
from triage.advice.losses import narrows
from triage.advice.rule import worth_order
from triage.domain.advice import Gain, Reason
from triage.domain.policy import Worth


@dataclass(frozen=True)
class Gains:
    """Worth that each item brings as feature and as fix (orders of `Worth`), and the chance that
    it meets a need, needs x items; `base` is what the move is worth whatever it holds."""

    feature: Ints
    fix_flight: Ints
    fix_plain: Ints
    need: Floats
    base: int


@cache
def _feature_worth(function: str) -> int:
    found = tables.function(function)
    return worth_order(found.gain if found else Worth.LITTLE)


def gains(case: Case, conflicts: tuple[str, ...] = ()) -> Gains:
    """The worth of each item of the case; a stated need adds to it and takes nothing away."""
    little, some, much = (worth_order(w) for w in (Worth.LITTLE, Worth.SOME, Worth.MUCH))
    feature = [max((_feature_worth(f.id) for f in e.plain), default=0) for e in case.entries]

    def fixes(flight: bool) -> Ints:
        found = []
        for entry in case.entries:
            severity = entry.severity(flight)
            grave = severity is not None and severity <= 3
            used = severity is not None and entry.present > 0
            found.append(0 if not used else some if grave and entry.specific else little)
        return np.array(found, dtype=np.int64)

    taken = [any(narrows(e) for e in entry.item.item.effects) for entry in case.entries]
    need = [
        [0.0 if gone else chances.get(entry.item.item.ref, 0.0)
         for entry, gone in zip(case.entries, taken, strict=True)]
        for _, chances in sorted(case.needs.items())
    ]  # fmt: skip
    return Gains(
        feature=np.array(feature, dtype=np.int64),
        fix_flight=fixes(True),
        fix_plain=fixes(False),
        need=np.array(need).reshape(len(case.needs), len(case.entries)),
        base=much if case.candidate.wanted_by or conflicts else 0,
    )


def worth(found: Gains, kinds: Kinds, met: np.ndarray | None = None) -> Ints:
    """The order of `Worth` of the release under each reading of the notes.

    `met` are draws of needs met, rows x items; else a match that is held counts.
    """
    if not found.feature.size:
        return np.full(kinds.fix.shape[0], found.base)
    much = worth_order(Worth.MUCH)
    if met is None:
        met = np.asarray((found.need >= tables.priors().needs.held).any(axis=0))[None, :]
    fix = np.where(kinds.flight, found.fix_flight, found.fix_plain)
    some_kind = kinds.feature | kinds.fix | kinds.compatibility | kinds.flight
    each = np.maximum(
        np.maximum(np.where(kinds.feature, found.feature, 0), np.where(kinds.fix, fix, 0)),
        np.where(some_kind & met, much, 0),
    )
    best: Ints = np.maximum(each.max(axis=1), found.base)
    return best


def describe(case: Case, found: Gains, kinds: Kinds, conflicts: tuple[str, ...] = ()) -> Gain:
    """The gain in words, most first."""
    reasons = [Reason(text=text) for text in case.candidate.wanted_by]
    reasons += [Reason(text=f"ends what does not work together today: {c}") for c in conflicts]
    some_kind = (kinds.feature | kinds.fix | kinds.compatibility | kinds.flight)[0]
    held = tables.priors().needs.held
    for need, row in zip(sorted(case.needs), found.need, strict=True):
        met = [case.entries[i].pointer for i in np.flatnonzero((row >= held) & some_kind)]
        if met:
            reasons.append(Reason(text=f"meets your need '{need}'", pointers=tuple(met)))
    worthy = np.where(kinds.flight, found.fix_flight, found.fix_plain)[0] > 0
    fixes = np.flatnonzero(kinds.fix[0] & worthy) if case.entries else np.array([], int)
    features = np.flatnonzero(kinds.feature[0] & (found.feature > 0))
    for rows, one, many in (
        (fixes, "mends a known defect", "mends {} known defects"),
        (features, "adds or betters one thing", "adds or betters {} things"),
    ):
        if rows.size:
            text = one if rows.size == 1 else many.format(rows.size)
            reasons.append(Reason(text=text, pointers=tuple(case.entries[i].pointer for i in rows)))
    order = int(worth(found, kinds)[0])
    return Gain(worth=list(Worth)[order], reasons=tuple(reasons))
