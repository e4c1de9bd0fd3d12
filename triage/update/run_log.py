"""Runs in the user folder: begun, carried on from any terminal, and finished into the kit.

Every change is decided on what the log holds at that moment, under its lock, and is on the disk
when the function returns. Finishing writes the kit and the journal between two events; cut short,
it is repeated whole, so both have to bear being written twice.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import TypeAdapter

from triage.domain.update_run import (
    Closed,
    Debt,
    Event,
    Marked,
    Needs,
    Paid,
    Phase,
    Run,
    RunPlan,
    StepState,
    Summary,
)
from triage.errors import StoreError
from triage.storage.record_log import Log
from triage.storage.user_folder import user_file
from triage.update import run_state as deciding
from triage.update.debts import debts_of, owed_words, paid

RUNS = "updates.jsonl"

if TYPE_CHECKING:
    from triage.settings.snapshots import NumberedSnapshot


def all_runs() -> tuple[Run, ...]:
    """All runs, the oldest first."""
    return deciding.runs_of(_log().read())


def open_runs() -> tuple[Run, ...]:
    """The runs that are not closed."""
    return tuple(run for run in all_runs() if run.phase is not Phase.CLOSED)


def reminder() -> str:
    """A line on runs that are open and on what closed ones owe, '' when there is neither."""
    runs = all_runs()
    return " ".join(filter(None, (deciding.reminder_of(runs), owed_words(debts_of(runs)))))


def debts() -> tuple[Debt, ...]:
    """What runs that are over still owe."""
    return debts_of(all_runs())


def pay(words: str, stated: Paid, at: dt.datetime, *, kit: Path | None = None) -> Paid:
    """Pay what is owed for a unit or a setting; a version that was read goes into the kit."""
    made: list[Paid] = []

    def add(before: tuple[Event, ...]) -> list[Paid]:
        made.append(paid(deciding.runs_of(before), words, at, stated))
        return made

    runs = deciding.runs_of(_log().add(add))
    run = next(run for run in runs if run.id == made[0].run)
    unit = next(s.step.unit for s in run.steps if s.step.id == made[0].step)
    if made[0].version and not made[0].setting:
        _write_versions({unit: made[0].version}, kit)
    return made[0]


def run_called(id: str = "") -> Run:
    """The run of an id; without one the only open run."""
    return _choose(all_runs(), id)


def read_back(unit: str) -> str:
    """The version of a unit as an open run last read it, '' when none did."""
    marks = [
        mark
        for run in open_runs()
        for step in run.steps
        for mark in step.marks
        if step.step.unit == unit and step.step.needs is Needs.VERSION and mark.version
    ]
    return max(marks, key=lambda mark: mark.at).version if marks else ""


def begin(plan: RunPlan, at: dt.datetime, *, against: bool = False) -> Run:
    """Begin a run."""
    events = _log().add(
        lambda before: [deciding.start(deciding.runs_of(before), plan, at, against=against)]
    )
    return deciding.runs_of(events)[-1]


def mark(id: str, step: str, decide: Callable[[Run, StepState], Marked]) -> tuple[Run, Marked]:
    """Let something happen to a step of a run, as `decide` says of them as they now stand.

    `step` is a number or an id, '' for the next one.
    """
    made: list[Marked] = []

    def add(before: tuple[Event, ...]) -> list[Marked]:
        run = _choose(deciding.runs_of(before), id)
        chosen = deciding.step_of(run, step) if step else deciding.next_step(run)
        if chosen is None:
            raise StoreError(f"run {run.id} has nothing left to do", mend="triage update finish")
        made.append(decide(run, chosen))
        return made

    events = _log().add(add)
    return _choose(deciding.runs_of(events), made[0].run), made[0]


def finish(
    id: str,
    at: dt.datetime,
    keep: Callable[[Summary], None],
    *,
    kit: Path | None = None,
    abandoned: str | None = None,
    owing: bool = False,
) -> Summary:
    """Close a run: write the versions read back into the kit, hand the summary to `keep`.

    With `owing` it is closed though skipped units or undecided settings stay owed.

    `keep` has to bear being called twice for one run. A unit that is no longer in the kit is
    passed over. A run that is over already is only handed to `keep` once more: its versions are
    history by then.
    """
    if abandoned is None and id:
        over = _choose(all_runs(), id)
        if over.phase is Phase.CLOSED:
            summary = deciding.finished(over)
            keep(summary)
            return summary

    def close(before: tuple[Event, ...]) -> list[Event]:
        event = deciding.closing(_choose(deciding.runs_of(before), id), at, abandoned, owing=owing)
        chosen.append(_choose(deciding.runs_of(before), id).id)
        return [event] if event else []

    chosen: list[str] = []
    run = _choose(deciding.runs_of(_log().add(close)), next(iter(chosen), id))
    summary = deciding.finished(run)
    _write_versions({change.unit: change.after for change in summary.versions}, kit)
    keep(summary)

    def closed(before: tuple[Event, ...]) -> list[Event]:
        now = _choose(deciding.runs_of(before), run.id)
        return [] if now.phase is Phase.CLOSED else [Closed(run=run.id, at=at)]

    _log().add(closed)
    return summary


def snapshot_for(run: Run, step: StepState) -> int | None:
    """The number of the snapshot that a step asks for, None when it is not recorded yet.

    Before the update: the newest taken before the unit moved, and not too old. After it: the newest
    taken since the run's last version of the unit was read back.
    """
    from triage.settings.snapshots import all_kept
    from triage.update.update_tables import steps

    unit, needs = step.step.unit, step.step.needs
    read = [
        mark.at
        for other in run.steps
        for mark in other.marks
        if other.step.unit == unit and other.step.needs is Needs.VERSION and mark.version
    ]
    found = all_kept(unit)
    if needs is Needs.BEFORE:
        oldest = run.started.at - dt.timedelta(days=steps().snapshot_days)
        found = tuple(k for k in found if oldest <= k.snapshot.taken < min(read, default=_LATEST))
    else:
        found = tuple(k for k in found if k.snapshot.taken > max(read, default=run.started.at))
    return found[-1].number if found else None


def snapshots_of(run: Run, step: StepState) -> tuple[NumberedSnapshot, NumberedSnapshot] | None:
    """The snapshots before and after for a step that compares, None when one is not recorded."""
    from triage.settings.snapshots import snapshot_numbered

    number = snapshot_for(run, step)
    marks = [
        mark.snapshot
        for other in run.steps
        for mark in other.marks
        if other.step.unit == step.step.unit and other.step.needs is Needs.BEFORE and mark.snapshot
    ]
    return (snapshot_numbered(marks[-1]), snapshot_numbered(number)) if marks and number else None


_LATEST = dt.datetime.max.replace(tzinfo=dt.UTC)


def _write_versions(read: Mapping[str, str], path: Path | None) -> None:
    from triage.kit import load_kit
    from triage.kit.kit_file import set_unit

    owned = load_kit(path)
    if owned.assumed:
        return
    labels = {unit.label: unit.version for unit in owned.units}
    for unit, version in read.items():
        if labels.get(unit, version) != version:
            set_unit(path, unit, version=version)


def _choose(runs: tuple[Run, ...], id: str) -> Run:
    if id:
        found = next((run for run in runs if run.id == id), None)
        if found is None:
            known = ", ".join(run.id for run in runs)
            raise StoreError(
                f"there is no run '{id}'", mend=f"there are {known}" if known else "begin one first"
            )
        return found
    open_ = [run for run in runs if run.phase is not Phase.CLOSED]
    if not open_:
        raise StoreError("no update run is open", mend="begin one: triage update start")
    if len(open_) > 1:
        known = "; ".join(f"{run.id}: {run.plan.title}" for run in open_)
        raise StoreError(f"{len(open_)} runs are open ({known})", mend="choose with --run")
    return open_[0]


@cache
def _event() -> TypeAdapter[Event]:
    return TypeAdapter(Event)


def _log() -> Log[Event]:
    return Log(user_file(RUNS), _event(), "event of a run")
