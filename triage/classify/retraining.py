"""Training with the operator's corrections, and what that does to the shipped evaluation set."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from triage.classify.artefact import Artefact
from triage.classify.classifier import calibrated
from triage.classify.evaluation import Report, report
from triage.classify.measure import thresholds
from triage.classify.training import CHOSEN, calibrate, out_of_fold, prepare, train, truths
from triage.domain.corpus import CorpusItem
from triage.recognise import Recogniser


class Retrained(NamedTuple):
    """The new model, and the shipped corpora measured out of fold without and with it."""

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
    prepared = prepare((*items, *corrections), recogniser)
    labels = truths((*items, *corrections))
    groups = [item.document for item in items]
    n = len(items)
    reports = []
    for extra in (0, len(corrections)):
        scores = out_of_fold(
            prepared[:n], labels[:n], groups, CHOSEN, prepared[n : n + extra], labels[n : n + extra]
        )
        chances = calibrated(scores, calibrate(scores, labels[:n]))
        name = "with your corrections" if extra else "as shipped"
        reports.append(report(name, labels[:n], chances, thresholds(), groups=groups, draws=200))
    return Retrained(artefact, *reports)
