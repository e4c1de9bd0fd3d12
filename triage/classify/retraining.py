"""Training with the operator's corrections, and what that does to the shipped evaluation set."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from triage.classify import encoder_file
from triage.classify.artefact import Artefact
from triage.classify.evaluation import Report, report
from triage.classify.measure import thresholds
from triage.classify.split import kept_out
from triage.classify.training import blended_by_group, both, fit, prepare, train, truths
from triage.domain.corpus import CorpusItem
from triage.recognise import Recogniser


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
    """Train on both; corrections are never among the items measured on."""
    recogniser = Recogniser()
    artefact = train(
        (*items, *corrections),
        recogniser,
        corpus_sha256=corpus_sha256,
        corrections=len(corrections),
    )
    prepared, kept = prepare((*items, *corrections), recogniser), kept_out(items)
    labels = truths((*items, *corrections))
    unseen = [prepared[i] for i in np.flatnonzero(kept)]
    truth = labels[: len(items)][kept]
    styles = [item.style for item, out in zip(items, kept, strict=True) if out]
    groups = [item.document for item, out in zip(items, kept, strict=True) if out]
    encoded = encoder_file.shipped().encoder.scores([p.pair for p in unseen])
    reports = []
    for extra in (0, len(corrections)):
        seen = [*np.flatnonzero(~kept), *range(len(items), len(items) + extra)]
        fitted = fit([prepared[i] for i in seen], labels[seen])
        chances = blended_by_group(both(fitted, encoded, unseen), truth, styles)
        name = "with your corrections" if extra else "as shipped"
        reports.append(report(name, truth, chances, thresholds(), groups=groups, draws=200))
    return Retrained(artefact, *reports)
