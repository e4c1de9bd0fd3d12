"""Policies between the presets, and the course of an advice over the days."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.advice import situations_made as making
from triage.advice import assess, matrix, presets
from triage.advice.policy_scale import STEPS, between, scale_step, verdicts
from triage.advice.projection import chance_allowed, course
from triage.domain.advice import Verdict
from triage.domain.policy import Level, Policy

NUMBERS = [
    name
    for name, field in Policy.model_fields.items()
    if field.annotation in (int, float) and name != "clean_weight"
]
LESS_IS_STRICTER = {"trouble_share"}


def test_presets_stand_on_their_own_steps() -> None:
    ready = [preset.policy for preset in presets().values()]
    assert [between(0), between(STEPS // 2), between(STEPS)] == ready
    assert [scale_step(policy) for policy in ready] == [0, STEPS // 2, STEPS]
    assert scale_step(ready[0].model_copy(update={"credible": 0.97})) is None


@pytest.mark.parametrize("name", NUMBERS)
def test_each_number_runs_one_way(name: str) -> None:
    values = [getattr(between(step), name) for step in range(STEPS + 1)]
    assert values == sorted(values, reverse=name not in LESS_IS_STRICTER)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    kinds=st.lists(
        st.sampled_from(["FB", "XB", "X", "F", "C", "Xb", "fc"]), min_size=1, max_size=5
    ),
    days=st.integers(0, 90),
    users=st.integers(0, 60),
)
def test_steps_say_what_an_assessment_says_and_turn_once(
    kinds: list[str], days: int, users: int
) -> None:
    """The advice along the steps is that of `assess`, and a milder step never waits again."""
    items = [making.item(str(n), k, often="rarely") for n, k in enumerate(kinds, start=1)]
    notes = making.notes([making.release("1.1", days=days)], items)
    scope, kit = making.scope(notes), making.kit()
    looks = [making.look(users=users)] if users else []
    found = verdicts(notes, kit, scope, looks, today=making.DAY)
    for step in (0, 7, STEPS // 2, 13, STEPS):
        said = assess(notes, kit, scope, between(step), looks, today=making.DAY).verdict
        assert found[step] is said
    assert list(found) == sorted(found, key=lambda v: v is Verdict.UPDATE)


def test_allowed_is_the_edge_of_the_matrix() -> None:
    """By MIL-STD-882E Table III: Medium for a critical harm (2) takes D remote, below 1e-3, and
    not C occasional; for a marginal one (3) C, below 1e-2; Serious for a catastrophic one D."""
    policy = presets()["balanced"].policy
    assert policy.accept is Level.MEDIUM and policy.accept_catastrophic is Level.SERIOUS
    assert (chance_allowed(1, policy), chance_allowed(2, policy), chance_allowed(3, policy)) == (
        1e-3,
        1e-3,
        1e-2,
    )
    assert chance_allowed(4, policy) == 1.0
    for severity in (1, 2, 3, 4):
        edge = chance_allowed(severity, policy)
        under = matrix.RISK[severity, matrix.band(edge * 0.999)]
        ceiling = policy.accept_catastrophic if severity == 1 else policy.accept
        assert matrix.RANK[under] <= matrix.RANK[ceiling]


def test_course_counts_reports_and_lets_the_chance_fall() -> None:
    notes = making.notes([making.release("1.1", days=10)], [making.item("1", "FB")])
    (candidate,), kit = making.scope(notes), making.kit()
    policy = presets()["balanced"].policy
    looks = [making.look(users=4, days_ago=6), making.look(users=8, days_ago=2)]
    said = assess(notes, kit, [candidate], policy, looks, today=making.DAY)
    found = course(notes, kit, candidate, policy, looks, today=making.DAY, until=said.until)
    assert found.today == 10
    assert found.reported == ((4, 3.0), (8, 9.0))  # users x 0.75, on the days since release
    chances = [chance for _, chance in found.chance]
    assert chances == sorted(chances, reverse=True) and found.chance[0][0] == 10
    if said.until:
        assert found.turns == 10 + (said.until - making.DAY).days
