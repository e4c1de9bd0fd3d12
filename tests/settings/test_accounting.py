"""A difference is expected by value: this change of this setting to this value is foretold."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from triage.domain.snapshots import (
    Account,
    Difference,
    DifferenceKind,
    Match,
    Snapshot,
    SnapshotComparison,
)
from triage.settings.comparison import compare_snapshots
from triage.settings.setting_changes import setting_changes

from .built_notes import effect, item, notes, told

Taken = Callable[..., Snapshot]


def compared(
    taken: Taken, before: str, after: str, *items: object, **more: object
) -> SnapshotComparison:
    old = taken(before)
    judged = notes(*items, **more)  # type: ignore[arg-type]
    rows = setting_changes(judged, range(len(judged.notes.releases)), old, "heron")
    return compare_snapshots(old, taken(after), (), (), rows)


def named(found: SnapshotComparison, name: str) -> Difference:
    return next(d for d in found.differences if d.name == name)


RESET = item("x", [effect("reset", "return-to-home altitude", after="30 m", line=48)])


def test_a_reset_foretold_is_expected_and_still_asks(taken: Taken) -> None:
    found = compared(taken, "RTH altitude: 60 m", "RTH altitude: 30 m", RESET)
    (one,) = found.asking
    assert (one.account, one.critical) == (Account.EXPECTED, True)
    assert one.foreseen == ("reset to 30 m (item 1, line 48)",)


def test_another_value_than_foretold_is_not_expected(taken: Taken) -> None:
    (one,) = compared(taken, "RTH altitude: 60 m", "RTH altitude: 20 m", RESET).asking
    assert one.account is Account.OTHER_VALUE


def test_a_flipped_failsafe_is_never_covered_by_a_reset_of_something_else(taken: Taken) -> None:
    found = compared(
        taken,
        "RTH altitude: 60 m\nSignal loss action: Return to home",
        "RTH altitude: 30 m\nSignal loss action: Hover",
        RESET,
    )
    flipped = named(found, "Signal loss action")
    assert (flipped.account, flipped.asks, flipped.critical) == (Account.UNANNOUNCED, True, True)


def test_a_reset_of_everything_does_not_wave_a_flipped_failsafe_through(taken: Taken) -> None:
    said = told("settings-reset", "All settings are reset to default.")
    found = compared(
        taken, "Signal loss action: Return to home", "Signal loss action: Hover",
        instructions=[said],
    )  # fmt: skip
    (one,) = found.asking
    assert one.account is Account.OTHER_VALUE


def test_announced_but_not_seen(taken: Taken) -> None:
    (one,) = compared(taken, "RTH altitude: 60 m", "RTH altitude: 60 m", RESET).differences
    assert (one.outcome, one.account, one.asks) == (DifferenceKind.SAME, Account.NOT_SEEN, False)


def test_offered_gone_removed_and_added(taken: Taken) -> None:
    found = compared(
        taken,
        "Expo: 0.3\nLow battery warning: 30 %\nBeginner mode: Off",
        "Expo: 0.3\nRoof clearance: 3 m\nTail light: On",
        item("a", [effect("removed", "low battery warning")]),
        item("b", [effect("added", "Roof clearance", after="3 m")], line=2),
    )
    accounts = {d.name: d.account for d in found.asking}
    assert accounts == {
        "Low battery warning": Account.EXPECTED,
        "Beginner mode": Account.GONE,
        "Roof clearance": Account.EXPECTED,
        "Tail light": Account.OFFERED,
    }
    assert not named(found, "Expo").asks


def test_what_the_notes_rename_is_followed_and_compared_by_value(taken: Taken) -> None:
    rename = effect("renamed", "Obstacle action", "Obstacle action", "Obstacle response")
    found = compared(
        taken, "Obstacle action: Stop", "Obstacle response: Bypass", item("x", [rename])
    )
    (one,) = found.differences
    assert (one.match, one.outcome, one.account) == (
        Match.NOTES, DifferenceKind.CHANGED, Account.UNANNOUNCED,
    )  # fmt: skip


@pytest.mark.parametrize(("shows", "account"), [("100 m", "EXPECTED"), ("60 m", "SAME")])
def test_a_default_that_may_or_may_not_move_accounts_for_both(
    taken: Taken, shows: str, account: str
) -> None:
    one = effect("default", "return height", "", "100 m")
    (found,) = compared(
        taken, "RTH altitude: 60 m", f"RTH altitude: {shows}", item("x", [one])
    ).differences
    assert found.account is Account[account]


def test_a_guess_about_a_critical_setting_asks(taken: Taken) -> None:
    (one,) = compared(taken, "Obstacle action: Stop", "Obstacle response: Stop").differences
    assert (one.match, one.asks) == (Match.GUESS, True)
