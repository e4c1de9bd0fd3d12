"""Judges items with a trained model, by numpy alone: no scikit-learn is imported."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np

from triage.classify.artefact import NAME, Artefact, Platt, load
from triage.classify.features import Features, features
from triage.classify.space import Floats, Space, times
from triage.domain.kinds import Kind
from triage.recognise import Reading
from triage.resources import folder

_BATCH = 2048  # items scored at a time, which bounds the memory


class Classifier:
    """A trained model, ready to give chances."""

    def __init__(self, artefact: Artefact, sha256: str) -> None:
        self.kinds: tuple[Kind, ...] = artefact.manifest.kinds
        self.sha256 = sha256
        self.manifest = artefact.manifest
        self._space = Space(artefact.names, artefact.rarity, artefact.manifest.group_weights)
        self._weights, self._intercepts = artefact.weights, artefact.intercepts

    def scores(self, items: Sequence[Features]) -> Floats:
        """Uncalibrated log-odds: an array (items, kinds)."""
        parts = [
            times(self._space.rows(items[i : i + _BATCH]), self._weights)
            for i in range(0, len(items), _BATCH)
        ]
        return np.concatenate(parts) + self._intercepts if parts else np.empty((0, len(self.kinds)))

    def chances(self, readings: Sequence[Reading], units: Sequence[str]) -> Floats:
        """Calibrated chances in [0, 1]: an array (items, kinds)."""
        scores = self.scores([features(r, u) for r, u in zip(readings, units, strict=True)])
        return calibrated(scores, self.manifest.calibration)


def calibrated(scores: Floats, calibration: Sequence[Platt]) -> Floats:
    """Platt's sigmoid, one for each kind (column)."""
    slopes = np.array([platt.slope for platt in calibration])
    shifts = np.array([platt.shift for platt in calibration])
    chances: Floats = 1.0 / (1.0 + np.exp(-(scores * slopes + shifts)))
    return chances


@cache
def shipped() -> Classifier:
    """The model that comes with the package."""
    return open_model(folder("models") / NAME)


def open_model(path: Path) -> Classifier:
    """The model at `path`; ModelError when it is missing, altered or of another version."""
    return Classifier(*load(path))
