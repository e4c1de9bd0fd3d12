"""Fits the head that tells whether a change meets a need, on the encoder's vectors of both."""

from __future__ import annotations

import json
from pathlib import Path
from typing import NamedTuple
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from triage.classify.encoder import Encoder
from triage.classify.needs import compared, pair_of
from triage.reference.shipped import folder

Floats = NDArray[np.float32]
_KEPT_OUT = 5  # one need in so many is never fitted to


class NeedPair(NamedTuple):
    """A need, a change, and whether the change meets it."""

    need: str
    item: str
    met: bool

    @property
    def kept_out(self) -> bool:
        """Whether its need is kept out of fitting."""
        return crc32(self.need.encode("utf-8")) % _KEPT_OUT == 0


def need_pairs(path: Path | None = None) -> tuple[NeedPair, ...]:
    """The labelled pairs of the corpora."""
    file = path or folder("corpora") / "needs" / "needs.jsonl"
    rows = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    return tuple(NeedPair(row["need"], row["item"], row["met"]) for row in rows)


def fit_needs(encoder: Encoder, pairs: tuple[NeedPair, ...]) -> tuple[Floats, Floats]:
    """Weights (features,) and bias (1,) of the head, from the pairs that are not kept out."""
    from sklearn.linear_model import LogisticRegression

    seen = [pair for pair in pairs if not pair.kept_out]
    rows = compared(
        encoder.vectors([pair_of(pair.need) for pair in seen]),
        encoder.vectors([pair_of(pair.item) for pair in seen]),
    )
    model = LogisticRegression(C=0.3, max_iter=2000)
    model.fit(rows, [pair.met for pair in seen])
    return model.coef_[0].astype(np.float32), model.intercept_.astype(np.float32)
