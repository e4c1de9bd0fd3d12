"""Fits the small linear models over named features with scikit-learn."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.sparse import csr_matrix

from triage.reading.linear import Linear, buckets


def fit_linear(
    rows: Sequence[Sequence[str]],
    labels: Sequence[str],
    *,
    size: int = 1 << 13,
    strength: float = 1.0,
    weights: Sequence[float] | None = None,
) -> Linear:
    """A linear model of `labels` given the active features of each row.

    `size` is the number of buckets, `strength` the inverse of the L2 penalty.
    """
    from sklearn.linear_model import LogisticRegression

    classes = sorted(set(labels))
    matrix = hashed(rows, size)
    model = LogisticRegression(C=strength, max_iter=400)
    model.fit(matrix, np.array([classes.index(label) for label in labels]), weights)
    coefficients, bias = model.coef_, model.intercept_
    if len(classes) == 2:
        coefficients = np.vstack([-coefficients[0] / 2, coefficients[0] / 2])
        bias = np.array([-bias[0] / 2, bias[0] / 2])
    return Linear(tuple(classes), coefficients.T.astype(np.float32), np.asarray(bias, np.float32))


def hashed(rows: Sequence[Sequence[str]], size: int) -> csr_matrix:
    """A matrix (rows, size) of zeros and ones."""
    columns = [buckets(row, size) for row in rows]
    starts = np.concatenate([[0], np.cumsum([len(c) for c in columns])])
    flat = np.concatenate([np.array(c, np.int64) for c in columns]) if columns else np.array([])
    return csr_matrix((np.ones(len(flat)), flat, starts), shape=(len(rows), size))
