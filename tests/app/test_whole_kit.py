"""The kit as a whole: units that need each other move together, in order, or not at all."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from tests.advice import situations_made as making
from triage.advice import presets
from triage.app.assess import advise
from triage.domain.answer import Advice, Inputs
from triage.domain.judged import JudgedItem
from triage.domain.kit import Kit, Unit
from triage.domain.notes import Comparison, Place, Release, Requirement

PLACE = Place(start=0, end=1, line=5, end_line=5)
TOY: dict[str, Any] = {"kinds": "F", "settings": ["gimbal"]}
MOTOR: dict[str, Any] = {"kinds": "XB", "settings": ["motor-esc"], "outcome": "motors"}
HERON = Unit(label="heron", component="aircraft", name="Heron 2", version="1.3")
DECK = Unit(label="deck", component="radio-controller", name="Deck", version="4.1")


def asks(
    component: str = "radio-controller",
    comparison: Comparison = Comparison.AT_LEAST,
    version: str = "4.2",
) -> Requirement:
    return Requirement(
        component=component, name="", comparison=comparison, version=version, text="asks",
        place=PLACE,
    )  # fmt: skip


def shipped(
    version: str, days: int, component: str, name: str, *asked: Requirement, **more: Any
) -> Release:
    made = making.release(version, days=days, component=component, **more)
    return made.model_copy(update={"unit": name, "requirements": asked})


def decide(
    releases: list[Release], items: list[JudgedItem], *units: Unit, policy: str = "balanced"
) -> Advice:
    judged = making.notes(releases, items)
    inputs = Inputs(data=b"", kit=Kit(units=units), policy=presets()[policy].policy, day=making.DAY)
    return advise(judged, inputs)


def verdicts(found: Advice) -> dict[str, str]:
    return {u.scope.unit.label: u.assessment.verdict.value for u in found.units}


def test_what_another_unit_needs_moves_with_it_in_order() -> None:
    found = decide(
        [
            shipped("1.5", 40, "aircraft", "Heron 2", asks()),
            shipped("4.2", 40, "radio-controller", "Deck"),
        ],
        [making.item("1", **TOY, release=0)],
        HERON,
        DECK,
    )
    assert verdicts(found) == {"heron": "update-now", "deck": "update-now"}
    assert found.plan is not None
    assert [(m.step, m.unit, m.version) for m in found.plan.moves] == [
        (1, "deck", "4.2"),
        (2, "heron", "1.5"),
    ]
    assert any("heron 1.5 needs it" in r.text for r in found.units[1].assessment.gain.reasons)


def test_the_deck_alone_would_have_waited() -> None:
    found = decide([shipped("4.2", 40, "radio-controller", "Deck")], [], HERON, DECK)
    assert verdicts(found) == {"deck": "wait-and-watch"}


def test_a_unit_that_may_not_move_yet_holds_the_other_until_its_day() -> None:
    found = decide(
        [
            shipped("1.5", 40, "aircraft", "Heron 2", asks()),
            shipped("4.2", 1, "radio-controller", "Deck"),
        ],
        [
            making.item("1", **TOY, release=0),
            making.item("2", "FB", settings=["stick-response"], release=1),
        ],
        HERON,
        DECK,
    )
    heron, deck = (u.assessment for u in found.units)
    assert verdicts(found) == {"heron": "wait-and-watch", "deck": "wait-and-watch"}
    assert heron.until == deck.until and heron.until is not None
    assert heron.decided_by == "together" and found.plan is None


@pytest.mark.parametrize("outcome", ["", "motors"])
def test_a_unit_that_must_not_move_keeps_the_other_where_it_is(outcome: str) -> None:
    """Even where the aircraft is grounded: without its controller it does not fly."""
    row = MOTOR if outcome else TOY
    found = decide(
        [
            shipped("1.5", 40, "aircraft", "Heron 2", asks()),
            shipped("4.2", 40, "radio-controller", "Deck", notices=[making.notice("warned")]),
        ],
        [making.item("1", **row, release=0)],
        HERON,
        DECK,
    )
    assert verdicts(found) == {"heron": "wait-and-watch", "deck": "wait-and-watch"}
    assert bool(found.units[0].assessment.warning) == bool(outcome)


def test_a_grounded_unit_takes_along_what_it_needs() -> None:
    found = decide(
        [
            shipped("1.5", 2, "aircraft", "Heron 2", asks()),
            shipped("4.2", 2, "radio-controller", "Deck"),
        ],
        [
            making.item("1", **MOTOR, release=0),
            making.item("2", "FB", settings=["stick-response"], release=1),
        ],
        HERON,
        DECK,
        policy="conservative",
    )
    assert verdicts(found) == {"heron": "update-now", "deck": "update-now"}
    assert "needs it" in found.units[1].assessment.deciding.text


def test_the_same_version_means_the_same() -> None:
    """'Same release on both': a controller that is further on does not do."""
    same = asks(comparison=Comparison.SAME, version="")
    releases = [
        shipped("4.2", 40, "aircraft", "Heron 2", same),
        shipped("4.2", 40, "radio-controller", "Deck"),
        shipped("4.3", 35, "radio-controller", "Deck"),
    ]
    found = decide(
        releases,
        [making.item("1", **TOY, release=0)],
        HERON.model_copy(update={"version": "4.1"}),
        DECK,
    )
    assert found.units[0].plan is not None
    moves = {m.unit: m.version for m in found.units[0].plan.moves}
    assert moves == {"heron": "4.2", "deck": "4.2"}
    ahead = DECK.model_copy(update={"version": "4.4", "reversible": False})
    found = decide(
        releases,
        [making.item("1", **TOY, release=0)],
        HERON.model_copy(update={"version": "4.1"}),
        ahead,
    )
    assert verdicts(found)["heron"] == "wait-and-watch"


def test_installed_versions_that_do_not_work_together_are_told() -> None:
    found = decide(
        [
            shipped("1.3", 90, "aircraft", "Heron 2", asks()),
            shipped("4.2", 40, "radio-controller", "Deck"),
        ],
        [],
        HERON,
        DECK,
    )
    deck = next(u.assessment for u in found.units if u.scope.unit.label == "deck")
    assert deck.verdict.value == "update-now"
    assert any("has to have 4.2" in a.answer for a in deck.first if a.id == "together")


def test_try_one_first_where_there_are_two() -> None:
    spare = HERON.model_copy(update={"label": "spare"})
    releases = [shipped("1.5", 40, "aircraft", "Heron 2")]
    items = [making.item("1", **TOY, release=0)]
    found = decide(releases, items, HERON, spare)
    assert found.plan is not None
    assert found.plan.try_first.startswith("Try it on heron first and keep spare")
    alone = decide(releases, items, HERON)
    assert alone.plan is not None and alone.plan.try_first == ""


def test_an_item_is_not_dropped_for_naming_a_unit_that_the_kit_lacks() -> None:
    """What the aircraft's notes say of its link belongs to the aircraft."""
    row: dict[str, Any] = {"kinds": "XB", "outcome": "link-lost", "components": ["goggles"]}
    found = decide(
        [shipped("1.5", 2, "aircraft", "Heron 2")], [making.item("1", **row, release=0)], HERON
    )
    assert found.units[0].assessment.warning


def test_nothing_to_do_says_so() -> None:
    found = decide([shipped("1.3", 2, "aircraft", "Heron 2")], [], HERON)
    assert found.units[0].assessment.headline.startswith("Nothing to do")
    assert isinstance(found.units[0].assessment.day, dt.date)
