"""A second reader agrees with the writers on roles and outcomes (bands of Landis & Koch, 1977)."""

from __future__ import annotations

import json

import pytest
from sklearn.metrics import cohen_kappa_score  # the reference, not our own code

from triage.reference.shipped import folder

_ALMOST_PERFECT = 0.81  # Landis & Koch, 1977


@pytest.mark.parametrize(
    ("name", "least"), [("second-documents.jsonl", 801), ("second-outcomes.jsonl", 500)]
)
def test_agreement_is_almost_perfect(name: str, least: int) -> None:
    lines = (folder("corpora") / name).read_text(encoding="utf-8").splitlines()
    rows = [json.loads(line) for line in lines]
    first = [row["first"].split()[0] for row in rows]
    second = [row["second"].split()[0] for row in rows]
    assert len(rows) == least
    assert cohen_kappa_score(first, second) >= _ALMOST_PERFECT
