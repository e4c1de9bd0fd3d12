from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from triage.domain.snapshots import Account, Answered, Difference, DifferenceKind, SettingChoice
from triage.domain.snapshots import SettingEntry as Entry
from triage.domain.update_run import Marked, Paid, Run, RunPlan, StepState
from triage.errors import StoreError
from triage.kit import load_kit
from triage.settings.setting_values import read_value
from triage.settings.snapshots import keep_snapshot
from triage.update.given import Given
from triage.update.run_log import begin, debts, finish, mark, pay, reminder, snapshot_for
from triage.update.run_state import done, skipped

from .conftest import NOON

RETURN = Difference(
    outcome=DifferenceKind.CHANGED,
    name="RTH altitude",
    before=Entry(name="RTH altitude", value=read_value("60 m")),
    after=Entry(name="RTH altitude", value=read_value("30 m")),
    account=Account.UNANNOUNCED,
    asks=True,
)


def carry(plan: RunPlan, taken: Callable[..., object], answer: Answered) -> None:
    """A run whose battery was skipped, and whose one difference got `answer`."""
    keep_snapshot(taken("RTH altitude: 60 m"))  # type: ignore[arg-type]
    begin(plan, NOON)

    def do(step: str, **stated: object) -> None:
        def decide(run: Run, one: StepState) -> Marked:
            told = Given(snapshot=snapshot_for(run, one), **stated)  # type: ignore[arg-type]
            return done(run, one, NOON, told)

        mark("", step, decide)

    do("charge", charge=80)
    do("settings-heron")
    do("version-heron", version="3.6.0")
    mark("", "rotate-battery-1", lambda run, one: skipped(run, one, NOON, "at the charger"))
    later = NOON.replace(hour=15)
    keep_snapshot(taken("RTH altitude: 30 m", at=later))  # type: ignore[arg-type]
    do("compare-heron", answers=(answer,), asking=(RETURN,))
    do("hover")


LATER = Answered(name="RTH altitude", choice=SettingChoice.LATER)


def test_what_is_left_stays_owed_after_the_run_is_closed_and_is_paid(
    home: Path, plan: RunPlan, taken: Callable[..., object]
) -> None:
    carry(plan, taken, LATER)
    with pytest.raises(StoreError, match=r"battery-1.*finish --owing"):
        finish("", NOON, lambda summary: None)
    over = finish("", NOON, lambda summary: None, owing=True)
    assert over.owed == (
        "battery-1 was not updated to 1.14 and read back", "RTH altitude of heron is undecided",
    )  # fmt: skip
    assert [d.name for d in debts()] == ["battery-1", "RTH altitude"]
    assert "(at the charger)" in reminder()
    stated = Paid(run="", at=NOON, step="")
    with pytest.raises(StoreError, match=r"shows 1\.9, not 1\.14"):
        pay("battery-1", stated.model_copy(update={"version": "1.9"}), NOON)
    with pytest.raises(StoreError, match="state the value it shows now"):
        pay("rth altitude", stated, NOON)
    pay("battery-1", stated.model_copy(update={"version": "1.14"}), NOON)
    assert load_kit().units[1].version == "1.14"
    pay("RTH altitude", stated.model_copy(update={"value": "60 m"}), NOON)
    assert debts() == () and reminder() == ""


def test_later_alone_does_not_close_in_silence(
    home: Path, plan: RunPlan, taken: Callable[..., object]
) -> None:
    steps = tuple(s for s in plan.steps if s.id != "rotate-battery-1")
    plan = plan.model_copy(update={"steps": (*steps[:3], plan.steps[3], *steps[3:])})
    carry(plan, taken, LATER)
    mark("", "rotate-battery-1",
         lambda run, one: done(run, one, NOON, Given(version="1.14")))  # fmt: skip
    with pytest.raises(StoreError, match="leaves settings for later: RTH altitude"):
        finish("", NOON, lambda summary: None)


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (Answered(name="RTH altitude", choice=SettingChoice.KEEP), "to keep RTH altitude takes a"),
        (
            Answered(name="RTH altitude", choice=SettingChoice.RESTORE, value="30 m"),
            "shows 30 m, and 60 m was to be restored",
        ),
        (Answered(name="Expo", choice=SettingChoice.LATER), "'Expo' is none of the settings"),
    ],
)
def test_a_word_that_does_not_hold_is_refused(
    home: Path, plan: RunPlan, taken: Callable[..., object], answer: Answered, words: str
) -> None:
    with pytest.raises(StoreError, match=words):
        carry(plan, taken, answer)


def test_feet_restore_metres(home: Path, plan: RunPlan, taken: Callable[..., object]) -> None:
    carry(plan, taken, Answered(name="RTH altitude", choice=SettingChoice.RESTORE, value="197 ft"))
    assert [d for d in debts() if d.setting] == []
