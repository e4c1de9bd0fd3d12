"""A run of an update as its events leave it, and what may happen to it next; no file, no clock.

Errors: StoreError in one line, for what does not fit the run as it stands.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from triage.domain.update_run import (
    Closed,
    Closing,
    Event,
    Flown,
    Mark,
    Marked,
    Needs,
    Paid,
    Phase,
    Run,
    RunNote,
    RunPlan,
    Stage,
    Started,
    StepState,
    StepStatus,
    Summary,
    VersionChange,
)
from triage.errors import StoreError
from triage.update.debts import debts_of, undecided
from triage.update.given import NOTHING_GIVEN, Given, check_answers, value_fault, version_fault

_STATE = {
    Mark.DONE: StepStatus.DONE,
    Mark.SKIPPED: StepStatus.SKIPPED,
    Mark.FAILED: StepStatus.FAILED,
    Mark.REOPENED: StepStatus.OPEN,
}


def runs_of(events: Sequence[Event]) -> tuple[Run, ...]:
    """All runs, the oldest first."""
    starts = [event for event in events if isinstance(event, Started)]
    return tuple(_run(start, [e for e in events if e.run == start.run]) for start in starts)


def _run(start: Started, events: Sequence[Event]) -> Run:
    marks: dict[str, list[Marked]] = {}
    closing: Closing | None = None
    closed: Closed | None = None
    paid = tuple(event for event in events if isinstance(event, Paid))
    for event in events:
        if isinstance(event, Marked):
            marks.setdefault(event.step, []).append(event)
        elif isinstance(event, Closing):
            closing = event
        elif isinstance(event, Closed):
            closed = event
    steps = []
    for number, step in enumerate(start.plan.steps, start=1):
        own = tuple(marks.get(step.id, ()))
        state = _STATE[own[-1].mark] if own else StepStatus.OPEN
        steps.append(StepState(number=number, step=step, state=state, marks=own))
    phase = Phase.CLOSED if closed else Phase.CLOSING if closing else Phase.OPEN
    return Run(
        id=start.run,
        started=start,
        phase=phase,
        steps=tuple(steps),
        closing=closing,
        closed=closed,
        paid=paid,
    )


def next_step(run: Run) -> StepState | None:
    """The first step that can be taken now; one that was skipped but is owed comes last."""
    left = [step for step in run.left if not blocked_by(run, step)]
    return next((s for s in left if s.state is not StepStatus.SKIPPED), next(iter(left), None))


def blocked_by(run: Run, step: StepState) -> tuple[StepState, ...]:
    """Steps that have to be done or skipped before this one."""
    open_ = {s.step.id: s for s in run.steps if s.state in (StepStatus.OPEN, StepStatus.FAILED)}
    return tuple(open_[id] for id in step.step.after if id in open_)


def step_of(run: Run, words: str) -> StepState:
    """The step meant by its number or id."""
    wanted = words.strip().lstrip("#").casefold()
    for step in run.steps:
        if wanted in (str(step.number), step.step.id.casefold()):
            return step
    raise StoreError(
        f"there is no step '{words}'",
        mend=f"they run from 1 to {len(run.steps)}; triage update status",
    )


def start(runs: Sequence[Run], plan: RunPlan, at: dt.datetime, *, against: bool) -> Started:
    """The beginning of a run; no unit can be in two open runs."""
    units = {step.unit for step in plan.steps if step.unit}
    for run in runs:
        shared = units & {step.step.unit for step in run.steps if step.step.unit}
        if run.phase is not Phase.CLOSED and shared:
            raise StoreError(
                f"run {run.id} ({run.plan.title}) is open and has {_listed(sorted(shared))} in it",
                mend="finish it, or: triage update abandon",
            )
    return Started(run=str(len(runs) + 1), at=at, plan=plan, against=against)


def done(
    run: Run,
    step: StepState,
    at: dt.datetime,
    given: Given = NOTHING_GIVEN,
) -> Marked:
    """A step is done, or has failed when what was read is not the version or value wanted."""
    _open(run)
    if step.state is StepStatus.DONE:
        raise StoreError(f"step {step.number} is done already", mend="see: triage update status")
    if before := blocked_by(run, step):
        numbers = _listed([str(s.number) for s in before])
        raise StoreError(
            f"step {step.number} comes after {numbers} ({before[0].step.title})",
            mend="do that first, or skip it with a reason",
        )
    needs = step.step.needs
    wrong = ""
    if needs is Needs.VERSION:
        wrong = version_fault(step.step, given.version.strip(), accept=given.accept)
    elif needs is Needs.CHARGE:
        _charge(run, step, given.charge)
    elif needs is Needs.VALUE:
        wrong = value_fault(step, given.value, accept=given.accept)
    elif needs in (Needs.BEFORE, Needs.AFTER) and given.snapshot is None:
        when = "recorded for it" if needs is Needs.BEFORE else "recorded since its update"
        raise StoreError(
            f"there is no snapshot of {step.step.unit} {when}",
            mend=f"triage settings record {step.step.unit}, or skip the step with a reason",
        )
    if needs is Needs.AFTER:
        check_answers(given.asking, given.answers)
    return Marked(
        run=run.id,
        at=at,
        step=step.step.id,
        mark=Mark.FAILED if wrong else Mark.DONE,
        note=wrong or given.note,
        version=given.version.strip(),
        charge=given.charge,
        snapshot=given.snapshot,
        value=given.value.strip(),
        answers=given.answers,
    )


def _charge(run: Run, step: StepState, charge: int | None) -> None:
    least = run.plan.min_charge
    if charge is None:
        raise StoreError(
            f"step {step.number} needs the lowest charge of all units",
            mend=f"triage update done {step.number} --charge {max(least, 50)}",
        )
    if not 0 <= charge <= 100:
        raise StoreError(f"{charge} % is no charge", mend="state the lowest of all, 0 to 100")
    if charge < least:
        raise StoreError(
            f"{charge} % is below the {least} % of your policy ({run.plan.policy})",
            mend="charge first, or skip the step with a reason",
        )


def skipped(run: Run, step: StepState, at: dt.datetime, reason: str) -> Marked:
    """A step is left out; the reason is asked for."""
    return _with_reason(run, step, at, reason, Mark.SKIPPED, "skip")


def failed(run: Run, step: StepState, at: dt.datetime, reason: str) -> Marked:
    """A step did not work; it stays open."""
    return _with_reason(run, step, at, reason, Mark.FAILED, "fail")


def reopened(run: Run, step: StepState, at: dt.datetime, reason: str) -> Marked:
    """A step is to be done again, and with it nothing else."""
    if step.state is StepStatus.OPEN:
        raise StoreError(f"step {step.number} is open already", mend="see: triage update status")
    return _with_reason(run, step, at, reason, Mark.REOPENED, "reopen")


def _with_reason(
    run: Run, step: StepState, at: dt.datetime, reason: str, mark: Mark, verb: str
) -> Marked:
    _open(run)
    if not reason.strip():
        raise StoreError(
            f"step {step.number} needs a reason", mend=f'triage update {verb} {step.number} "why"'
        )
    if mark is not Mark.REOPENED and step.state is StepStatus.DONE:
        raise StoreError(
            f"step {step.number} is done", mend=f'first: triage update reopen {step.number} "why"'
        )
    return Marked(run=run.id, at=at, step=step.step.id, mark=mark, note=reason.strip())


def closing(
    run: Run, at: dt.datetime, abandoned: str | None = None, *, owing: bool = False
) -> Closing | None:
    """The run may be closed; None when it is being closed already, so that it can be repeated.

    `abandoned` is the reason to close it with steps left, None to finish it. With `owing` it is
    finished though owed steps were skipped or settings left for later: they stay owed.
    """
    if run.phase is Phase.CLOSED:
        raise StoreError(f"run {run.id} is over", mend="see: triage update status --all")
    if run.phase is Phase.CLOSING:
        return None
    if abandoned is not None and not abandoned.strip():
        raise StoreError("abandoning needs a reason", mend='triage update abandon "why"')
    if abandoned is None:
        skipped_only = all(step.state is StepStatus.SKIPPED for step in run.left)
        if run.left and not (owing and skipped_only):
            close = "close it owing them: triage update finish --owing" if skipped_only else (
                "triage update abandon"
            )  # fmt: skip
            raise StoreError(
                f"run {run.id} is not finished: {_left(run)}", mend=f"do them, or {close}"
            )
        if (later := undecided(run)) and not owing:
            raise StoreError(
                f"run {run.id} leaves settings for later: {_listed(later)}",
                mend="decide them, or close it owing them: triage update finish --owing",
            )
    return Closing(run=run.id, at=at, abandoned=(abandoned or "").strip())


def versions(run: Run) -> tuple[VersionChange, ...]:
    """The versions read back that differ from those the kit had, by unit."""
    found: dict[str, VersionChange] = {}
    for step in run.steps:
        read = next((m.version for m in reversed(step.marks) if m.version), "")
        if read and step.step.needs is Needs.VERSION:
            first = found.get(step.step.unit)
            before = first.before if first else step.step.installed
            found[step.step.unit] = VersionChange(unit=step.step.unit, before=before, after=read)
    return tuple(change for change in found.values() if change.before != change.after)


def finished(run: Run) -> Summary:
    """What the journal keeps of a run that is being closed."""
    if run.closing is None:
        raise StoreError(f"run {run.id} is open", mend="triage update finish")
    marks = [mark for step in run.steps for mark in step.marks]
    return Summary(
        run=run.id,
        unit=run.plan.unit,
        title=run.plan.title,
        version=run.plan.version,
        started=run.started.at,
        finished=run.closing.at,
        verdict=run.plan.verdict,
        against=run.started.against,
        policy=run.plan.policy,
        versions=versions(run),
        done=sum(step.state is StepStatus.DONE for step in run.steps),
        skipped=_told(run, Mark.SKIPPED),
        failed=_told(run, Mark.FAILED),
        left=tuple(step.step.title for step in run.left),
        snapshots=tuple(dict.fromkeys(m.snapshot for m in marks if m.snapshot is not None)),
        abandoned=run.closing.abandoned,
        units=run.plan.units,
        flights=_flown(run),
        owed=tuple(debt.what for debt in debts_of((run,))),
        digests=run.plan.digests,
    )


def _flown(run: Run) -> tuple[Flown, ...]:
    """The tests on the bench and in the air, as they went."""
    return tuple(
        Flown(
            title=step.step.title,
            came=step.state,
            words="; ".join(filter(None, (step.last.value, step.last.note))) if step.last else "",
        )
        for step in run.steps
        if step.step.stage in (Stage.BENCH, Stage.FLIGHT)
    )


def reminder_of(runs: Sequence[Run]) -> str:
    """A line on what is left of open runs, '' when none is open."""
    return " ".join(_reminder(run) for run in runs if run.phase is not Phase.CLOSED)


def _reminder(run: Run) -> str:
    head = f"Update run {run.id} ({run.plan.title}, begun {run.started.at.date().isoformat()})"
    if run.phase is Phase.CLOSING:
        return f"{head} was cut short while finishing: triage update finish."
    if not run.left:
        return f"{head} has nothing left to do: triage update finish."
    return f"{head} is open: {_left(run)}. See: triage update next."


def _left(run: Run) -> str:
    """What keeps a run open, the units and batteries by name first."""
    owed = [s for s in run.left if s.step.owed]
    failing = [s.step.unit for s in owed if s.state is StepStatus.FAILED]
    waiting = [s.step.unit for s in owed if s.state is not StepStatus.FAILED]
    parts = []
    if failing:
        parts.append(f"the version of {_listed(failing)} did not take")
    if waiting:
        parts.append(f"no version read back yet for {_listed(waiting)}")
    if others := len(run.left) - len(owed):
        parts.append(f"{others} other {'step' if others == 1 else 'steps'} to do")
    return "; ".join(parts)


def _told(run: Run, mark: Mark) -> tuple[RunNote, ...]:
    return tuple(
        RunNote(title=step.step.title, reason=m.note)
        for step in run.steps
        for m in step.marks
        if m.mark is mark and (mark is Mark.FAILED or m is step.last)
    )


def _open(run: Run) -> None:
    if run.phase is not Phase.OPEN:
        word = "over" if run.phase is Phase.CLOSED else "being finished"
        raise StoreError(f"run {run.id} is {word}", mend="see: triage update status")


def _listed(words: Sequence[str]) -> str:
    words = list(dict.fromkeys(words))
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
