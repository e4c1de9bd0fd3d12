from __future__ import annotations

from collections.abc import Callable

import pytest

from triage.domain.kinds import Kind
from triage.domain.setting_changes import Do, Says, SettingRow
from triage.domain.snapshots import Snapshot
from triage.settings.setting_changes import setting_changes
from triage.settings.setting_tables import care_of, fields
from triage.settings.setting_values import value_words

from .built_notes import effect, item, notes, told

Taken = Callable[..., Snapshot]
OWN = """\
RTH altitude: 60 m
Signal loss action: Return to home
Max altitude: 110 m
Max distance: 400 m
Obstacle action: Stop
Low battery warning: 30 %
Expo: 0.3
"""


def rows(taken: Taken, *items: object, own: str = OWN, **more: object) -> list[SettingRow]:
    last = taken(own) if own else None
    judged = notes(*items, **more)  # type: ignore[arg-type]
    return list(setting_changes(judged, range(len(judged.notes.releases)), last, "heron"))


def expected(row: SettingRow) -> list[str]:
    return [value_words(value) for value in row.expected]


def test_a_reset_to_a_value(taken: Taken) -> None:
    (row,) = rows(
        taken,
        item("The return-to-home altitude is reset to 100 m.",
             [effect("reset", "return-to-home altitude", after="100 m", line=12)]),
    )  # fmt: skip
    assert (row.name, row.do, expected(row)) == ("RTH altitude", Do.SET_AGAIN, ["100 m"])
    assert row.own is not None and value_words(row.own.value) == "60 m"
    assert (row.said[0].words, row.said[0].line, row.critical) == ("reset to 100 m", 12, True)


def test_a_reset_by_an_instruction_without_effects(taken: Taken) -> None:
    said = told(
        "settings-reset", "The return-to-home altitude may be reset to 100 ft by this update."
    )
    (row,) = rows(taken, instructions=[said])
    assert (row.name, expected(row), row.do) == ("RTH altitude", ["100 ft"], Do.SET_AGAIN)


def test_a_reset_whose_value_is_not_stated(taken: Taken) -> None:
    (row,) = rows(taken, item("x", [effect("reset", "maximum distance")]))
    assert (row.name, row.expected, row.do) == ("Max distance", (), Do.SET_AGAIN)
    assert row.because == "the notes do not say what it is reset to"


def test_a_reset_of_everything_touches_each_setting_recorded(taken: Taken) -> None:
    found = rows(taken, instructions=[told("settings-reset", "All settings are reset to default.")])
    assert len(found) == 7 and {row.do for row in found} == {Do.SET_AGAIN}
    assert found[0].name == "RTH altitude" and found[-1].name == "Expo"
    (row,) = rows(
        taken, instructions=[told("settings-reset", "All settings are reset to default.")], own=""
    )
    assert (row.name, row.do) == ("all settings", Do.WRITE_DOWN)


@pytest.mark.parametrize(
    ("before", "kept", "own", "values", "do"),
    [
        # changed by the operator, and kept
        ("30 m", True, "60 m", ["60 m"], Do.LOOK_AT),
        # left at the old default: it follows the new one
        ("60 m", True, "60 m", ["100 m", "60 m"], Do.DECIDE),
        ("60 m", False, "60 m", ["100 m", "60 m"], Do.DECIDE),
        # changed by the operator, not said to be kept
        ("30 m", False, "60 m", ["60 m", "100 m"], Do.LOOK_AT),
        # the old default is not stated
        ("", True, "60 m", ["60 m", "100 m"], Do.LOOK_AT),
        ("", False, "60 m", ["60 m", "100 m"], Do.DECIDE),
        # what the operator has is the new default
        ("30 m", False, "100 m", ["100 m"], Do.LOOK_AT),
    ],
)  # fmt: skip
def test_a_new_default_by_whether_the_operator_changed_it(
    taken: Taken, before: str, kept: bool, own: str, values: list[str], do: Do
) -> None:
    one = effect("default", "return height", before, "100 m", kept=kept)
    (row,) = rows(taken, item("x", [one]), own=f"RTH altitude: {own}")
    assert (expected(row), row.do) == (values, do)


def test_a_value_outside_a_new_range_is_shown(taken: Taken) -> None:
    text = "The return-to-home altitude can now be set from 80 to 500 m."
    (row,) = rows(taken, item(text, [effect("range", "return-to-home altitude", after="500 m")]))
    assert row.outside == "60 m lies outside 80 m to 500 m"
    assert (expected(row)[0], row.do) == ("80 m", Do.DECIDE)
    inside = "The return-to-home altitude can now be set from 20 to 500 m."
    (row,) = rows(taken, item(inside, [effect("range", "return-to-home altitude")]))
    assert (row.outside, row.do, expected(row)) == ("", Do.LOOK_AT, ["60 m"])


@pytest.mark.parametrize(
    ("text", "outside"),
    [("up to 90 m", True), ("max 360 ft", True), ("20-120 m", False), ("at least 150 m", True)],
)
def test_forms_of_a_range(taken: Taken, text: str, outside: bool) -> None:
    (row,) = rows(taken, item("x", [effect("range", "maximum altitude", after=text)]))
    assert bool(row.outside) is outside


def test_renamed_removed_added(taken: Taken) -> None:
    found = rows(
        taken,
        item("Obstacle action is now called Obstacle response.",
             [effect("renamed", "Obstacle action", "Obstacle action", "Obstacle response")]),
        item("It is gone.", [effect("removed", "low battery warning")], line=2),
        item("Roof clearance is new.", [effect("added", "roof clearance", after="3 m")], line=3),
    )  # fmt: skip
    by_name = {row.name: row for row in found}
    obstacle = by_name["Obstacle action"]
    assert (obstacle.new_name, expected(obstacle)) == ("Obstacle response", ["Stop"])
    assert by_name["Low battery warning"].gone
    assert by_name["Low battery warning"].do is Do.DECIDE
    assert (by_name["roof clearance"].do, expected(by_name["roof clearance"])) == (
        Do.DECIDE, ["3 m"],
    )  # fmt: skip


def test_a_renamed_setting_is_followed_through_later_releases(taken: Taken) -> None:
    found = rows(
        taken,
        item("a", [effect("renamed", "Obstacle action", "Obstacle action", "Obstacle response")]),
        item("b", [effect("reset", "Obstacle response", after="Bypass")], release=1),
        versions=("3.5.0", "3.6.0"),
    )
    (row,) = found
    assert (row.name, row.new_name, expected(row)) == (
        "Obstacle action", "Obstacle response", ["Bypass"],
    )  # fmt: skip
    assert [said.says for said in row.said] == [Says.RENAMED, Says.RESET]


def test_what_behaves_differently_keeps_its_value(taken: Taken) -> None:
    (row,) = rows(
        taken,
        item("On signal loss it climbs first.", settings=["signal-loss"],
             kinds=[Kind.FLIGHT_BEHAVIOUR]),
    )  # fmt: skip
    assert (row.name, expected(row), row.do) == (
        "Signal loss action", ["Return to home"], Do.LOOK_AT,
    )  # fmt: skip


def test_without_a_snapshot_what_to_write_down_comes_by_weight_in_the_air(taken: Taken) -> None:
    found = rows(
        taken,
        item("x", [effect("reset", "expo", after="0.5")]),
        item("x", [effect("reset", "return altitude", after="30 m")], line=2),
        own="",
    )
    assert [(row.name, row.do) for row in found] == [
        ("return-to-home altitude", Do.WRITE_DOWN), ("expo", Do.WRITE_DOWN),
    ]  # fmt: skip


def test_another_value_of_the_same_subject_is_not_taken_for_it(taken: Taken) -> None:
    (row,) = rows(taken, item("x", [effect("reset", "return-to-home speed", after="8 m/s")]))
    assert (row.name, row.own, row.do) == ("return-to-home speed", None, Do.WRITE_DOWN)


def test_what_is_never_waved_through() -> None:
    """Return height, failsafe, limits and obstacle behaviour."""
    critical = {f.id for f in fields() if care_of(f.setting)}
    assert {
        "rth-altitude", "signal-loss-action", "distance-limit", "altitude-limit", "speed-limit",
        "obstacle-action",
    } <= critical  # fmt: skip
    assert "expo" not in critical and not care_of("")
