"""Whether a change meets a need of the operator's, by the meaning of both."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from triage.classify.encoder import Encoder, Single

_LEAST = 0.5  # from which a need counts as met; the head is calibrated by its fit
_DIGITS = 3


def need_chances(
    needs: Sequence[str], texts: Sequence[str], encoder: Encoder | None = None
) -> NDArray[np.float64]:
    """The chance that a text meets a need: an array (needs, texts), 0 where it is under a half."""
    met = np.zeros((len(needs), len(texts)))
    if not needs or not texts:
        return met
    used = encoder or _shipped()
    wanted = used.vectors([pair_of(need) for need in needs])
    offered = used.vectors([pair_of(text) for text in texts])
    weights, bias = used.arrays["need"], used.arrays["need.bias"]
    for row, need in enumerate(wanted):
        scores = compared(np.broadcast_to(need, offered.shape), offered) @ weights + bias[0]
        chances = 1.0 / (1.0 + np.exp(-scores.astype(np.float64)))
        met[row] = np.where(chances >= _LEAST, chances.round(_DIGITS), 0.0)
    return met


@cache
def _shipped() -> Encoder:
    from triage.classify.encoder_file import shipped

    return shipped().encoder


def pair_of(text: str) -> tuple[str, str]:
    """A need or a change as the encoder reads it for comparing: without unit and heading."""
    return (" : ", text)


def compared(needs: Single, texts: Single) -> Single:
    """What the head rests on, an array (pairs, features): how alike the vectors are, by place."""
    first = needs / np.linalg.norm(needs, axis=1, keepdims=True)
    second = texts / np.linalg.norm(texts, axis=1, keepdims=True)
    alike = (first * second).sum(axis=1, keepdims=True)
    product, apart = first * second, np.abs(first - second)
    size = np.float32(np.sqrt(first.shape[1]))
    return np.concatenate([alike * 4, product * size, apart * size], axis=1).astype(np.float32)
