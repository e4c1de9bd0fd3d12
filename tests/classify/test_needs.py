"""Needs met by the meaning of an item."""

from __future__ import annotations

import numpy as np
import pytest

from triage.classify.needs import need_chances
from triage.training.needs_fit import need_pairs

_FLOOR = 0.55  # under the F1 measured; the target of .85 is missed, see models/README.md


@pytest.mark.parametrize(
    ("need", "text", "met"),
    [
        ("return home higher", "Return to home now climbs higher first", True),
        ("night flight", "Gimbal points up", False),
        ("to be or not", "Language Thai added", False),
    ],
)
def test_needs_meet_items_by_their_meaning(need: str, text: str, met: bool) -> None:
    assert bool(need_chances([need], [text])[0, 0]) is met


def test_needs_kept_out_of_the_fit() -> None:
    """180 needs by a writer who had not seen the code; one in five was kept out."""
    pairs = [pair for pair in need_pairs() if pair.kept_out]
    said = np.array([need_chances([p.need], [p.item])[0, 0] > 0 for p in pairs])
    true = np.array([p.met for p in pairs])
    assert len(pairs) > 100
    assert 2 * (said & true).sum() / (said.sum() + true.sum()) >= _FLOOR
