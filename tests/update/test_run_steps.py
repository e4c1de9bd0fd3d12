from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from triage.advice import presets
from triage.domain.advice import Assessment, Told
from triage.domain.kit import Job, Kit, Move, Plan, Unit, Unmet
from triage.domain.notes import Comparison, Place, Requirement
from triage.domain.update_run import Needs, Stage, Step
from triage.settings.setting_tables import limits
from triage.update.run_steps import RunBasis, steps_for
from triage.update.update_tables import calibrations, steps

PLACE = Place(start=0, end=1, line=7, end_line=7)
ASKED = Requirement(
    component="app",
    name="Quillmere Deck",
    comparison=Comparison.AT_LEAST,
    version="5.2.0",
    text="needs Quillmere Deck 5.2.0",
    place=PLACE,
)
KIT = Kit(
    units=(
        Unit(label="heron", component="aircraft", name="Quillmere Heron 2", version="3.4.2",
             reversible=True),
        Unit(label="tiller", component="radio-controller", version="2.6.1"),
        Unit(label="visor", component="goggles", version="2.2.3"),
        Unit(label="battery-1", component="battery", version="1.9", reversible=False),
        Unit(label="battery-2", component="battery", version="1.8", reversible=False),
        Unit(label="phone", component="app", name="Quillmere Deck", version="5.1.2"),
    ),
    jobs=(Job(day=dt.date(2026, 11, 27), what="slate roof"),),
)  # fmt: skip
MOVES = (
    Move(unit="phone", step=1, installed="5.1.2", version="5.2.0", release=None,
         reason="heron 3.6.0 asks", requirement=ASKED),
    Move(unit="heron", step=2, installed="3.4.2", version="3.6.0", release=0,
         reason="the release asked about"),
    Move(unit="battery-1", step=2, installed="1.9", version="1.14", release=None, reason="asks"),
)  # fmt: skip


def advised(told: tuple[Told, ...] = ()) -> Assessment:
    """As much of an assessment as steps are made of."""
    part: dict[str, Any] = {
        "day": dt.date(2026, 11, 25),
        "instructions": told,
        "recheck": (),
        "requirements": (),
    }
    return Assessment.model_construct(**part)


def made(
    moves: tuple[Move, ...] = MOVES, told: tuple[Told, ...] = (), **plan: object
) -> list[Step]:
    advice = advised(told)
    case = RunBasis(
        "Quillmere Heron 2 3.6.0",
        advice,
        Plan(unit="heron", release=0, moves=moves, **plan),
        KIT,
        presets()["balanced"].policy,
    )
    return list(steps_for(case))


def ids(found: list[Step], stage: Stage) -> list[str]:
    return [step.id for step in found if step.stage is stage]


def called(found: list[Step], id: str) -> Step:
    return next(step for step in found if step.id == id)


def test_the_steps_of_a_whole_kit() -> None:
    found = made()
    assert ids(found, Stage.BEFORE) == [
        "notes", "settings-heron", "charge", "link", "phone", "way-back", "time",
    ]  # fmt: skip
    assert ids(found, Stage.UNITS) == [
        "update-phone-5.2.0", "version-phone-5.2.0",
        "update-heron-3.6.0", "version-heron-3.6.0",
        "through-tiller", "through-visor",  # one step for each peripheral
        "rotate-battery-1-1.14", "rotate-battery-2",  # one for each battery, by its label
    ]  # fmt: skip
    assert ids(found, Stage.AFTER) == ["restart", "compare-heron", "bench", "hover"]
    assert len({step.id for step in found}) == len(found)


def test_the_solved_order_holds() -> None:
    found = made()
    assert called(found, "update-heron-3.6.0").after == ("version-phone-5.2.0",)
    assert "charge" in called(found, "update-phone-5.2.0").after
    assert called(found, "version-heron-3.6.0").after == ("update-heron-3.6.0",)
    assert called(found, "hover").after == ("bench",)
    # a battery still at the charger holds up neither the bench check nor the hover
    assert not [id for id in called(found, "restart").after if "battery" in id]
    known = [step.id for step in found]
    for n, step in enumerate(found):
        assert set(step.after) <= set(known[:n])


def test_versions_and_batteries_are_owed_and_the_rest_is_not() -> None:
    owed = {step.id for step in made() if step.owed}
    assert owed == {
        "version-phone-5.2.0", "version-heron-3.6.0", "rotate-battery-1-1.14", "rotate-battery-2",
    }  # fmt: skip
    assert called(made(), "rotate-battery-2").unmoved_ok
    assert not called(made(), "rotate-battery-1-1.14").unmoved_ok


def test_the_way_that_fits() -> None:
    def way(kit: Kit) -> str:
        advice = advised()
        plan = Plan(unit="heron", release=0, moves=MOVES)
        found = steps_for(RunBasis("x", advice, plan, kit, presets()["balanced"].policy))
        return called(list(found), "update-heron-3.6.0").details[0].text

    assert way(KIT).startswith("Over the air")
    bench = Unit(label="laptop", component="desktop", name="Quillmere Bench", version="1.22")
    wired = way(KIT.model_copy(update={"units": (*KIT.units, bench)}))
    assert wired.startswith("By cable with Quillmere Bench: wired is preferred")


def test_what_the_notes_tell_stands_where_it_belongs_with_its_line() -> None:
    told = (
        Told(kind="charge", text="Charge above 50 % before you begin.", line=49),
        Told(kind="calibrate", text="Calibrate the compass afterwards.", line=50),
        Told(kind="calibrate", text="Calibrate the frobnicator.", line=51),
        Told(kind="retry", text="If it stops, begin again.", line=52),
        Told(kind="each-unit", text="Insert each battery once.", line=53),
        Told(kind="no-way-back", text="It cannot be taken back.", line=54),
        Told(kind="recheck", text="Check the stick mode.", line=55),
    )
    found = made(told=told)
    placed = {
        "charge": 49,
        "calibrate-compass": 50,
        "calibrate-other": 51,
        "rotate-battery-2": 53,
        "way-back": 54,
        "recheck": 55,
    }
    for id, line in placed.items():
        assert f"notes, line {line}" in [d.source for d in called(found, id).details]
    assert called(found, "update-heron-3.6.0").mends[0].source == "notes, line 52"
    assert called(found, "bench").after[-2:] == ("calibrate-compass", "calibrate-other")
    assert not [step for step in made() if step.id.startswith("calibrate")]


def test_common_practice_is_marked_as_such() -> None:
    found = made()
    charge = called(found, "charge")
    assert charge.title == "Charge everything to 60 % or more (policy balanced)"
    assert ("At least 50 %" in charge.details[0].text, charge.details[0].source) == (
        True,
        "common practice, no source",
    )
    rotation = called(found, "rotate-battery-2").details[0]
    assert (rotation.source, "Every battery" in rotation.text) == (
        "common practice, no source",
        True,
    )
    for step in found:
        assert step.mends
        for detail in (*step.details, *step.mends):
            assert detail.source
    assert all(c.status for c in calibrations())
    assert all(limit.status for limit in limits())


def test_jobs_ways_back_and_what_stands_in_the_way() -> None:
    block = Unmet(unit="visor", reason="visor has to have 2.4.0", requirement=ASKED)
    found = made(blocks=(block,))
    assert called(found, "settled").details[0].source == "notes, line 7"
    assert called(found, "time").details[-1].text == "Promised: 2026-11-27 slate roof."
    lines = [d.text for d in called(found, "way-back").details]
    assert "battery-1 cannot go back: what the update changes stays changed." in lines
    assert "Whether phone can go back is not stated: find out." in lines


def test_a_return_to_an_earlier_version_and_a_version_not_stated() -> None:
    back = MOVES[1].model_copy(update={"back": True, "version": "3.4.1"})
    unstated = MOVES[0].model_copy(update={"version": ""})
    found = made(moves=(unstated, back))
    assert called(found, "back-heron-3.4.1").title == "Take heron back: 3.4.2 to 3.4.1"
    assert called(found, "version-phone-newest").target == ""
    assert called(found, "version-phone-newest").needs is Needs.VERSION


def test_software_alone_asks_for_no_hover() -> None:
    found = made(moves=MOVES[:1])
    assert ids(found, Stage.AFTER) == ["restart"]
    assert not [step for step in found if "battery" in step.id]


@pytest.mark.parametrize("label", ["{unit}", "a b", "x" * 80])
def test_odd_labels_do_no_harm(label: str) -> None:
    moves = (MOVES[1].model_copy(update={"unit": label}),)
    assert any(label in step.title for step in made(moves=moves))


def test_the_words_hold() -> None:
    assert steps().snapshot_days > 0
    assert {"update", "version", "rotate", "other"} <= set(steps().mends)
