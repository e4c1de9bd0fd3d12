"""Rules that a reading must not break, on wordings by a writer who had not seen the code.

The shares are floors under what is measured, so that a change that reads worse is noticed; what a
rule still misses is told in models/README.md.
"""

from __future__ import annotations

import pytest

from tests.reading.conftest import ReadText
from tests.reading.never import cases, holds

FLOORS = {
    "against": 0.8,
}


@pytest.mark.parametrize("rule", sorted({case.rule for case in cases()}))
def test_rule(rule: str, read_text: ReadText) -> None:
    own = [case for case in cases() if case.rule == rule]
    kept = [case for case in own if holds(case, read_text(case.notes, case.name))]
    assert len(own) >= 20
    assert len(kept) / len(own) >= FLOORS[rule]
