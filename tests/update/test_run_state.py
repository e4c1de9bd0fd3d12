from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.domain.update_run import Event, Mark, Marked, Phase, Run, RunPlan, Started, StepStatus
from triage.errors import StoreError
from triage.update.given import Given
from triage.update.run_state import (
    blocked_by,
    closing,
    done,
    failed,
    finished,
    next_step,
    reminder_of,
    reopened,
    runs_of,
    skipped,
    start,
    step_of,
    versions,
)

from .conftest import NOON


class Carried:
    """A run and its events, for tests that carry it by hand."""

    def __init__(self, plan: RunPlan) -> None:
        self.events: list[Event] = [start((), plan, NOON, against=False)]

    @property
    def run(self) -> Run:
        return runs_of(self.events)[0]

    def done(self, step: str, **stated: object) -> Marked:
        made = done(self.run, step_of(self.run, step), NOON, Given(**stated))  # type: ignore[arg-type]
        self.events.append(made)
        return made

    def skipped(self, step: str, reason: str = "not today") -> None:
        self.events.append(skipped(self.run, step_of(self.run, step), NOON, reason))


@pytest.fixture
def carried(plan: RunPlan) -> Carried:
    return Carried(plan)


def test_from_start_to_end(carried: Carried) -> None:
    for step, stated in (
        ("1", {"charge": 80}),
        ("settings-heron", {"snapshot": 1}),
        ("3", {"version": "3.6.0"}),
        ("4", {"version": "1.14"}),
        ("5", {"snapshot": 2}),
        ("hover", {}),
    ):
        following = next_step(carried.run)
        assert following is not None and following == step_of(carried.run, step)
        assert carried.done(step, **stated).mark is Mark.DONE
    assert next_step(carried.run) is None
    assert "has nothing left to do" in reminder_of([carried.run])
    event = closing(carried.run, NOON)
    assert event is not None
    carried.events.append(event)
    summary = finished(carried.run)
    assert [(c.unit, c.before, c.after) for c in summary.versions] == [
        ("heron", "3.4.2", "3.6.0"),
        ("battery-1", "1.9", "1.14"),
    ]
    assert (summary.done, summary.left, summary.snapshots) == (6, (), (1, 2))
    assert carried.run.phase is Phase.CLOSING
    assert "cut short" in reminder_of([carried.run])


def test_a_version_that_did_not_take_keeps_the_run_open(carried: Carried) -> None:
    carried.done("1", charge=60)
    carried.done("2", snapshot=1)
    made = carried.done("3", version="3.4.2")
    assert (made.mark, made.note) == (Mark.FAILED, "shows 3.4.2, not 3.6.0: it did not take")
    assert step_of(carried.run, "3").state is StepStatus.FAILED
    assert "the version of heron did not take" in reminder_of([carried.run])
    with pytest.raises(StoreError, match="run 1 is not finished: the version of heron"):
        closing(carried.run, NOON)
    assert carried.done("3", version="v3.6.0").mark is Mark.DONE  # one version, written otherwise


@pytest.mark.parametrize(
    ("version", "mark"),
    [("3.6.0", Mark.DONE), ("03.06.0000", Mark.DONE), ("3.6.1", Mark.DONE), ("3.5.9", Mark.FAILED)],
)
def test_version_read_back_against_the_target(plan: RunPlan, version: str, mark: Mark) -> None:
    carried = Carried(plan)
    carried.skipped("1")
    carried.skipped("2")
    assert carried.done("3", version=version).mark is mark


def test_a_version_that_cannot_be_compared_is_a_question(carried: Carried) -> None:
    carried.skipped("1")
    carried.skipped("2")
    with pytest.raises(StoreError, match=r"cannot be compared: .*--accept"):
        carried.done("3", version="winter")
    with pytest.raises(StoreError, match="the version that heron shows now is not stated"):
        carried.done("3", version="  ")
    assert carried.done("3", version="winter", accept=True).mark is Mark.DONE


def test_without_a_stated_target_the_version_has_to_move(plan: RunPlan) -> None:
    steps = list(plan.steps)
    steps[2] = steps[2].model_copy(update={"target": "", "after": ()})
    carried = Carried(plan.model_copy(update={"steps": tuple(steps)}))
    assert carried.done("3", version="3.4.2").mark is Mark.FAILED
    assert carried.done("3", version="3.4.2", accept=True).mark is Mark.DONE


def test_a_skipped_battery_stays_owed(carried: Carried) -> None:
    carried.skipped("1")
    carried.skipped("2")
    carried.done("3", version="3.6.0")
    carried.skipped("4", "at the charger")
    carried.skipped("5")
    carried.done("6")
    assert [s.step.id for s in carried.run.left] == ["rotate-battery-1"]
    following = next_step(carried.run)
    assert following is not None and following.step.id == "rotate-battery-1"
    assert "no version read back yet for battery-1" in reminder_of([carried.run])
    with pytest.raises(StoreError, match="battery-1"):
        closing(carried.run, NOON)
    event = closing(carried.run, NOON, "battery-1 is lost")
    assert event is not None
    carried.events.append(event)
    summary = finished(carried.run)
    assert (summary.left, summary.abandoned) == (("Put in battery-1",), "battery-1 is lost")
    assert [c.unit for c in summary.versions] == ["heron"]


def test_steps_come_in_order(carried: Carried) -> None:
    assert [s.number for s in blocked_by(carried.run, step_of(carried.run, "3"))] == [1, 2]
    with pytest.raises(StoreError, match=r"step 3 comes after 1 and 2 \(Charge\)"):
        carried.done("3", version="3.6.0")


def test_charge_is_held_against_the_policy(carried: Carried) -> None:
    with pytest.raises(StoreError, match=r"59 % is below the 60 % of your policy \(balanced\)"):
        carried.done("1", charge=59)
    with pytest.raises(StoreError, match="needs the lowest charge"):
        carried.done("1")
    with pytest.raises(StoreError, match="101 % is no charge"):
        carried.done("1", charge=101)


def test_reasons_and_repeats(carried: Carried) -> None:
    run = carried.run
    with pytest.raises(StoreError, match="needs a reason"):
        skipped(run, run.steps[0], NOON, " ")
    with pytest.raises(StoreError, match="needs a reason"):
        failed(run, run.steps[0], NOON, "")
    with pytest.raises(StoreError, match="is open already"):
        reopened(run, run.steps[0], NOON, "why")
    with pytest.raises(StoreError, match="no step '99'; they run from 1 to 6"):
        step_of(run, "99")
    carried.done("1", charge=60)
    with pytest.raises(StoreError, match="is done already"):
        carried.done("1", charge=60)
    with pytest.raises(StoreError, match="step 1 is done"):
        carried.skipped("1")
    carried.events.append(reopened(carried.run, step_of(carried.run, "1"), NOON, "drained"))
    assert step_of(carried.run, "1").state is StepStatus.OPEN
    assert len(step_of(carried.run, "1").marks) == 2


def test_no_snapshot_no_step(carried: Carried) -> None:
    with pytest.raises(StoreError, match=r"no snapshot of heron recorded for it; .*record heron"):
        carried.done("2")


def test_a_unit_is_in_one_open_run_only(carried: Carried, plan: RunPlan) -> None:
    with pytest.raises(StoreError, match=r"run 1 .* is open and has battery-1 and heron in it"):
        start([carried.run], plan, NOON, against=False)


def test_a_failure_is_told_in_the_summary_though_mended(carried: Carried) -> None:
    carried.events.append(failed(carried.run, step_of(carried.run, "1"), NOON, "cable"))
    carried.done("1", charge=70)
    event = closing(carried.run, NOON, "rain")
    assert event is not None
    carried.events.append(event)
    assert [t.reason for t in finished(carried.run).failed] == ["cable"]
    assert versions(carried.run) == ()
    with pytest.raises(StoreError, match="is being finished"):
        carried.done("2", snapshot=1)
    assert closing(carried.run, NOON) is None


words = st.sampled_from(["done", "skip", "fail", "reopen"])


@given(st.lists(st.tuples(words, st.integers(1, 6), st.sampled_from(["3.6.0", "1.14", "1"]))))
def test_any_order_of_deeds_leaves_a_run_that_adds_up(
    deeds: list[tuple[str, int, str]],
) -> None:
    from .conftest import plan as made

    carried = Carried(made.__wrapped__())  # type: ignore[attr-defined]
    at = NOON
    for deed, number, version in deeds:
        at += dt.timedelta(minutes=1)
        run, step = carried.run, step_of(carried.run, str(number))
        try:
            if deed == "done":
                event = done(run, step, at, Given(version=version, charge=80, snapshot=1))
            else:
                event = {"skip": skipped, "fail": failed, "reopen": reopened}[deed](
                    run, step, at, "why"
                )
        except StoreError as error:
            assert "\n" not in str(error)
            continue
        carried.events.append(event)
    run = carried.run
    assert isinstance(run.started, Started)
    assert sum(len(step.marks) for step in run.steps) == len(carried.events) - 1
    assert (next_step(run) is None) == (not run.left)
    for step in run.steps:
        if step.state is StepStatus.DONE and step.step.owed and step.last:
            assert step.last.version in ("3.6.0", "1.14") or step.last.version > step.step.target
