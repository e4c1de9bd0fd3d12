"""Measures the shipped model: on what was kept out of its fitting, or on labelled real notes."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from pydantic import ValidationError

from triage.classify.classifier import shipped
from triage.classify.costs import costs
from triage.classify.judge import unit_of
from triage.classify.recogniser import Reading, Recogniser
from triage.classify.vectoriser import Floats
from triage.domain.base import Frozen
from triage.domain.corpus import CorpusItem
from triage.domain.kinds import Kind
from triage.domain.notes import Item, Place, Release
from triage.errors import ConfigError
from triage.training.corpus import read_corpus
from triage.training.fit import blended_by_group, corpus_readings, truths
from triage.training.held_out import KEPT_OUT, kept_out
from triage.training.metrics import Report, Truths, report


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
    """The chance of each kind from which the tool says yes; what is unsure counts as not said."""
    return [costs()[kind].yes_from for kind in Kind]


def on_corpus(items: Path | None = None) -> tuple[Report, ...]:
    """The shipped model on the items kept out of its fitting: all, and each style kept out."""
    truth, chances, unseen = judged_corpus(items)
    styles = np.array([item.style for item in unseen])
    groups = [item.document for item in unseen]
    reports = [report("items kept out", truth, chances, thresholds(), groups=groups)]
    for style in sorted(set(styles) & set(KEPT_OUT)):
        at = np.flatnonzero(styles == style)
        reports.append(report(style, truth[at], chances[at], thresholds()))
    return tuple(reports)


def judged_corpus(items: Path | None = None) -> tuple[Truths, Floats, tuple[CorpusItem, ...]]:
    """Truths and chances, arrays (items, kinds), of the items kept out, and these items.

    The blend is fitted anew without the style at hand, so that nothing of a style is known.
    """
    corpus = read_corpus(items)
    unseen = tuple(item for item, out in zip(corpus, kept_out(corpus), strict=True) if out)
    if not unseen:
        raise ConfigError(
            "every item was fitted to, so that measuring on them says nothing",
            where=str(items or "corpora"),
            mend=f"keep items of the styles {', '.join(KEPT_OUT)}, or measure with --labelled",
        )
    truth = truths(unseen)
    scores = shipped().scores(*corpus_readings(unseen, Recogniser()))
    return truth, blended_by_group(scores, truth, [item.style for item in unseen]), unseen


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
    return truths(labels), shipped().chances(readings, units), labels


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
    from triage.reading.reader import read
    from triage.reading.tools import shipped_tools

    tools = shipped_tools()
    starts: dict[tuple[str, int], tuple[Item, Release]] = {}
    for document in dict.fromkeys(label.document for label in labels):
        notes = read((folder / document).read_bytes(), document, tools)
        for release in notes.releases:
            for item in release.items:
                for place in item.places:
                    starts.setdefault((document, place.line), (item, release))
    return [starts.get((label.document, label.line)) or (_bare(label), None) for label in labels]


def _bare(label: LabelledItem) -> Item:
    place = Place(start=0, end=len(label.text), line=1, end_line=1)
    return Item(ref="1", text=label.text, original=label.text, places=(place,))
