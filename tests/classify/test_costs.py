"""Chow's rule: the cheapest of yes, no and asking."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.classify.costs import Cost, costs
from triage.domain.judged import Standing
from triage.domain.kinds import Kind

CHANCES = st.floats(0, 1)


@given(CHANCES, st.sampled_from(list(Kind)))
def test_the_standing_costs_least(chance: float, kind: Kind) -> None:
    cost = costs()[kind]
    price = {
        Standing.YES: (1 - chance) * cost.mistaken,
        Standing.NO: chance * cost.missed,
        Standing.UNSURE: cost.asking,
    }
    assert price[cost.standing(chance)] == min(price.values())


def test_missing_a_flight_change_weighs_more_than_inventing_one() -> None:
    cost = costs()[Kind.FLIGHT_BEHAVIOUR]
    assert cost.missed > cost.mistaken
    assert cost.threshold < 0.5


def test_symmetric_costs_without_cheap_asking_decide_at_one_half() -> None:
    cost = Cost(kind=Kind.FIX, missed=1, mistaken=1, asking=1, reason="test")
    assert cost.standing(0.51) is Standing.YES
    assert cost.standing(0.49) is Standing.NO


@pytest.mark.parametrize("kind", list(Kind))
def test_yes_is_said_from_where_it_says(kind: Kind) -> None:
    cost = costs()[kind]
    assert cost.standing(cost.yes_from + 0.001) is Standing.YES
    assert cost.standing(cost.yes_from - 0.001) is not Standing.YES
