"""The first questions, grounding, deadlines, and days that stand still."""

from __future__ import annotations

import datetime as dt
from itertools import product
from typing import Any

import pytest

from tests.advice import situations_made as making
from triage.advice import Beside, assess, presets
from triage.advice.first_questions import QUESTIONS
from triage.advice.gates import GATES
from triage.advice.rule import last_good_day
from triage.domain.advice import Assessment, Sureness, Verdict

BALANCED = presets()["balanced"].policy
TOY: dict[str, Any] = {"kinds": "F", "settings": ["gimbal"]}
MOTOR: dict[str, Any] = {"kinds": "XB", "settings": ["motor-esc"], "outcome": "motors"}

KINDS = ("withdrawn", "warned", "grounded")
NAMED: tuple[tuple[str, ...], ...] = ((), ("1.5",), ("1.5.0",), ("v1.5",), ("before 1.6",),
         ("1.4 to 1.6",), ("1.5 and later",), ("<= 1.5",), ("1.4", "1.5"), ("1.5.x",))  # fmt: skip
CHANCES = (1.0, 0.3)


@pytest.mark.parametrize(("kind", "versions", "chance"), list(product(KINDS, NAMED, CHANCES)))
def test_a_word_against_a_release_is_never_update_now(
    kind: str, versions: tuple[str, ...], chance: float
) -> None:
    """Sixty ways to say it, with the strongest grounds to move: a motor stop, the eager policy."""
    word = making.notice(kind, "do not install", versions=versions, chance=chance)
    judged, scope = making.simple([MOTOR, TOY], days=90, notices=[word])
    found = assess(judged, None, scope, presets()["eager"].policy, today=making.DAY)
    assert found.verdict is Verdict.WAIT and found.until is None
    assert found.decided_by == "stopped"
    assert [a.id for a in found.first if a.decides] == ["withdrawn"]


def test_questions_and_gates_have_ids_of_their_own() -> None:
    ids = [q.id for q in QUESTIONS]
    assert len(ids) == len(set(ids))
    gates = [row.id for row in GATES]
    assert len(gates) == len(set(gates))
    assert all(row.passed != row.shut for row in GATES)


def test_a_gate_that_is_shut_is_not_printed_under_its_good_name() -> None:
    judged, scope = making.simple([TOY], days=1)
    found = assess(judged, None, scope, BALANCED, today=making.DAY)
    (days,) = [g for g in found.gates if g.id == "days"]
    assert days.name == "too few days since release"


def releases(rows: list[dict[str, Any]], mends: dict[str, Any], **later: Any) -> Assessment:
    items = [making.item("1", **TOY, release=0), making.item("2", **mends, release=1)]
    shipped = [making.release(**row) for row in rows]
    shipped[1] = making.release(**{**rows[1], **later})
    judged = making.notes(shipped, items)
    return assess(judged, making.kit(), making.scope(judged), BALANCED, today=making.DAY)


def test_a_hot_fix_takes_the_place_of_its_predecessor() -> None:
    rows = [{"version": "1.5.0", "days": 60}, {"version": "1.5.1", "days": 2}]
    found = releases(rows, MOTOR)
    assert found.candidates[0].because == "1.5.1 mends it and takes its place"
    assert found.subject == 1


def test_a_point_release_that_mends_a_label_replaces_nothing() -> None:
    rows = [{"version": "1.5.0", "days": 60}, {"version": "1.5.1", "days": 2}]
    found = releases(rows, {"kinds": "X", "settings": ["display-units"], "outcome": "nuisance"})
    assert found.candidates[0].verdict is Verdict.UPDATE


@pytest.mark.parametrize("status", ["withdrawn", "beta"])
def test_a_hot_fix_that_cannot_be_had_replaces_nothing(status: str) -> None:
    rows = [{"version": "1.5.0", "days": 60}, {"version": "1.5.1", "days": 2}]
    found = releases(rows, {"kinds": "XB", "settings": ["gnss"]}, status=status)
    assert found.candidates[0].verdict is Verdict.UPDATE


def test_nothing_newer_is_nothing_to_do_unless_the_notes_speak_against_what_is_installed() -> None:
    shipped = [making.release("1.3", days=60)]
    judged = making.notes(shipped, [])
    beside = Beside(labels=("heron",), installed="1.3")
    found = assess(judged, making.kit(), (), BALANCED, today=making.DAY, beside=beside)
    assert found.headline.startswith("Nothing to do") and not found.warning
    word = making.notice("grounded", "do not fly 1.3", versions=("1.3",))
    judged = making.notes([making.release("1.3", days=60, notices=[word])], [])
    found = assess(judged, making.kit(), (), BALANCED, today=making.DAY, beside=beside)
    assert found.warning.startswith("Do not fly") and found.decided_by == "installed"


def test_units_that_do_not_work_together_today_are_a_gain_to_mend() -> None:
    judged, scope = making.simple([], days=60)
    alone = assess(judged, making.kit(), scope, BALANCED, today=making.DAY)
    beside = Beside(conflicts=("heron 1.3 asks: deck has to have 2.0 or later, it has 1.9",))
    found = assess(judged, making.kit(), scope, BALANCED, today=making.DAY, beside=beside)
    assert alone.verdict is Verdict.WAIT and found.verdict is Verdict.UPDATE
    assert any("deck" in a.answer for a in found.first if a.id == "together")


@pytest.mark.parametrize(
    ("deadline", "jobs", "day"),
    [
        (10, (), 7),  # three days ahead
        (10, (8,), 6),  # not on the eve, nor on the day, of the job
        (1, (), 0),  # the lead is gone: today
        (1, (1,), 0),  # no day that is no eve: today all the same
        (5, (1,), 2),
        (-3, (), 0),
        (-3, (1,), 0),
    ],
)
def test_last_good_day_before_a_deadline(deadline: int, jobs: tuple[int, ...], day: int) -> None:
    assert last_good_day(deadline, jobs) == day


@pytest.mark.parametrize("dated", [True, False])
def test_the_day_to_wait_for_stands_still_and_arrives(dated: bool) -> None:
    """Asked every week, the same day comes out, and on that day the advice turns."""
    row = {"kinds": "FB", "settings": ["rth-behaviour"]}
    judged, scope = making.simple([row], days=1 if dated else None)
    days, seen = set(), making.DAY
    asked = making.DAY
    while True:
        beside = Beside(first_seen=seen)
        found = assess(judged, making.kit(), scope, BALANCED, today=asked, beside=beside)
        if found.verdict is Verdict.UPDATE:
            break
        assert found.until is not None
        days.add(found.until)
        asked = min(asked + dt.timedelta(days=7), found.until)
    assert days == {asked}


def test_both_things_that_a_wait_can_buy_are_offered() -> None:
    judged, scope = making.simple([{"kinds": "FB", "settings": ["rth-behaviour"]}], days=3)
    found = assess(judged, making.kit(), scope, BALANCED, today=making.DAY)
    assert [w.buys for w in found.waits] == ["the news", "the mended release"]
    out = making.DAY - dt.timedelta(days=3)
    assert [(w.day - out).days for w in found.waits] == [21, 31]


def test_what_rests_on_an_assumption_says_so() -> None:
    row = {"kinds": "F", "settings": ["gimbal"]}
    judged, scope = making.simple([row], days=60, assumed=["the version was taken from the title"])
    found = assess(judged, making.kit(), scope, BALANCED, today=making.DAY)
    assert found.certainty.words is Sureness.ASSUMED
    assert "taken from the title" in found.certainty.rests_on
    judged, scope = making.simple([row], days=60)
    found = assess(judged, making.kit(), scope, BALANCED, today=making.DAY)
    assert found.certainty.words is Sureness.FIRM and not found.certainty.rests_on


def test_no_count_of_clean_users_that_nobody_gathers() -> None:
    judged, scope = making.simple([{"kinds": "FB", "settings": ["tuning-gains"]}] * 40, days=1)
    for policy in presets().values():
        found = assess(judged, making.kit(), scope, policy.policy, today=making.DAY)
        for change in found.changes:
            if "clean user" in change.text:
                assert int(change.text.split(" more clean")[0].split()[-1].replace(",", "")) <= 200


def test_nothing_is_dropped_without_its_text() -> None:
    judged, scope = making.simple([TOY, {"kinds": "", "text": "Thanks to all testers"}])
    found = assess(judged, making.kit(), scope, BALANCED, today=making.DAY)
    assert [u.text for u in found.not_weighed] == ["Thanks to all testers"]
