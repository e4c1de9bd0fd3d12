"""The feature space: which features count, their rarity, and items as sparse rows over it."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from triage.classify.features import GROUPS, Features

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


class Rows(NamedTuple):
    """Sparse rows: row i holds `values[starts[i]:starts[i+1]]` at `columns[...]` (CSR)."""

    starts: Integers
    columns: Integers
    values: Floats


class Space:
    """Maps features to columns; within a row each group has Euclidean length = its weight."""

    def __init__(self, names: Sequence[str], rarity: Floats, weights: Sequence[float]) -> None:
        """`names` are features with their group's number in front (`0w:fix`); `rarity` is idf."""
        self.names, self.rarity, self.weights = tuple(names), rarity, tuple(weights)
        self._index: tuple[dict[str, int], ...] = tuple({} for _ in GROUPS)
        for column, name in enumerate(self.names):
            self._index[int(name[0])][name[1:]] = column

    @classmethod
    def fit(cls, items: Iterable[Features], weights: Sequence[float], at_least: int) -> Space:
        """Keeps features that at least `at_least` items have; idf is ln((1+n)/(1+df)) + 1."""
        count: Counter[str] = Counter()
        n = 0
        for item in items:
            n += 1
            count.update({f"{g}{f}" for g, group in enumerate(item) for f in group})
        names = sorted(name for name, df in count.items() if df >= at_least)
        rarity = np.array([math.log((1 + n) / (1 + count[name])) + 1 for name in names])
        return cls(names, rarity, weights)

    def rows(self, items: Iterable[Features]) -> Rows:
        """The items as sparse rows; features out of the space are dropped."""
        starts, columns, lengths, scale = [0], [], [], []
        for item in items:
            for index, weight, group in zip(self._index, self.weights, item, strict=True):
                found = {column for f in group if (column := index.get(f)) is not None}
                columns.extend(sorted(found))
                lengths.append(len(found))
                scale.append(weight)
            starts.append(len(columns))
        column_array = np.array(columns, dtype=np.int64)
        values = self.rarity[column_array]
        group_lengths = np.array(lengths, dtype=np.int64)
        owner = np.repeat(np.arange(len(lengths)), group_lengths)
        norms = np.sqrt(np.bincount(owner, weights=values**2, minlength=len(lengths)))
        factors = np.array(scale) / np.where(norms > 0, norms, 1.0)
        return Rows(np.array(starts, dtype=np.int64), column_array, values * factors[owner])


def times(rows: Rows, weights: Floats) -> Floats:
    """The rows times a dense matrix (columns, kinds): an array (rows, kinds)."""
    n, kinds = len(rows.starts) - 1, weights.shape[1]
    owner = np.repeat(np.arange(n), np.diff(rows.starts))
    out = np.empty((n, kinds))
    for k in range(kinds):
        out[:, k] = np.bincount(owner, rows.values * weights[rows.columns, k], minlength=n)
    return out
