"""A small linear classifier over named features, hashed into a table of weights."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
_SCALE = np.float32(8.0)  # numbers of the order of one, which a fit asks for


class Linear(NamedTuple):
    """`weights` is (buckets, classes), `bias` (classes,); a feature's bucket is its CRC-32."""

    classes: tuple[str, ...]
    weights: Floats
    bias: Floats

    def chances(self, features: Sequence[str]) -> Mapping[str, float]:
        """The chance of each class for a set of active features."""
        rows = buckets(features, len(self.weights))
        scores = (self.weights[rows].sum(axis=0) + self.bias).tolist()
        top = max(scores)
        powers = [math.exp(score - top) for score in scores]
        total = sum(powers)
        return {name: power / total for name, power in zip(self.classes, powers, strict=True)}


def dense_chances(model: Linear, row: Floats) -> Mapping[str, float]:
    """The chance of each class for a row of numbers instead of features."""
    scores = (row @ model.weights + model.bias).astype(np.float64)
    powers = np.exp(scores - scores.max())
    return dict(zip(model.classes, (powers / powers.sum()).tolist(), strict=True))


def summary(vectors: Floats) -> Floats:
    """What a list of statements is about: the mean of their vectors at length one, scaled."""
    unit = vectors / np.maximum(np.linalg.norm(vectors, axis=1, keepdims=True), 1e-6)
    mean: Floats = unit.mean(axis=0) * _SCALE
    return mean


def buckets(features: Sequence[str], size: int) -> list[int]:
    """The rows of the weights that the features stand for."""
    return sorted({crc32(feature.encode("utf-8")) % size for feature in features})
