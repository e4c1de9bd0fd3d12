"""What runs that are over still owe: units without a version read back, undecided settings.

Pure. A debt is paid by its own word, or by a later run that read the unit's version back.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from triage.domain.snapshots import SettingChoice
from triage.domain.update_run import Debt, Needs, Paid, Phase, Run, StepState, StepStatus
from triage.errors import StoreError
from triage.settings.setting_names import plain
from triage.update.given import version_fault


def undecided(run: Run) -> tuple[str, ...]:
    """Names of the settings that were left for later."""
    return tuple(
        answer.name
        for step in run.steps
        if step.state is StepStatus.DONE and step.last
        for answer in step.last.answers
        if answer.choice is SettingChoice.LATER
    )


def debts_of(runs: Sequence[Run]) -> tuple[Debt, ...]:
    """All debts of runs that are being or have been closed, the oldest first."""
    found = []
    for n, run in enumerate(runs):
        if run.phase is Phase.OPEN or not _moved(run):
            continue
        paid = {(p.step, plain(p.setting)) for p in run.paid}
        since = run.closing.at if run.closing else run.started.at
        later = _read_later(runs[n + 1 :], since)
        found += [
            debt
            for debt in _owed(run)
            if (debt.step, plain(debt.setting)) not in paid
            and (debt.setting or debt.unit not in later or _settings(run, debt.step))
        ]
    return tuple(found)


def _moved(run: Run) -> bool:
    """Whether a unit was updated, so that what is left undone is owed; else nothing was begun."""
    if run.closing is None or not run.closing.abandoned:
        return True
    return any(
        step.step.unit and step.step.stage.value in ("units", "rest") and step.marks
        for step in run.steps
    )


def _owed(run: Run) -> Iterator[Debt]:
    for state in run.steps:
        step, last = state.step, state.last
        if step.owed and state.state is not StepStatus.DONE:
            yield Debt(
                run=run.id,
                step=step.id,
                unit=step.unit,
                what=_words(state),
                reason=last.note if last else "",
                target=step.target,
            )
        if state.state is StepStatus.DONE and last:
            for answer in last.answers:
                if answer.choice is SettingChoice.LATER:
                    yield Debt(
                        run=run.id,
                        step=step.id,
                        unit=step.unit,
                        what=f"{answer.name} of {step.unit} is undecided",
                        reason=answer.reason,
                        setting=answer.name,
                    )


def _words(state: StepState) -> str:
    step = state.step
    if step.needs is Needs.AFTER:
        return f"the settings of {step.unit} were not compared after its update"
    target = f" to {step.target}" if step.target else ""
    if state.state is StepStatus.FAILED:
        return f"the update of {step.unit}{target} did not take"
    return f"{step.unit} was not updated{target} and read back"


def _settings(run: Run, id: str) -> bool:
    return any(s.step.id == id and s.step.needs is Needs.AFTER for s in run.steps)


def _read_later(runs: Sequence[Run], since: dt.datetime) -> set[str]:
    return {
        step.step.unit
        for run in runs
        for step in run.steps
        if step.step.needs is Needs.VERSION and step.state is StepStatus.DONE
        if step.last and step.last.at > since
    }


def paid(runs: Sequence[Run], words: str, at: dt.datetime, stated: Paid) -> Paid:
    """The payment of a debt, named by its unit or setting; `stated` holds what is stated of it.

    StoreError when nothing such is owed, or what is stated does not pay it.
    """
    debts = debts_of(runs)
    found = [d for d in debts if plain(d.name) == plain(words)]
    if not found:
        known = ", ".join(dict.fromkeys(d.name for d in debts))
        raise StoreError(f"nothing is owed for '{words}'", mend=f"owed: {known or 'nothing'}")
    debt = found[0]
    run = next(run for run in runs if run.id == debt.run)
    step = next(s.step for s in run.steps if s.step.id == debt.step)
    if debt.setting or step.needs is Needs.AFTER:
        if not (stated.value.strip() or stated.note.strip()):
            raise StoreError(
                f"{debt.name}: state the value it shows now, or why it stays",
                mend=f'triage update pay "{debt.name}" --value "..." or --note "why"',
            )
    elif wrong := version_fault(step, stated.version.strip(), accept=True):
        raise StoreError(f"{debt.unit} {wrong}", mend="begin its update again")
    told = {"run": debt.run, "at": at, "step": debt.step, "setting": debt.setting}
    return stated.model_copy(update=told)


def owed_words(debts: Sequence[Debt]) -> str:
    """A line on what is owed, '' for nothing."""
    if not debts:
        return ""
    told = "; ".join(f"{d.what}{f' ({d.reason})' if d.reason else ''}" for d in debts)
    runs = ", ".join(dict.fromkeys(debt.run for debt in debts))
    return f"Owed from run {runs}: {told}. Pay: triage update pay."
