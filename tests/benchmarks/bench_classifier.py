"""The classifier: training time, size, speed by batch, memory, risk against coverage.

Run: python tests/benchmarks/bench_classifier.py [folder of labelled real notes]
"""

from __future__ import annotations

import resource
import sys
import time
from pathlib import Path

import numpy as np

from triage.classify import encoder_file, model_file, shipped
from triage.classify.costs import costs
from triage.classify.features import features
from triage.classify.model_file import NAME
from triage.classify.recogniser import Recogniser
from triage.domain.judged import Standing
from triage.domain.kinds import Kind
from triage.reference.shipped import folder
from triage.training.corpus import corpus_digest, read_corpus
from triage.training.evaluate import judged_corpus, judged_labels
from triage.training.fit import train, truths


def speed() -> None:
    items = read_corpus()
    start = time.perf_counter()
    recogniser = Recogniser()
    print(f"recogniser opened in {time.perf_counter() - start:.2f} s")
    for file, load in ((NAME, model_file.load), (encoder_file.NAME, encoder_file.load)):
        start = time.perf_counter()
        load(folder("models") / file)
        size = (folder("models") / file).stat().st_size / 1e6
        print(f"{file}: {size:.1f} MB, opened in {time.perf_counter() - start:.2f} s")
    classifier = shipped()
    texts = [item.text for item in items]
    fresh = iter(texts)  # no text twice, as the encoder remembers what it has read
    for batch in (1, 100, 10_000):
        rounds = max(1, 500 // batch)
        batches = [[next(fresh) for _ in range(batch)] for _ in range(rounds)]
        start = time.perf_counter()
        for chosen in batches:
            classifier.chances([recogniser.read(text) for text in chosen], [""] * batch)
        rate = rounds * batch / (time.perf_counter() - start)
        print(f"batches of {batch:6,}: {rate:8,.0f} items/s (recognise and classify)")
    found = [features(recogniser.read(text)) for text in texts]
    start = time.perf_counter()
    classifier.words(found)
    words = len(texts) / (time.perf_counter() - start)
    pairs = [(" : ", next(fresh)) for _ in range(1000)]
    start = time.perf_counter()
    encoder_file.shipped().encoder.scores(pairs)
    order = len(pairs) / (time.perf_counter() - start)
    print(f"words alone {words:,.0f} items/s, {words / order:.0f} times the encoder's {order:,.0f}")


def training() -> None:
    items = read_corpus()
    start = time.perf_counter()
    trained = train(items, Recogniser(), corpus_sha256=corpus_digest())
    taken = time.perf_counter() - start
    size = (folder("models") / NAME).stat().st_size
    print(f"training on {len(items):,} items: {taken:.1f} s; {len(trained.names):,} features")
    print(f"model file: {size / 1e6:.2f} MB")


def plain_pipeline() -> None:
    """A plain scikit-learn pipeline on the same items, for scale."""
    from sklearn.feature_extraction.text import TfidfVectorizer
    from sklearn.linear_model import LogisticRegression
    from sklearn.multiclass import OneVsRestClassifier
    from sklearn.pipeline import make_pipeline

    items = read_corpus()
    texts, labels = [item.text for item in items], truths(items)
    pipeline = make_pipeline(
        TfidfVectorizer(ngram_range=(1, 2), min_df=2, sublinear_tf=True),
        OneVsRestClassifier(LogisticRegression(solver="liblinear")),
    )
    start = time.perf_counter()
    pipeline.fit(texts, labels)
    fitted = time.perf_counter() - start
    start = time.perf_counter()
    pipeline.predict_proba(texts)
    rate = len(texts) / (time.perf_counter() - start)
    print(f"plain scikit-learn pipeline: training {fitted:.1f} s, {rate:,.0f} items/s in one batch")


def coverage(real: Path | None) -> None:
    truth, chances, _ = judged_corpus()
    _coverage("items kept out of the fitting", truth, chances)
    if real:
        truth, chances, _ = judged_labels(real)
        _coverage("real notes", truth, chances)


def _coverage(name: str, truth: np.ndarray, chances: np.ndarray) -> None:
    print(
        f"risk and coverage, {name}: share decided, errors among the decided; catch = yes or unsure"
    )
    for k, kind in enumerate(Kind):
        standings = [costs()[kind].standing(chance) for chance in chances[:, k]]
        decided = np.array([s is not Standing.UNSURE for s in standings])
        said = np.array([s is Standing.YES for s in standings])
        wrong = (said != truth[:, k])[decided].mean()
        caught = (said | ~decided)[truth[:, k]].mean()
        print(
            f"  {kind.value:17} decided {decided.mean():.3f} wrong {wrong:.3f} caught {caught:.3f}"
            f" | wrong among the surest: {_curve(truth[:, k], chances[:, k])}"
        )


def _curve(truth: np.ndarray, chance: np.ndarray) -> str:
    order = np.argsort(-np.abs(chance - 0.5))
    wrong = ((chance >= 0.5) != truth)[order]
    shares = (0.5, 0.7, 0.9, 1.0)
    return ", ".join(f"{s:.0%} {wrong[: max(1, int(s * len(wrong)))].mean():.3f}" for s in shares)


def main() -> None:
    default = Path(__file__).resolve().parents[3] / "shared" / "real-notes"
    real = Path(sys.argv[1]) if len(sys.argv) > 1 else default
    speed()
    training()
    plain_pipeline()
    coverage(real if real.is_dir() else None)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of this whole run: {peak:,.0f} MB")


if __name__ == "__main__":
    main()
