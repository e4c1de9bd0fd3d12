"""Measures the model: out of fold on the corpora, or the shipped one on labelled real notes."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from pydantic import ValidationError

from triage.classify.classifier import calibrated, shipped
from triage.classify.corpus import read_corpus
from triage.classify.decide import costs
from triage.classify.evaluation import Report, Truths, report
from triage.classify.judge import unit_of
from triage.classify.space import Floats
from triage.domain.base import Frozen
from triage.domain.kinds import Kind
from triage.domain.notes import Item, Release
from triage.errors import ConfigError
from triage.recognise import Reading, Recogniser


class LabelledItem(Frozen):
    """An item of labels.jsonl: `line` is where it starts in `document` beside that file."""

    id: str
    document: str
    line: int
    text: str
    kinds: tuple[Kind, ...]
    parameters: tuple[str, ...] = ()
    components: tuple[str, ...] = ()


def thresholds() -> list[float]:
    """The chance of each kind from which YES is cheaper than NO."""
    return [costs()[kind].threshold for kind in Kind]


def on_corpus(items: Path | None = None) -> tuple[Report, ...]:
    """The whole corpus and each style, every item judged by a model that saw no item of its
    document (the calibration is fitted on these same scores)."""
    from triage.classify.training import CHOSEN, calibrate, out_of_fold, prepare, truths

    corpus = read_corpus(items)
    truth = truths(corpus)
    groups = [item.document for item in corpus]
    scores = out_of_fold(prepare(corpus, Recogniser()), truth, groups, CHOSEN)
    chances = calibrated(scores, calibrate(scores, truth))
    reports = [report("corpus, by document", truth, chances, thresholds(), groups=groups)]
    for style in sorted({item.style for item in corpus}):
        at = np.array([n for n, item in enumerate(corpus) if item.style == style])
        reports.append(report(style, truth[at], chances[at], thresholds()))
    return tuple(reports)


def on_labelled(folder: Path) -> tuple[Report, ...]:
    """The shipped model on labelled notes: all of them, and each document.

    Each label is judged as the reader splits it: the item that starts on its line, with its
    heading; where the reader finds none there, the label's own text without a heading.
    """
    truth, chances, labels = judged_labels(folder)
    reports = [report("all documents", truth, chances, thresholds())]
    for document in dict.fromkeys(label.document for label in labels):
        at = np.array([n for n, label in enumerate(labels) if label.document == document])
        reports.append(report(document, truth[at], chances[at], thresholds()))
    return tuple(reports)


def judged_labels(folder: Path) -> tuple[Truths, Floats, tuple[LabelledItem, ...]]:
    """Truths and chances, arrays (labels, kinds), by the shipped model, and the labels."""
    labels = read_labels(folder)
    readings, units = label_readings(folder, labels, Recogniser())
    truth = np.array([[kind in label.kinds for kind in Kind] for label in labels], dtype=bool)
    return truth, shipped().chances(readings, units), labels


def label_readings(
    folder: Path, labels: Sequence[LabelledItem], recogniser: Recogniser
) -> tuple[list[Reading], list[str]]:
    """What the recogniser reads at each label, and the unit its release is for."""
    readings, units = [], []
    for item, release in _as_read(folder, labels):
        readings.append(recogniser.read(item.text, item.heading))
        units.append(unit_of(release, recogniser) if release else "")
    return readings, units


def read_labels(folder: Path) -> tuple[LabelledItem, ...]:
    """The records of labels.jsonl in a folder."""
    path = folder / "labels.jsonl"
    if not path.is_file():
        raise ConfigError("no such file", where=str(path), mend="name the folder with the labels")
    labels = []
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        try:
            labels.append(LabelledItem.model_validate_json(line))
        except (ValidationError, json.JSONDecodeError) as error:
            problem = str(error).splitlines()[0]
            raise ConfigError(
                problem, where=str(path), line=number, mend="mend the line"
            ) from error
    return tuple(labels)


def _as_read(folder: Path, labels: Sequence[LabelledItem]) -> list[tuple[Item, Release | None]]:
    from triage.notes import read

    starts: dict[tuple[str, int], tuple[Item, Release]] = {}
    for document in dict.fromkeys(label.document for label in labels):
        notes = read((folder / document).read_bytes(), document)
        for release in notes.releases:
            for item in release.items:
                for place in item.places:
                    starts.setdefault((document, place.line), (item, release))
    return [starts.get((label.document, label.line)) or (_bare(label), None) for label in labels]


def _bare(label: LabelledItem) -> Item:
    from triage.notes import read_text

    notes = read_text(f"- {label.text}\n", label.id)
    return next(item for release in notes.releases for item in release.items)
