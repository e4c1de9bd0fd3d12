"""Trains the model from the corpora with scikit-learn; the same corpora give the same bytes."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.metadata import version
from typing import TYPE_CHECKING, NamedTuple, Protocol

import numpy as np
import numpy.typing as npt

from triage.classify import encoder_file
from triage.classify.classifier import beside, blended
from triage.classify.features import Prepared, prepared
from triage.classify.judge import unit_in
from triage.classify.model_file import PROTOCOL, Artefact, Blend, Manifest, vocabulary_digest
from triage.classify.recogniser import Reading, Recogniser
from triage.classify.vectoriser import Floats, Rows, Space
from triage.domain.corpus import CorpusItem
from triage.domain.kinds import Kind
from triage.training.held_out import kept_out

if TYPE_CHECKING:
    from scipy.sparse import csr_matrix

Truths = npt.NDArray[np.bool_]


class Recipe(NamedTuple):
    """What was chosen by cross-validation over documents of the corpora."""

    group_weights: tuple[float, ...] = (1.0, 0.6, 0.5, 0.5)  # words, grams, heading, marks
    at_least: int = 2  # items that must have a feature
    strength: float = 6.0  # inverse of the L2 penalty
    digits: int = 6  # decimals kept of weights, so that bytes do not hang on rounding


CHOSEN = Recipe()
_DIGITS = 3  # decimals kept of a blend


class Fitted(NamedTuple):
    """A space and the linear weights over it."""

    space: Space
    weights: Floats
    intercepts: Floats

    def scores(self, prepared: Sequence[Prepared]) -> Floats:
        """Log-odds of the words: an array (items, kinds)."""
        matrix = sparse(self.space.rows([p.features for p in prepared]), len(self.space.names))
        scores: Floats = matrix @ self.weights + self.intercepts
        return scores


class Material(NamedTuple):
    """Items as the models read them: those to fit to, and those kept out, with their labels
    (arrays (items, kinds)) and what the encoder says of those kept out.
    """

    seen: list[Prepared]
    seen_labels: Truths
    unseen: list[Prepared]
    unseen_labels: Truths
    encoded: Floats

    def scores(self, fitted: Fitted) -> Floats:
        """The scores of both models on what is kept out: an array (items, kinds, 2)."""
        return beside(fitted.scores(self.unseen), self.encoded)


class HasKinds(Protocol):
    """Anything labelled with kinds."""

    @property
    def kinds(self) -> tuple[Kind, ...]:
        """The kinds it is of."""


def corpus_readings(
    items: Sequence[CorpusItem], recogniser: Recogniser
) -> tuple[list[Reading], list[str]]:
    """What the recogniser reads at corpus items, and the units that their titles name."""
    units = {title: unit_in(title, recogniser) for title in {item.title for item in items}}
    readings = [recogniser.read(i.text, (i.heading,) if i.heading else ()) for i in items]
    return readings, [units[item.title] for item in items]


def prepare(items: Sequence[CorpusItem], recogniser: Recogniser) -> list[Prepared]:
    """What the models read of corpus items."""
    return [prepared(r, u) for r, u in zip(*corpus_readings(items, recogniser), strict=True)]


def truths(items: Sequence[HasKinds]) -> Truths:
    """The labels: an array (items, kinds) of booleans."""
    return np.array([[kind in item.kinds for kind in Kind] for item in items], dtype=bool)


def material(items: Sequence[CorpusItem], recogniser: Recogniser) -> Material:
    """The items of the corpora, split into those to fit to and those kept out."""
    read, labels, kept = prepare(items, recogniser), truths(items), kept_out(items)
    unseen = [read[i] for i in np.flatnonzero(kept)]
    return Material(
        seen=[read[i] for i in np.flatnonzero(~kept)],
        seen_labels=labels[~kept],
        unseen=unseen,
        unseen_labels=labels[kept],
        encoded=encoder_file.shipped().encoder.scores([one.pair for one in unseen]),
    )


def train(
    items: Sequence[CorpusItem],
    recogniser: Recogniser,
    *,
    corpus_sha256: str,
    recipe: Recipe = CHOSEN,
) -> Artefact:
    """Fit to the items that are not kept out, then blend and calibrate on those that are."""
    known = material(items, recogniser)
    fitted = fit(known.seen, known.seen_labels, recipe)
    return artefact_of(fitted, known, corpus_sha256=corpus_sha256, recipe=recipe)


def artefact_of(
    fitted: Fitted,
    known: Material,
    *,
    corpus_sha256: str,
    corrections: int = 0,
    recipe: Recipe = CHOSEN,
) -> Artefact:
    """The model of weights fitted to `known.seen`, blended with the encoder and calibrated on what
    neither was fitted to; `corrections` of the items are the operator's own.
    """
    manifest = Manifest(
        protocol=PROTOCOL,
        kinds=tuple(Kind),
        group_weights=recipe.group_weights,
        blends=blend(known.scores(fitted), known.unseen_labels),
        encoder_sha256=encoder_file.shipped().sha256,
        corpus_sha256=corpus_sha256,
        vocabulary_sha256=vocabulary_digest(),
        items=len(known.seen) + len(known.unseen),
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


def fit(prepared: Sequence[Prepared], labels: Truths, recipe: Recipe = CHOSEN) -> Fitted:
    """One logistic regression a kind over one feature space."""
    from sklearn.linear_model import LogisticRegression

    found = [p.features for p in prepared]
    space = Space.fit(found, recipe.group_weights, recipe.at_least)
    matrix = sparse(space.rows(found), len(space.names))
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


def blend(scores: Floats, labels: Truths) -> tuple[Blend, ...]:
    """For each kind the weights of both scores and the shift, from items neither was fitted to.

    J. Platt, 'Probabilistic outputs for support vector machines', 1999, with his targets that keep
    the likelihood finite (from memory), for two scores in place of one.
    """
    from scipy.optimize import minimize

    found = []
    for k in range(labels.shape[1]):
        score, label = scores[:, k], labels[:, k]
        yes, no = int(label.sum()), int((~label).sum())
        target = np.where(label, (yes + 1) / (yes + 2), 1 / (no + 2))

        def loss(abc: Floats, score: Floats = score, target: Floats = target) -> float:
            z = score @ abc[:2] + abc[2]
            return float(np.sum(np.logaddexp(0, z) - target * z))

        words, order, shift = minimize(loss, np.array([0.5, 0.5, 0.0]), method="BFGS").x
        parts = (round(float(part), _DIGITS) for part in (words, order, shift))
        found.append(Blend(**dict(zip(("words", "order", "shift"), parts, strict=True))))
    return tuple(found)


def blended_by_group(scores: Floats, labels: Truths, groups: Sequence[str]) -> Floats:
    """Chances of each item by a blend that saw no item of its group: an array (items, kinds)."""
    chances, names = np.empty(labels.shape), np.array(groups)
    for group in dict.fromkeys(groups):
        here = names == group
        chances[here] = blended(scores[here], blend(scores[~here], labels[~here]))
    return chances
