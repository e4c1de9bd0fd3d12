"""Use case: the models fitted, retrained with the operator's corrections, and measured."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from triage.errors import ConfigError
from triage.reference.shipped import folder
from triage.training.corpus import corpus_digest, read_corpus
from triage.training.metrics import Report


class FittedFile(NamedTuple):
    """A model file written: how many items it was fitted to, and its SHA-256."""

    path: Path
    items: int
    digest: str


def train_model(corpus: Path | None = None, out: Path | None = None) -> FittedFile:
    """Fit the model of words; the same corpora and libraries give the same bytes."""
    from triage.classify.model_file import NAME, save
    from triage.classify.recogniser import Recogniser
    from triage.training.fit import train as trained

    items = read_corpus(corpus)
    path = (out or folder("models")) / NAME
    digest = save(trained(items, Recogniser(), corpus_sha256=corpus_digest(corpus)), path)
    return FittedFile(path, len(items), digest)


def train_own(
    corpus: Path | None = None,
    out: Path | None = None,
    *,
    accept_loss: bool = False,
    tell: Callable[[tuple[Report, Report]], None],
) -> FittedFile:
    """Fit with the operator's corrections; `tell` gets the measures before and after.

    ConfigError without corrections, and where the shipped items would be read worse.
    """
    from triage.classify.corrections import as_items, corrections
    from triage.classify.model_file import NAME, save
    from triage.storage.user_folder import home, make_folder
    from triage.training.retraining import retrain

    settled = as_items(corrections())
    if not settled:
        raise ConfigError(
            "no corrections yet", mend="settle items with: triage items NOTES --settle"
        )
    result = retrain(read_corpus(corpus), settled, corpus_sha256=corpus_digest(corpus))
    tell((result.before, result.after))
    if result.loses and not accept_loss:
        raise ConfigError(
            "the shipped items would be read worse with your corrections; nothing was changed",
            mend="look through the corrections, or add --accept-loss",
        )
    place = out or home()
    make_folder(place)
    return FittedFile(place / NAME, len(settled), save(result.artefact, place / NAME))


def fit_encoder_file(out: Path | None = None, *, tell: Callable[[str], None]) -> FittedFile:
    """Fit the one encoder of all heads (PyTorch, an hour); `tell` gets a line now and then."""
    from triage.classify.encoder_file import NAME, load, save
    from triage.training.corpora import corpora_digest, read_shipped
    from triage.training.encoder_fit import fit_encoder as fitted
    from triage.training.needs_fit import fit_needs, need_pairs

    corpora = read_shipped()
    seen = {example.style for example in corpora.seen}
    fit = fitted(
        corpora.seen,
        corpus_sha256=corpora_digest(),
        kept_out=sorted({example.style for example in corpora.unseen} - seen),
        tell=tell,
    )
    manifest, arrays, pieces = fit
    path = (out or folder("models")) / NAME
    save(manifest, arrays, pieces, path)
    weights, bias = fit_needs(load(path).encoder, need_pairs())  # on the vectors as they are read
    whole = {**arrays, "need": weights, "need.bias": bias}
    return FittedFile(path, manifest.items, save(manifest, whole, pieces, path))


def fit_reading_file(out: Path | None = None, *, tell: Callable[[str], None]) -> FittedFile:
    """Fit the models of the reading beside the shipped encoder (PyTorch, some minutes)."""
    from triage.classify.encoder_file import shipped
    from triage.reading.models import NAME, Thresholds
    from triage.training.corpora import read_shipped
    from triage.training.reading_fit import fit_reading as fitted

    opened, corpora = shipped(), read_shipped()
    path = (out or folder("models")) / NAME
    digest = fitted(
        corpora, opened.encoder, opened.sha256, path, thresholds=Thresholds(), tell=tell
    )
    return FittedFile(path, len(corpora.documents), digest)


def measure(corpus: Path | None = None, labelled: Path | None = None) -> tuple[Report, ...]:
    """Measures of the shipped model on what was kept out of its fitting, or on labelled notes."""
    from triage.training.evaluate import on_corpus, on_labelled

    return tuple(on_labelled(labelled) if labelled else on_corpus(corpus))
