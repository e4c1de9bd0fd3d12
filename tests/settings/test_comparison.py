from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.domain.snapshots import (
    Difference,
    DifferenceKind,
    Foretold,
    Match,
    Origin,
    Renamed,
    Snapshot,
    SnapshotComparison,
)
from triage.errors import StoreError
from triage.reference.shipped import folder
from triage.settings.comparison import compare_snapshots
from triage.settings.entries import entries_from
from triage.settings.pasted_text import Pair

from .conftest import NOON

Taken = Callable[..., Snapshot]
RESET = Foretold(
    line=48, text="The return-to-home altitude may be reset to 30 m by this update.", reset=True
)


def demo(taken: Taken, name: str) -> Snapshot:
    return taken((folder("corpora") / "demo" / name).read_text())


def named(compared: SnapshotComparison, name: str) -> Difference:
    return next(d for d in compared.differences if d.name == name)


def test_the_demo_settings(taken: Taken) -> None:
    before, after = demo(taken, "settings-before.txt"), demo(taken, "settings-after.txt")
    compared = compare_snapshots(before, after, [RESET])
    assert [d.name for d in compared.of(DifferenceKind.CHANGED)] == ["Return-to-home altitude"]
    assert [d.name for d in compared.of(DifferenceKind.GONE)] == ["Return path smoothing"]
    assert [d.name for d in compared.of(DifferenceKind.NEW)] == ["Roof pattern clearance"]
    renamed = named(compared, "Obstacle response")
    assert (renamed.outcome, renamed.match) == (DifferenceKind.SAME, Match.GUESS)
    assert renamed.question == "is 'Obstacle response' what 'Obstacle action' was?"
    assert named(compared, "Expo").outcome is DifferenceKind.SAME  # 0.30 and 0.3
    assert compared.differences[0].name == "Return-to-home altitude"  # first in the air
    assert compared.differences[0].expected == (RESET,)
    assert not named(compared, "Return path smoothing").expected


def test_what_the_notes_call_renamed_is_no_guess(taken: Taken) -> None:
    line = Foretold(ref="8", line=27, text="Obstacle action is now called Obstacle response.")
    compared = compare_snapshots(
        taken("Obstacle action: Stop"), taken("Obstacle response: Stop"), [line]
    )
    (found,) = compared.differences
    assert (found.match, found.outcome, found.question) == (Match.NOTES, DifferenceKind.SAME, "")
    assert found.expected == (line,)


def test_the_word_of_the_operator_settles_a_guess(taken: Taken) -> None:
    before, after = taken("Obstacle action: Stop"), taken("Obstacle response: Go around")
    word = Renamed(unit="heron", before="Obstacle action", after="Obstacle response", same=True)
    (found,) = compare_snapshots(before, after, (), [word]).differences
    assert (found.match, found.outcome) == (Match.CONFIRMED, DifferenceKind.CHANGED)
    denied = word.model_copy(update={"same": False})
    outcomes = {d.outcome for d in compare_snapshots(before, after, (), [word, denied]).differences}
    assert outcomes == {DifferenceKind.GONE, DifferenceKind.NEW}
    elsewhere = denied.model_copy(update={"unit": "visor"})
    assert compare_snapshots(before, after, (), [elsewhere]).differences[0].match is Match.GUESS


def test_one_field_under_two_names_is_matched_by_the_vocabulary(taken: Taken) -> None:
    (found,) = compare_snapshots(
        taken("RTH height: 60 m"), taken("Return altitude: 197 ft")
    ).differences
    assert (found.match, found.outcome) == (Match.VOCABULARY, DifferenceKind.SAME)
    assert found.shown == "197 ft is 60.05 m"


def test_a_unit_mixed_up_is_a_question(taken: Taken) -> None:
    (found,) = compare_snapshots(
        taken("RTH altitude: 60 m"), taken("RTH altitude: 60 ft")
    ).differences
    assert found.outcome is DifferenceKind.CHANGED
    assert found.question == "60 ft where 60 m was: is the unit right?"


def test_things_of_two_kinds_are_never_guessed_to_be_one(taken: Taken) -> None:
    compared = compare_snapshots(
        taken("Roof pattern speed: On"), taken("Roof pattern speeds: 3 m/s")
    )
    assert {d.outcome for d in compared.differences} == {DifferenceKind.GONE, DifferenceKind.NEW}


def test_a_word_on_the_subject_alone_is_not_expected(taken: Taken) -> None:
    near = Foretold(
        ref="7", line=26, text="It flies around what is in its way.", settings=("rth-behaviour",)
    )
    (found,) = compare_snapshots(
        taken("RTH speed: 8 m/s"), taken("RTH speed: 9 m/s"), [near]
    ).differences
    assert (found.expected, found.near) == ((), (near,))


def test_a_reset_of_all_settings_is_said_of_each(taken: Taken) -> None:
    reset = Foretold(line=3, text="All settings return to default.", reset=True)
    (found,) = compare_snapshots(taken("Expo: 0.3"), taken("Expo: 0.5"), [reset]).differences
    assert found.expected == (reset,)
    (found,) = compare_snapshots(taken("Expo: 0.3"), taken("Expo: 0.5"), [RESET]).differences
    assert found.expected == ()


def test_two_units_are_not_compared(taken: Taken) -> None:
    with pytest.raises(StoreError, match="one snapshot is of heron, the other of visor"):
        compare_snapshots(taken("Expo: 0.3"), taken("Expo: 0.3", unit="visor"))


names = st.lists(
    st.text(st.characters(codec="ascii", categories=["Ll"]), min_size=1, max_size=12),
    min_size=1,
    max_size=8,
    unique=True,
)


@given(names, names)
def test_every_entry_is_in_the_comparison_once(before: list[str], after: list[str]) -> None:
    a, b = (
        Snapshot(
            unit="heron",
            taken=NOON,
            origin=Origin.TYPED,
            entries=entries_from(
                [Pair(name, "Stop", n) for n, name in enumerate(found, 1)]
            ).entries,
        )
        for found in (before, after)
    )
    compared = compare_snapshots(a, b)
    assert sorted(d.before.name for d in compared.differences if d.before) == sorted(before)
    assert sorted(d.after.name for d in compared.differences if d.after) == sorted(after)
    assert not compare_snapshots(a, a).of(DifferenceKind.CHANGED)
    assert len(compare_snapshots(a, a).of(DifferenceKind.SAME)) == len(a.entries)


def test_all_settings_of_the_demo_pair_with_themselves(taken: Taken) -> None:
    before = demo(taken, "settings-before.txt")
    assert all(
        d.outcome is DifferenceKind.SAME for d in compare_snapshots(before, before).differences
    )
