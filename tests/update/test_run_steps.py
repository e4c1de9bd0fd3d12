from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from triage.advice import presets
from triage.domain.advice import Told
from triage.domain.kit import Job, Kit, Move, Unit
from triage.domain.notes import Comparison, Place, Requirement
from triage.domain.setting_changes import Do, Said, Says, SettingRow
from triage.domain.snapshots import SettingEntry
from triage.domain.update_run import Detail, Needs, Stage, Step
from triage.reference.loader import table_bytes
from triage.reference.vocabulary import components
from triage.reference.vocabulary import settings as vocabulary
from triage.settings.setting_tables import limits
from triage.settings.setting_values import read_value
from triage.update.flight_tests import FlightLevel, flight_tests, flights_needed
from triage.update.run_steps import steps_for
from triage.update.step_writer import RunBasis
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


def made(
    moves: tuple[Move, ...] = MOVES,
    told: tuple[Told, ...] = (),
    kit: Kit = KIT,
    **more: Any,
) -> list[Step]:
    policy = presets()["balanced"].policy
    case = RunBasis("Quillmere Heron 2 3.6.0", moves, kit, policy, told={"heron": told}, **more)
    return list(steps_for(case))


def ids(found: list[Step], stage: Stage) -> list[str]:
    return [step.id for step in found if step.stage is stage]


def called(found: list[Step], id: str) -> Step:
    return next(step for step in found if step.id == id)


def test_the_steps_of_a_whole_kit() -> None:
    found = made()
    assert ids(found, Stage.BEFORE) == [
        "notes", "way-back", "settings-heron", "charge", "link", "phone", "time",
    ]  # fmt: skip
    assert ids(found, Stage.UNITS) == [
        "update-phone-5.2.0", "version-phone-5.2.0",
        "update-heron-3.6.0", "version-heron-3.6.0",
        "through-tiller", "through-visor",  # one step for each peripheral
        "rotate-battery-1-1.14", "rotate-battery-2",  # one for each battery, by its label
    ]  # fmt: skip
    assert ids(found, Stage.AFTER) == ["restart", "compare-heron"]
    assert [*ids(found, Stage.BENCH), *ids(found, Stage.FLIGHT)] == ["bench", "hover"]
    assert ids(found, Stage.END) == ["again-height-heron", "together", "complete"]
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
        "compare-heron",
    }  # fmt: skip
    assert called(made(), "rotate-battery-2").unmoved_ok
    assert not called(made(), "rotate-battery-1-1.14").unmoved_ok


def test_the_way_that_fits() -> None:
    def way(kit: Kit) -> str:
        return called(made(kit=kit), "update-heron-3.6.0").details[0].text

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
    assert {"calibrate-compass", "calibrate-other"} <= set(called(found, "bench").after)
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
    stop = Detail(text="visor has to have 2.4.0.", source="notes, line 7")
    job = Detail(text="Promised: 2026-11-27 slate roof.", source="kit")
    found = made(stops=(stop,), jobs=(job,))
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
    assert not ids(found, Stage.BENCH) and not ids(found, Stage.FLIGHT)
    assert not [step for step in found if "battery" in step.id]


@pytest.mark.parametrize("label", ["{unit}", "a b", "x" * 80])
def test_odd_labels_do_no_harm(label: str) -> None:
    moves = (MOVES[1].model_copy(update={"unit": label}),)
    assert any(label in step.title for step in made(moves=moves))


def test_the_words_hold() -> None:
    assert steps().snapshot_days > 0
    assert {"update", "version", "rotate", "other"} <= set(steps().mends)


# --- the checklist rules of Degani and Wiener, NASA CR-177549, on a generated run

ROW = SettingRow(
    unit="heron",
    name="RTH altitude",
    field="rth-altitude",
    setting="rth-altitude",
    own=SettingEntry(
        name="RTH altitude", field="rth-altitude", setting="rth-altitude",
        value=read_value("60 m"),
    ),
    said=(Said(says=Says.RESET, words="reset to 30 m", ref="3", line=12),),
    expected=(read_value("30 m"),),
    do=Do.SET_AGAIN,
    critical=True,
)  # fmt: skip
TOLD = (
    Told(kind="calibrate", text="Calibrate the compass afterwards.", line=50),
    Told(kind="warning", text="Wait ten minutes before switching off.", line=51),
    Told(kind="no-way-back", text="It cannot be taken back.", line=54),
    Told(kind="recheck", text="Check the stick mode.", line=55),
)


def day() -> list[Step]:
    tests = flights_needed({"rth-altitude", "signal-loss", "tuning-gains"}, {"gimbal"})
    return made(told=TOLD, rows=(ROW,), tests=tests)


def test_every_step_comes_to_a_value_or_a_status_not_to_checked() -> None:
    for step in day():
        assert step.response, step.id
        assert step.response.casefold() not in {"checked", "set", "done", "ok", "yes", "ticked"}
    asked = {step.id: step for step in day() if step.needs is not Needs.NOTHING}
    assert {"charge", "version-heron-3.6.0", "again-1-heron", "compare-heron"} <= asked.keys()


def test_critical_steps_stand_first_in_their_part() -> None:
    for stage in (Stage.BEFORE, Stage.BENCH, Stage.END):
        critical = [step.critical for step in day() if step.stage is stage]
        assert critical == sorted(critical, reverse=True), stage


def test_critical_values_are_read_once_more_at_the_end() -> None:
    again = called(day(), "again-1-heron")
    assert (again.stage, again.needs, again.expect) == (Stage.END, Needs.VALUE, "60 m")
    assert again.title == "Once more: RTH altitude of heron"


def test_the_completion_call_is_the_last_item() -> None:
    last = day()[-1]
    assert (last.id, last.response) == ("complete", "complete")
    assert set(last.after) == {step.id for step in day()[:-1]}


def test_a_long_list_is_cut_into_parts() -> None:
    stages = [step.stage for step in day()]
    assert stages == sorted(stages, key=list(Stage).index)
    assert max(stages.count(stage) for stage in Stage) <= 10


def test_bench_before_hover_before_anything_automatic() -> None:
    found = [s.id for s in day() if s.stage in (Stage.BENCH, Stage.FLIGHT)]
    assert found == [
        "bench", "test-motors", "test-loss-bench", "test-gimbal", "hover", "test-axes",
        "test-return", "test-loss",
    ]  # fmt: skip
    return_home = called(day(), "test-return")
    assert return_home.after == ("test-axes",) and return_home.ask == "height it climbed to, in m"
    assert not [d for d in called(day(), "recheck").details if "return" in d.text.casefold()]


def test_waiting_times_and_no_way_back_stand_at_the_unit_itself() -> None:
    sources = [d.source for d in called(day(), "update-heron-3.6.0").details]
    assert {"notes, line 51", "notes, line 54"} <= set(sources)
    assert "notes, line 51" not in [d.source for d in called(day(), "update-phone-5.2.0").details]


def test_one_battery_first_flies_before_the_others_move() -> None:
    found = made(first="battery-1")
    rest = ids(found, Stage.REST)
    assert rest == ["rotate-battery-2"]
    assert called(found, "rotate-battery-2").after == ("hover",)
    assert "rotate-battery-1-1.14" in called(found, "restart").after


def test_every_test_flight_has_a_reason_and_known_settings() -> None:
    known = {s.id for s in vocabulary()}
    parts = {c.id for c in components()}
    for test in flight_tests().test:
        assert test.reason and set(test.settings) <= known and set(test.components) <= parts
    assert flight_tests().status == "common practice, no source"
    assert not flights_needed(set(), set())
    levels = [t.level for t in flights_needed(known, parts)]
    assert levels == sorted(levels, key=list(FlightLevel).index) and levels[-1] is FlightLevel.LOSS


def test_checks_of_the_whole_system_are_named_by_their_rule() -> None:
    """14 CFR 107.15 and 107.49; limits by 14 CFR 107.51 and UAS.OPEN.010."""
    text = table_bytes("test_flights.toml").decode()
    assert "14 CFR 107.15 and 107.49" in text
    limits_test = next(t for t in flight_tests().test if t.id == "limits")
    assert "14 CFR 107.51" in limits_test.reason and "UAS.OPEN.010" in limits_test.reason
