from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest

from triage.domain.snapshots import Snapshot
from triage.domain.update_run import Mark, Marked, Phase, Run, RunPlan, StepState, Summary
from triage.errors import StoreError
from triage.kit import load_kit
from triage.kit.kit_file import set_unit
from triage.settings.snapshots import keep_snapshot
from triage.update.given import Given
from triage.update.run_log import (
    begin,
    finish,
    mark,
    open_runs,
    reminder,
    run_called,
    snapshot_for,
    snapshots_of,
)
from triage.update.run_state import done, skipped, step_of

from .conftest import NOON

Taken = Callable[..., Snapshot]
LATER = NOON + dt.timedelta(days=3)


def do(step: str, at: dt.datetime = NOON, version: str = "") -> Run:
    def decide(run: Run, one: StepState) -> Marked:
        snapshot = snapshot_for(run, one)
        return done(run, one, at, Given(version=version, charge=80, snapshot=snapshot))

    return mark("", step, decide)[0]


def carry(plan: RunPlan, taken: Taken) -> None:
    """A whole run, days long."""
    keep_snapshot(taken("RTH altitude: 60 m", at=NOON - dt.timedelta(days=1)))
    begin(plan, NOON)
    do("charge")
    do("settings-heron")
    do("version-heron", version="3.6.0")
    do("rotate-battery-1", at=LATER, version="1.14")
    keep_snapshot(taken("RTH altitude: 30 m", at=LATER))
    do("compare-heron", at=LATER)
    do("hover", at=LATER)


def test_no_run_no_word(home: Path) -> None:
    assert reminder() == ""
    assert open_runs() == ()
    with pytest.raises(StoreError, match="no update run is open; begin one"):
        run_called()


def test_a_run_of_days_ends_in_the_kit_with_its_comments(
    home: Path, plan: RunPlan, taken: Taken
) -> None:
    carry(plan, taken)
    kept: list[Summary] = []
    summary = finish("", LATER, kept.append)
    assert kept == [summary]
    assert [unit.version for unit in load_kit().units] == ["3.6.0", "1.14"]
    assert "# read on Monday" in (home / "kit.toml").read_text()
    assert summary.snapshots == (1, 2)
    assert (summary.finished - summary.started).days == 3
    assert reminder() == ""


def test_an_open_run_says_so(home: Path, plan: RunPlan) -> None:
    begin(plan, NOON)
    assert reminder() == (
        "Update run 1 (Quillmere Heron 2 3.6.0, begun 2026-11-25) is open: no version read back "
        "yet for heron and battery-1; 4 other steps to do. See: triage update next."
    )


def test_finishing_cut_short_is_repeated_whole(home: Path, plan: RunPlan, taken: Taken) -> None:
    carry(plan, taken)

    def broken(summary: Summary) -> None:
        raise OSError("power cut")

    with pytest.raises(OSError, match="power cut"):
        finish("", LATER, broken)
    assert "cut short while finishing" in reminder()
    assert run_called().phase is Phase.CLOSING
    kept: list[Summary] = []
    finish("", LATER + dt.timedelta(days=1), kept.append)
    assert kept[0].finished == LATER  # as it was first said
    assert run_called("1").phase is Phase.CLOSED
    with pytest.raises(StoreError, match="run 1 is over"):
        finish("1", LATER, kept.append, abandoned="rain")


def test_a_run_that_is_over_is_handed_over_again_and_leaves_the_kit(
    home: Path, plan: RunPlan, taken: Taken
) -> None:
    carry(plan, taken)
    kept: list[Summary] = []
    finish("", LATER, kept.append)
    set_unit(None, "heron", version="3.7.0")  # since then
    finish("1", LATER + dt.timedelta(days=9), kept.append)
    assert kept[0] == kept[1] and load_kit().units[0].version == "3.7.0"


def test_a_kit_that_does_not_hold_leaves_the_run_to_be_finished(
    home: Path, plan: RunPlan, taken: Taken
) -> None:
    carry(plan, taken)
    text = (home / "kit.toml").read_text()
    (home / "kit.toml").write_text(text + "\n[[unit]]\nlabel = 3\n")
    with pytest.raises(Exception, match=r"kit.toml:\d+"):
        finish("", LATER, lambda summary: None)
    (home / "kit.toml").write_text(text)
    finish("", LATER, lambda summary: None)
    assert load_kit().units[0].version == "3.6.0"


def test_abandoning_writes_only_what_was_read_back(home: Path, plan: RunPlan) -> None:
    begin(plan, NOON)
    mark("", "1", lambda run, step: skipped(run, step, NOON, "no charger"))
    mark("", "2", lambda run, step: skipped(run, step, NOON, "no app"))
    do("3", version="3.6.0")
    summary = finish("", NOON, lambda summary: None, abandoned="battery-1 is at the lake")
    assert [unit.version for unit in load_kit().units] == ["3.6.0", "1.9"]
    assert len(summary.left) == 3


def test_a_version_that_did_not_take_is_written_as_read(home: Path, plan: RunPlan) -> None:
    begin(plan, NOON)
    mark("", "1", lambda run, step: skipped(run, step, NOON, "no charger"))
    mark("", "2", lambda run, step: skipped(run, step, NOON, "no app"))
    do("3", version="3.5.1")
    assert "did not take" in reminder()
    finish("", NOON, lambda summary: None, abandoned="stays at 3.5.1")
    assert load_kit().units[0].version == "3.5.1"


def test_which_snapshot_stands_for_before_and_after(
    home: Path, plan: RunPlan, taken: Taken
) -> None:
    keep_snapshot(taken("Expo: 0.1", at=NOON - dt.timedelta(days=30)))  # too old
    begin(plan, NOON)
    run = run_called()
    before, after = step_of(run, "2"), step_of(run, "5")
    assert snapshot_for(run, before) is None
    keep_snapshot(taken("Expo: 0.3", at=NOON - dt.timedelta(days=2)))
    keep_snapshot(taken("Expo: 0.4", unit="visor", at=NOON))
    assert snapshot_for(run, before) == 2
    do("1")
    do("2")
    do("3", at=LATER, version="3.6.0")
    keep_snapshot(
        taken("Expo: 0.5", at=LATER - dt.timedelta(hours=1))
    )  # before its version was read back
    run = run_called()
    assert snapshot_for(run, after) is None
    assert snapshots_of(run, step_of(run, "5")) is None
    keep_snapshot(taken("Expo: 0.5", at=LATER + dt.timedelta(hours=1)))
    pair = snapshots_of(run, step_of(run, "5"))
    assert pair is not None
    assert [k.number for k in pair] == [2, 5]


def test_several_runs_are_told_apart(home: Path, plan: RunPlan) -> None:
    begin(plan, NOON)
    with pytest.raises(StoreError, match="is open and has battery-1 and heron in it"):
        begin(plan, NOON)
    app = plan.model_copy(
        update={
            "title": "Quillmere Deck 5.2.0",
            "steps": (plan.steps[0], plan.steps[5].model_copy(update={"after": ()})),
        }
    )
    begin(app, NOON)
    with pytest.raises(StoreError, match=r"2 runs are open .*; choose with --run"):
        run_called()
    assert run_called("2").plan.title == "Quillmere Deck 5.2.0"
    with pytest.raises(StoreError, match="there is no run '7'; there are 1, 2"):
        run_called("7")
    marked = mark("2", "1", lambda run, step: done(run, step, NOON, Given(charge=90)))[1]
    assert (marked.run, marked.mark) == ("2", Mark.DONE)
