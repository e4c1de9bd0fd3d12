"""Rows agree with scikit-learn's TF-IDF, and the numpy predictor with its logistic regression."""

from __future__ import annotations

import numpy as np
from sklearn.feature_extraction.text import TfidfVectorizer
from sklearn.linear_model import LogisticRegression

from triage.classify.vectoriser import Space, times
from triage.training.fit import sparse

ITEMS = [
    (("w:fix", "w:motor"), ("<fi", "ix>"), ("h:",), ("l:0",)),
    (("w:add", "w:motor", "w:map"), ("<ad",), ("h:new",), ("l:0",)),
    (("w:fix",), ("<fi",), ("h:new",), ("l:1",)),
]


def test_rows_are_scikit_learns_tfidf_group_by_group() -> None:
    """Source: scikit-learn's TfidfVectorizer (smooth idf, L2 norm, binary counts)."""
    space = Space.fit(ITEMS, (1, 1, 1, 1), at_least=1)
    rows = sparse(space.rows(ITEMS), len(space.names)).toarray()
    for group in range(4):
        reference = TfidfVectorizer(analyzer=lambda item, g=group: item[g], binary=True)
        expected = reference.fit_transform(ITEMS).toarray()
        names = [f"{group}{name}" for name in reference.get_feature_names_out()]
        columns = [space.names.index(name) for name in names]
        assert np.allclose(rows[:, columns], expected, atol=1e-12)


def test_numpy_scores_equal_scikit_learns_to_1e_9() -> None:
    space = Space.fit(ITEMS, (1, 1, 0.5, 0.5), at_least=1)
    rows = space.rows(ITEMS)
    matrix = sparse(rows, len(space.names))
    model = LogisticRegression(solver="liblinear").fit(matrix, [1, 0, 1])
    ours = times(rows, model.coef_.T)[:, 0] + model.intercept_[0]
    assert np.allclose(ours, model.decision_function(matrix), atol=1e-9, rtol=0)


def test_a_row_with_nothing_known_is_zero() -> None:
    space = Space.fit(ITEMS, (1, 1, 1, 1), at_least=1)
    rows = space.rows([(("w:unseen",), (), (), ())])
    assert times(rows, np.ones((len(space.names), 2))).tolist() == [[0.0, 0.0]]
