"""The encoder's heads: the chances of a family of targets by name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

_EXCLUSIVE = frozenset(("role", "outcome", "about", "notice"))


class Heads:
    """Parts a row of scores by the family of its targets ('effect:reset' is of family 'effect')."""

    def __init__(self, targets: Sequence[str]) -> None:
        self._columns: dict[str, list[int]] = {}
        self._names: dict[str, list[str]] = {}
        for number, target in enumerate(targets):
            family, mark, name = target.partition(":")
            if mark:
                self._columns.setdefault(family, []).append(number)
                self._names.setdefault(family, []).append(name)

    def chances(self, row: NDArray[np.float64], family: str) -> Mapping[str, float]:
        """The chances of a family: they sum to one where its targets exclude each other."""
        if family not in self._columns:
            return {}
        scores = row[self._columns[family]]
        if family in _EXCLUSIVE:
            powers = np.exp(scores - scores.max())
            chances = powers / powers.sum()
        else:
            chances = 1.0 / (1.0 + np.exp(-scores))
        return dict(zip(self._names[family], chances.tolist(), strict=True))
