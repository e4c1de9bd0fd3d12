"""Judges items with two trained models, by numpy alone: no scikit-learn is imported.

One weighs an item's words and features each by itself, the other reads them in their order; their
scores are blended and calibrated together.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np

from triage.classify import encoder_file
from triage.classify.encoder_file import Opened
from triage.classify.features import Features, prepared
from triage.classify.heads import Heads
from triage.classify.model_file import MEND, NAME, Artefact, Blend, load
from triage.classify.outcomes import outcome_chances
from triage.classify.phrases import COMPONENT, SETTING
from triage.classify.recogniser import Reading
from triage.classify.rerank import refined
from triage.classify.vectoriser import Floats, Space, times
from triage.domain.finds import Finds
from triage.domain.kinds import Kind
from triage.domain.outcomes import OutcomeChances
from triage.errors import ModelError
from triage.reference.shipped import folder

_BATCH = 2048  # items scored at a time, which bounds the memory


class Judged(NamedTuple):
    """What the models say of items: calibrated chances (items, kinds), finds, outcomes."""

    chances: Floats
    finds: list[Finds]
    outcomes: list[OutcomeChances]


class Classifier:
    """A trained model with the encoder it was trained beside, ready to give chances."""

    def __init__(self, artefact: Artefact, sha256: str, opened: Opened) -> None:
        self.kinds: tuple[Kind, ...] = artefact.manifest.kinds
        self.sha256 = sha256
        self.manifest = artefact.manifest
        self.encoder, self.targets = opened.encoder, opened.manifest.targets
        self._heads = Heads(self.targets)
        self._space = Space(artefact.names, artefact.rarity, artefact.manifest.group_weights)
        self._weights, self._intercepts = artefact.weights, artefact.intercepts

    def chances(self, readings: Sequence[Reading], units: Sequence[str]) -> Floats:
        """Calibrated chances in [0, 1]: an array (items, kinds)."""
        return blended(self.scores(readings, units), self.manifest.blends)

    def scores(self, readings: Sequence[Reading], units: Sequence[str]) -> Floats:
        """Log-odds of both models before the blend: an array (items, kinds, 2)."""
        return self._scores(readings, units)[0]

    def read(self, readings: Sequence[Reading], units: Sequence[str]) -> Judged:
        """Everything the models say of items."""
        scores, encoded = self._scores(readings, units)
        finds = [self._found(r, row) for r, row in zip(readings, encoded, strict=True)]
        outcomes = [outcome_chances(self._heads.chances(row, "outcome")) for row in encoded]
        return Judged(blended(scores, self.manifest.blends), finds, outcomes)

    def harm(self, texts: Sequence[Reading], units: Sequence[str]) -> list[OutcomeChances]:
        """What can happen by statements that are no changes."""
        pairs = [prepared(r, u).pair for r, u in zip(texts, units, strict=True)]
        rows = self.encoder.scores(pairs)
        return [outcome_chances(self._heads.chances(row, "outcome")) for row in rows]

    def _found(self, reading: Reading, row: Floats) -> Finds:
        named = {
            f"{family}:{name}": chance
            for family in (SETTING, COMPONENT)
            for name, chance in self._heads.chances(row, family).items()
        }
        return refined(reading.finds, named)

    def _scores(self, readings: Sequence[Reading], units: Sequence[str]) -> tuple[Floats, Floats]:
        """The scores of both models, and all that the encoder says: (items, targets)."""
        items = [prepared(r, u) for r, u in zip(readings, units, strict=True)]
        encoded = self.encoder.scores([item.pair for item in items])
        return beside(self.words([item.features for item in items]), encoded), encoded

    def words(self, items: Sequence[Features]) -> Floats:
        """Log-odds of the words alone: an array (items, kinds)."""
        parts = [
            times(self._space.rows(items[i : i + _BATCH]), self._weights)
            for i in range(0, len(items), _BATCH)
        ]
        return np.concatenate(parts) + self._intercepts if parts else np.empty((0, len(self.kinds)))


def beside(words: Floats, encoded: Floats) -> Floats:
    """The scores of the words (items, kinds) beside those of the encoder, whose first columns are
    the kinds': an array (items, kinds, 2)."""
    return np.stack([words, encoded[:, : words.shape[1]]], axis=2)


def blended(scores: Floats, blends: Sequence[Blend]) -> Floats:
    """Chances (items, kinds) from the scores (items, kinds, 2) of both models."""
    weights = np.array([(blend.words, blend.order) for blend in blends])
    shifts = np.array([blend.shift for blend in blends])
    chances: Floats = 1.0 / (1.0 + np.exp(-((scores * weights).sum(axis=2) + shifts)))
    return chances


@cache
def shipped() -> Classifier:
    """The model that comes with the package."""
    return open_model(folder("models") / NAME)


def open_model(path: Path) -> Classifier:
    """The model at `path`; ModelError when it is missing, altered or of another version."""
    artefact, sha256 = load(path)
    opened = encoder_file.shipped()
    if artefact.manifest.encoder_sha256 != opened.sha256:
        raise ModelError("trained beside another encoder", where=str(path), mend=MEND)
    return Classifier(artefact, sha256, opened)
