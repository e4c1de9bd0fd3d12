"""Training with the operator's corrections, and what that does to the shipped evaluation set."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from triage.classify.model_file import Artefact
from triage.classify.recogniser import Recogniser
from triage.classify.vectoriser import Floats
from triage.domain.corpus import CorpusItem
from triage.training.evaluate import thresholds
from triage.training.fit import artefact_of, blended_by_group, fit, material, prepare, truths
from triage.training.held_out import kept_out
from triage.training.metrics import Report, report


class Retrained(NamedTuple):
    """The new model, and the items kept out measured without and with it."""

    artefact: Artefact
    before: Report
    after: Report

    @property
    def loses(self) -> bool:
        """Whether macro-F1 on the shipped corpora falls by more than rounding hides."""
        return self.after.macro_f1.value < self.before.macro_f1.value - _ROUNDING


_ROUNDING = 0.0005  # half a unit of the third decimal, the last one shown


def retrain(
    items: Sequence[CorpusItem], corrections: Sequence[CorpusItem], *, corpus_sha256: str
) -> Retrained:
    """Train on both; corrections are always fitted to and never among the items measured on."""
    recogniser = Recogniser()
    shipped = material(items, recogniser)
    own = shipped._replace(
        seen=[*shipped.seen, *prepare(corrections, recogniser)],
        seen_labels=np.concatenate([shipped.seen_labels, truths(corrections)]),
    )
    unseen = [item for item, out in zip(items, kept_out(items), strict=True) if out]
    without, fitted = (fit(known.seen, known.seen_labels) for known in (shipped, own))
    artefact = artefact_of(fitted, own, corpus_sha256=corpus_sha256, corrections=len(corrections))
    return Retrained(
        artefact,
        _measured("as shipped", shipped.scores(without), unseen),
        _measured("with your corrections", own.scores(fitted), unseen),
    )


def _measured(name: str, scores: Floats, unseen: Sequence[CorpusItem]) -> Report:
    truth = truths(unseen)
    chances = blended_by_group(scores, truth, [item.style for item in unseen])
    groups = [item.document for item in unseen]
    return report(name, truth, chances, thresholds(), groups=groups, draws=200)
