"""A report's words tell of a loss, or of none."""

from __future__ import annotations

import pytest

from triage.classify.spoken_outcomes import outcomes_of
from triage.domain.outcomes import Outcome


@pytest.mark.parametrize(
    ("words", "outcomes"),
    [
        ("A motor stopped in flight and it fell out of the sky.", {Outcome.FALLS}),
        ("The battery caught fire on the charger.", {Outcome.FIRE}),
        ("Menu in Thai has a typo.", {Outcome.NUISANCE, Outcome.NONE}),
    ],
)
def test_words(words: str, outcomes: set[Outcome]) -> None:
    assert outcomes_of([words])[0].first in outcomes
