"""The advice started from other priors than the shipped ones: they weigh, and they show."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.advice import situations_made as making
from triage.advice import Beside, assess, presets, tables
from triage.advice.assess import ground_of
from triage.advice.chance import Outlook, risks_of
from triage.advice.hazards import build
from triage.advice.tables import PriorTable
from triage.domain.advice import OwnRecord, Verdict

BALANCED = presets()["balanced"].policy
SHIPPED = tables.priors().prior
ROWS = ({"kinds": "FB", "settings": ["rth-altitude"]}, {"kinds": "X", "settings": ["gnss"]})


def own(flights: float, **records: OwnRecord) -> PriorTable:
    """Priors of so many flights in every row; `records` as if they came from own flights."""
    return SHIPPED.model_copy(
        update={
            name: row.model_copy(update={"flights": flights, "own": records.get(name)})
            for name, row in SHIPPED.rows.items()
        }
    )


def test_the_shipped_priors_handed_over_change_no_advice() -> None:
    judged, scope = making.simple(ROWS)
    bare = assess(judged, None, scope, BALANCED, today=making.DAY)
    same = assess(judged, None, scope, BALANCED, today=making.DAY, beside=Beside(prior=SHIPPED))
    free = {"digests", "assumptions"}
    assert bare.model_dump(exclude=free) == same.model_dump(exclude=free)
    assert set(same.assumptions) > set(bare.assumptions)
    assert bare.digests.vocabulary == tables.tables_digest() != same.digests.vocabulary


@pytest.mark.parametrize("flights", [200.0, 500.0, 40_000.0])
def test_chances_are_read_off_the_priors_handed_over(flights: float) -> None:
    """On the day of the release the chance per flight is the prior's mean, shape over flights."""
    judged, scope = making.simple(ROWS[:1], days=0)
    beside = Beside(prior=own(flights))
    found = assess(judged, None, scope, BALANCED, today=making.DAY, beside=beside)
    unnamed = next(h for h in found.moving if not h.function)
    case = build(ground_of(judged, making.kit(), scope, (), making.DAY, beside), scope[0])
    risks = risks_of(case, case.cautious, Outlook(shift=np.zeros(1)))
    assert risks.chance[0, -1] == pytest.approx(SHIPPED.shape / flights, rel=1e-3)
    assert unnamed.chance <= risks.chance[0, -1] * 1.0001


@settings(max_examples=40, deadline=None)
@given(st.floats(100, 1e6), st.floats(1, 100), st.integers(0, 60))
def test_better_priors_never_move_the_advice_towards_waiting(
    flights: float, better: float, days: int
) -> None:
    judged, scope = making.simple(ROWS, days=days)

    def updates(table: PriorTable) -> bool:
        found = assess(judged, None, scope, BALANCED, today=making.DAY, beside=Beside(prior=table))
        return found.verdict is Verdict.UPDATE

    assert updates(own(flights)) <= updates(own(flights * better))


def test_what_they_come_from_stands_under_what_is_assumed() -> None:
    judged, scope = making.simple(ROWS)

    def assumed(table: PriorTable) -> str:
        found = assess(judged, None, scope, BALANCED, today=making.DAY, beside=Beside(prior=table))
        texts = [a.text for a in found.assumptions]
        return next(text for text in texts if text.startswith(("priors", "the priors")))

    few = OwnRecord(problems=0, flights=12, used=False)
    told = OwnRecord(problems=1, flights=2010, used=True)
    text = assumed(own(900, change=told, fix=few))
    assert "own record: changes from 1 problem in 2,010 flights" in text
    assert "too few flights of your own to tell for fixes (12): as shipped" in text
    assert assumed(own(900, change=few)).startswith("priors: too few flights of your own")
    assert "the priors are not the shipped ones" in assumed(own(900))


def test_they_show_where_there_is_nothing_to_decide() -> None:
    judged, _ = making.simple(ROWS)
    found = assess(judged, None, (), BALANCED, today=making.DAY, beside=Beside(prior=own(900)))
    assert found.subject is None and any("priors" in a.text for a in found.assumptions)
