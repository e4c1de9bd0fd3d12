"""What must hold of the advice whatever the notes, the kit, the looks and the policy."""

from __future__ import annotations

from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.advice import situations_made as making
from triage.advice import Beside, assess, presets, tables
from triage.advice.policy_scale import between
from triage.domain.advice import Assessment, Candidate, Evidence, Verdict
from triage.domain.judged import JudgedIssue, JudgedNotes
from triage.domain.kit import Kit
from triage.domain.notes import Status
from triage.domain.policy import Level, Policy, Worth
from triage.reference.vocabulary import components as all_components
from triage.reference.vocabulary import settings as all_settings

FUNCTIONS = ["", *(f.id for f in tables.functions())]
SETTINGS = [s.id for s in all_settings()]
COMPONENTS = [c.id for c in all_components()]
quick = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])

rows = st.fixed_dictionaries(
    {
        "kinds": st.sampled_from(
            ["FB", "XB", "X", "F", "C", "FC", "B", "Xb", "xb", "fc", "Fb", ""]
        ),
        "settings": st.lists(st.sampled_from(SETTINGS), max_size=2, unique=True),
        "components": st.lists(st.sampled_from(COMPONENTS), max_size=1),
        "often": st.sampled_from(["", "always", "often", "sometimes", "rarely"]),
        "harm": st.booleans(),
        "outcome": st.sampled_from(["", "", "motors", "return-fails", "degraded", "nuisance"]),
        "versions": st.sampled_from([(), (), ("1.3",), ("1.4",)]),
        "release": st.integers(0, 1),
    }
)
notices = st.builds(
    making.notice,
    kind=st.sampled_from(["withdrawn", "warned", "staged", "deadline"]),
    versions=st.sampled_from([(), ("1.4",), ("1.3",), ("1.9",)]),
    days=st.integers(-5, 60),
    chance=st.sampled_from([1.0, 0.5, 0.05]),
)
issues = st.builds(
    making.issue,
    outcome=st.sampled_from(["falls", "return-fails", "degraded", "nuisance"]),
    release=st.integers(0, 1),
    often=st.sampled_from(["", "rarely", "often"]),
    chance=st.sampled_from([1.0, 0.6]),
)
releases = st.lists(
    st.fixed_dictionaries(
        {
            "days": st.one_of(st.none(), st.integers(0, 100)),
            "component": st.sampled_from(["aircraft", "app", "goggles", "battery", ""]),
            "status": st.sampled_from(["released"] * 6 + ["withdrawn", "beta", "candidate"]),
            "notices": st.lists(notices, max_size=1),
        }
    ),
    min_size=2,
    max_size=2,
)
kits = st.builds(
    making.kit,
    needs=st.lists(st.sampled_from(["item 1", "night flight", "item 3"]), max_size=1),
    functions=st.lists(st.sampled_from(FUNCTIONS[1:]), max_size=3),
    jobs=st.lists(st.integers(-3, 12), max_size=2),
)


def a_look(clean: bool) -> st.SearchStrategy[Evidence]:
    return st.builds(
        making.look,
        clean=st.just(clean),
        users=st.one_of(st.integers(1, 20), st.integers(1, 5000)),
        function=st.sampled_from(FUNCTIONS),
        release=st.integers(0, 1),
        days_ago=st.integers(0, 60),
        flights=st.sampled_from([1, 20]),
        outcome=st.just("") if clean else st.sampled_from(["", "falls", "degraded", "nuisance"]),
    )


looks = st.lists(st.one_of(a_look(True), a_look(False)), max_size=4)
ready = st.sampled_from([p.policy for p in presets().values()])


@st.composite
def situations(draw: st.DrawFn) -> tuple[JudgedNotes, tuple[Candidate, ...], Kit, list[Evidence]]:
    written: list[dict[str, Any]] = draw(st.lists(rows, max_size=6))
    items = [making.item(ref=str(i), line=i, **row) for i, row in enumerate(written, start=1)]
    told: list[dict[str, Any]] = draw(releases)
    shipped = [making.release(version=f"1.{4 + i}", **row) for i, row in enumerate(told)]
    judged = making.notes(shipped, items, draw(st.lists(issues, max_size=1)))
    reversible = draw(st.sampled_from([True, False, None]))
    return judged, making.scope(judged, reversible=reversible), draw(kits), draw(looks)


Situation = tuple[JudgedNotes, tuple[Candidate, ...], Kit, list[Evidence]]


def advise(situation: Situation, policy: Policy, more: list[Evidence] | None = None) -> Assessment:
    judged, scope, kit, seen = situation
    return assess(judged, kit, scope, policy, [*seen, *(more or [])], today=making.DAY)


def updates(found: Assessment) -> bool:
    return found.verdict is Verdict.UPDATE


@quick
@given(situations(), ready, a_look(True))
def test_clean_looks_never_move_towards_waiting(
    situation: Situation, policy: Policy, look: Evidence
) -> None:
    before, after = advise(situation, policy), advise(situation, policy, [look])
    assert updates(after) >= updates(before)
    if before.subject == after.subject and before.until and not updates(after):
        assert after.until is not None
        assert after.until <= before.until


@quick
@given(situations(), ready, a_look(False))
def test_trouble_never_moves_towards_updating(
    situation: Situation, policy: Policy, look: Evidence
) -> None:
    before, after = advise(situation, policy), advise(situation, policy, [look])
    assert updates(after) <= updates(before)


@st.composite
def policies_in_order(draw: st.DrawFn) -> tuple[Policy, Policy]:
    """A policy and one that is nowhere laxer."""

    def pair(values: st.SearchStrategy[Any]) -> tuple[Any, Any]:
        low, high = sorted((draw(values), draw(values)))
        return low, high

    lax: dict[str, Any] = {}
    strict: dict[str, Any] = {}
    for field, values in {
        "credible": st.floats(0.5, 0.99),
        "min_days_flight": st.integers(0, 60),
        "min_days_other": st.integers(0, 60),
        "no_way_back_days": st.integers(0, 60),
        "min_clean_users": st.integers(0, 100),
        "days_instead_of_looks": st.integers(0, 100),
        "job_days": st.integers(0, 10),
        "problem_weight": st.floats(0.01, 1),
    }.items():
        lax[field], strict[field] = pair(values)
    for field, values in {
        "clean_weight": st.floats(0.01, 1),
        "trouble_share": st.floats(0, 1),
    }.items():
        strict[field], lax[field] = pair(values)
    for field, order, rising in (
        ("accept", list(Level), False),
        ("accept_catastrophic", list(Level), False),
        ("least_status", [Status.ALPHA, Status.BETA, Status.CANDIDATE, Status.RELEASED], True),
        ("least_gain", list(Worth), True),
    ):
        low, high = pair(st.integers(0, 3))
        lax[field] = order[low if rising else high]
        strict[field] = order[high if rising else low]
    return Policy(name="lax", min_charge=50, **lax), Policy(name="strict", min_charge=50, **strict)


@quick
@given(situations(), policies_in_order())
def test_a_stricter_policy_never_updates_where_a_laxer_waits(
    situation: Situation, policies: tuple[Policy, Policy]
) -> None:
    lax, strict = policies
    assert updates(advise(situation, strict)) <= updates(advise(situation, lax))


@quick
@given(situations())
def test_presets_are_in_order(situation: Situation) -> None:
    found = [updates(advise(situation, p.policy)) for p in presets().values()]
    assert found == sorted(found)


def bare(found: Assessment) -> dict[str, Any]:
    return found.model_dump(exclude={"digests", "not_weighed"})


@quick
@given(situations(), ready, st.integers(0, 1))
def test_an_item_of_no_kind_changes_nothing(
    situation: Situation, policy: Policy, release: int
) -> None:
    judged, scope, kit, seen = situation
    idle = making.item(ref="idle", kinds="", settings=["rth-altitude"], harm=True, release=release)
    more = judged.model_copy(update={"items": (*judged.items, idle)})
    wider = tuple(
        c.model_copy(update={"items": (*c.items, "idle")}) if release in c.path else c
        for c in scope
    )
    before = advise(situation, policy)
    assert bare(advise((more, wider, kit, seen), policy)) == bare(before)


@quick
@given(situations(), ready, st.randoms(use_true_random=False))
def test_order_of_items_and_looks_changes_nothing(
    situation: Situation, policy: Policy, random: Any
) -> None:
    judged, scope, kit, seen = situation
    shuffled, mixed = list(judged.items), list(seen)
    random.shuffle(shuffled)
    random.shuffle(mixed)
    refs = [tuple(random.sample(c.items, len(c.items))) for c in scope]
    wider = tuple(c.model_copy(update={"items": r}) for c, r in zip(scope, refs, strict=True))
    other = (judged.model_copy(update={"items": tuple(shuffled)}), wider, kit, mixed)
    assert bare(advise(other, policy)) == bare(advise(situation, policy))


@quick
@given(situations(), ready)
def test_same_inputs_give_the_same_bytes(situation: Situation, policy: Policy) -> None:
    first, second = advise(situation, policy), advise(situation, policy)
    assert first.model_dump_json() == second.model_dump_json()
    assert Assessment.model_validate_json(first.model_dump_json()) == first


@quick
@given(situations(), ready)
def test_withdrawn_is_never_advised_and_nothing_is_called_safe(
    situation: Situation, policy: Policy
) -> None:
    found = advise(situation, policy)
    for candidate in found.candidates:
        if situation[0].notes.releases[candidate.release].status is Status.WITHDRAWN:
            assert candidate.verdict is Verdict.WAIT
            assert candidate.until is None
    words = found.model_dump_json().casefold()
    assert " safe" not in words
    assert "nan" not in words.split('"')


@quick
@given(situations(), ready)
def test_until_is_the_day_on_which_the_advice_turns(situation: Situation, policy: Policy) -> None:
    """By itself, on the very day, with nothing new but the days gone by."""
    found = advise(situation, policy)
    if found.until is None:
        return
    judged, scope, kit, seen = situation
    only = tuple(c for c in scope if c.release == found.subject)
    undated = judged.notes.releases[only[0].release].date is None
    if undated:  # days count from the day of asking
        return
    turned = assess(judged, kit, only, policy, seen, today=found.until)
    assert updates(turned)


@quick
@given(situations(), ready, issues)
def test_a_known_issue_never_helps_moving(
    situation: Situation, policy: Policy, issue: JudgedIssue
) -> None:
    """Known of the newest release; the smaller move may then be advised instead, as before."""
    judged, scope, kit, seen = situation
    worse = issue.model_copy(update={"release": scope[-1].release})
    more = judged.model_copy(update={"issues": (*judged.issues, worse)})
    before, after = advise(situation, policy), advise((more, scope, kit, seen), policy)
    newest = [found.candidates[-1].verdict is Verdict.UPDATE for found in (before, after)]
    assert newest[1] <= newest[0]


@quick
@given(situations(), ready, st.floats(0.2, 1.0))
def test_what_cannot_be_read_lowers_the_certainty(
    situation: Situation, policy: Policy, share: float
) -> None:
    judged, scope, kit, seen = situation
    partly = judged.notes.model_copy(update={"not_understood": share})
    other = (judged.model_copy(update={"notes": partly}), scope, kit, seen)
    before, after = advise(situation, policy), advise(other, policy)
    assert after.verdict is before.verdict
    if before.certainty.draws:
        assert after.certainty.share < before.certainty.share


@quick
@given(situations(), ready, st.integers(0, 20))
def test_chances_do_not_hang_on_the_policy(
    situation: Situation, policy: Policy, other: int
) -> None:
    def chances(name: Policy) -> dict[int, list[tuple[str, float]]]:
        found = advise(situation, name)
        return {found.subject or 0: sorted((h.name, h.chance) for h in found.moving)}

    here, there = chances(policy), chances(between(other))
    for subject in here.keys() & there.keys():
        assert here[subject] == there[subject]


@quick
@given(situations(), ready)
def test_a_stated_need_takes_no_gain_away(situation: Situation, policy: Policy) -> None:
    judged, scope, kit, seen = situation
    refs = {item.item.ref: 0.9 for item in judged.items[:1]}
    needs = Beside(needs={"something": refs, "something nobody has": {}})
    bare = assess(judged, kit, scope, policy, seen, today=making.DAY)
    more = assess(judged, kit, scope, policy, seen, today=making.DAY, beside=needs)
    assert updates(more) >= updates(bare)
