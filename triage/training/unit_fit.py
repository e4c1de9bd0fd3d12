"""Fits the model that tells whose notes a list of changes is from, where the notes don't say."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

import numpy as np

from triage.classify.encoder import Encoder
from triage.domain.corpus import CorpusItem
from triage.reading.linear import Linear, summary
from triage.training.examples import Labelled, before

_MOST = 8  # items of one document that are read


def fit_unit(
    encoder: Encoder, items: Sequence[CorpusItem], documents: Iterable[Labelled]
) -> Linear:
    """A linear model of the component, on the mean vector of the changes of a release."""
    from sklearn.linear_model import LogisticRegression

    groups: dict[tuple[str, str], list[CorpusItem]] = defaultdict(list)
    for item in items:
        groups[item.style, item.document].append(item)
    rows, labels = [], []
    for group in groups.values():
        pairs = [(before("", item.heading), item.text) for item in group[:_MOST]]
        rows.append(summary(encoder.vectors(pairs)))
        labels.append(group[0].unit)
    for found in documents:
        unit = next((u[0] for r in found.document.releases for u in r.units), "")
        pairs = [
            (before("", context.heading), atom.text)
            for atom, context, at in zip(found.atoms, found.contexts, found.spans, strict=True)
            if at >= 0 and found.document.spans[at].role in "ck"
        ]
        if unit and pairs:
            rows.append(summary(encoder.vectors(pairs[: 2 * _MOST])))
            labels.append(unit)
    model = LogisticRegression(C=1.0, max_iter=500)
    model.fit(np.array(rows), labels)
    return Linear(
        tuple(str(name) for name in model.classes_),
        model.coef_.T.astype(np.float32),
        model.intercept_.astype(np.float32),
    )
