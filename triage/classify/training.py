"""Trains the model from the corpora with scikit-learn; the same corpora give the same bytes."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.metadata import version
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import numpy.typing as npt

from triage.classify.artefact import PROTOCOL, Artefact, Manifest, Platt, vocabulary_digest
from triage.classify.features import Features, features
from triage.classify.judge import unit_in
from triage.classify.space import Floats, Rows, Space
from triage.domain.corpus import CorpusItem
from triage.domain.kinds import Kind
from triage.recognise import Recogniser

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

Truths = npt.NDArray[np.bool_]


class Recipe(NamedTuple):
    """What was chosen by cross-validation over documents of the corpora."""

    group_weights: tuple[float, ...] = (1.0, 0.6, 0.5, 0.5)  # words, grams, heading, marks
    at_least: int = 2  # items that must have a feature
    strength: float = 6.0  # inverse of the L2 penalty
    folds: int = 5  # for calibration, split by document
    digits: int = 6  # decimals kept of weights, so that bytes do not hang on rounding


CHOSEN = Recipe()


class Fitted(NamedTuple):
    """A space and the linear weights over it."""

    space: Space
    weights: Floats
    intercepts: Floats


def prepare(items: Sequence[CorpusItem], recogniser: Recogniser) -> list[Features]:
    """The features of corpus items, with the unit their title names."""
    units = {title: unit_in(title, recogniser) for title in {item.title for item in items}}
    return [
        features(recogniser.read(i.text, (i.heading,) if i.heading else ()), units[i.title])
        for i in items
    ]


def truths(items: Sequence[CorpusItem]) -> Truths:
    """The labels: an array (items, kinds) of booleans."""
    return np.array([[kind in item.kinds for kind in Kind] for item in items], dtype=bool)


def train(
    items: Sequence[CorpusItem],
    recogniser: Recogniser,
    *,
    corpus_sha256: str,
    corrections: int = 0,
    recipe: Recipe = CHOSEN,
) -> Artefact:
    """Fit and calibrate; `corrections` of the items are the operator's own."""
    prepared, labels = prepare(items, recogniser), truths(items)
    groups = [item.document for item in items]
    calibration = calibrate(out_of_fold(prepared, labels, groups, recipe), labels)
    fitted = fit(prepared, labels, recipe)
    manifest = Manifest(
        protocol=PROTOCOL,
        kinds=tuple(Kind),
        group_weights=recipe.group_weights,
        calibration=calibration,
        corpus_sha256=corpus_sha256,
        vocabulary_sha256=vocabulary_digest(),
        items=len(items),
        corrections=corrections,
        libraries={name: version(name) for name in ("numpy", "scikit-learn", "spacy")},
    )
    return Artefact(
        manifest=manifest,
        names=fitted.space.names,
        rarity=fitted.space.rarity,
        weights=fitted.weights,
        intercepts=fitted.intercepts,
    )


def fit(prepared: Sequence[Features], labels: Truths, recipe: Recipe) -> Fitted:
    """One logistic regression a kind over one feature space."""
    from sklearn.linear_model import LogisticRegression

    space = Space.fit(prepared, recipe.group_weights, recipe.at_least)
    matrix = sparse(space.rows(prepared), len(space.names))
    models = [
        LogisticRegression(C=recipe.strength, solver="liblinear", tol=1e-5, max_iter=1000).fit(
            matrix, labels[:, k]
        )
        for k in range(labels.shape[1])
    ]
    weights = np.stack([model.coef_[0] for model in models], axis=1)
    intercepts = np.array([float(model.intercept_[0]) for model in models])
    return Fitted(space, np.round(weights, recipe.digits), np.round(intercepts, recipe.digits))


def sparse(rows: Rows, columns: int) -> csr_matrix:
    """The rows as a scipy CSR matrix."""
    from scipy.sparse import csr_matrix

    shape = (len(rows.starts) - 1, columns)
    return csr_matrix((rows.values, rows.columns, rows.starts), shape=shape)


def out_of_fold(
    prepared: Sequence[Features],
    labels: Truths,
    groups: Sequence[str],
    recipe: Recipe,
    besides: Sequence[Features] = (),
    besides_labels: Truths | None = None,
) -> Floats:
    """Scores of each item by a model that saw no item of its document.

    Items of `besides` are trained on in every fold and never scored.
    """
    extra = np.empty((0, labels.shape[1]), bool) if besides_labels is None else besides_labels
    from sklearn.model_selection import GroupKFold

    scores = np.empty(labels.shape)
    for seen, held in GroupKFold(recipe.folds).split(labels, groups=groups):
        known = [*(prepared[i] for i in seen), *besides]
        fitted = fit(known, np.concatenate([labels[seen], extra]), recipe)
        rows = fitted.space.rows([prepared[i] for i in held])
        matrix = sparse(rows, len(fitted.space.names))
        scores[held] = matrix @ fitted.weights + fitted.intercepts
    return scores


def calibrate(scores: Floats, labels: Truths) -> tuple[Platt, ...]:
    """Platt's slope and shift for each kind, from out-of-fold scores.

    J. Platt, 'Probabilistic outputs for support vector machines', 1999, with his targets that keep
    the likelihood finite (from memory).
    """
    from scipy.optimize import minimize

    found = []
    for k in range(labels.shape[1]):
        score, label = scores[:, k], labels[:, k]
        yes, no = int(label.sum()), int((~label).sum())
        target = np.where(label, (yes + 1) / (yes + 2), 1 / (no + 2))

        def loss(ab: Floats, score: Floats = score, target: Floats = target) -> float:
            z = ab[0] * score + ab[1]
            return float(np.sum(np.logaddexp(0, z) - target * z))

        slope, shift = minimize(loss, np.array([1.0, 0.0]), method="BFGS").x
        found.append(Platt(slope=round(float(slope), 4), shift=round(float(shift), 4)))
    return tuple(found)
