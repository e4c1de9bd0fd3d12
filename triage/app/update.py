"""Use case: an update run begun from an advice, and closed into the kit and the journal."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from triage.app.environment import now, pilot
from triage.domain.answer import Advice, Inputs
from triage.domain.snapshots import Answered, Difference
from triage.domain.update_run import (
    Marked,
    Needs,
    Paid,
    Run,
    RunPlan,
    StepState,
    Summary,
)
from triage.errors import StoreError, TriageError
from triage.settings.snapshots import last_kept, renamed_settings
from triage.update import run_log
from triage.update import run_state as deciding
from triage.update.given import Given
from triage.update.start_run import RunRequest, against, run_plan


class Ready(NamedTuple):
    """A run that could begin, and why it should not, '' when nothing says so."""

    plan: RunPlan
    against: str


class ClosedRun(NamedTuple):
    """A run that is over; `entry` is its journal entry, None where it could not be written.

    `remark` tells of a fault that lost nothing.
    """

    summary: Summary
    entry: int | None
    remark: str
    missing: str


def ready(advice: Advice, inputs: Inputs, unit: str = "", first: str = "") -> Ready:
    """The plan of the whole kit, or of the unit named; `first` moves and flies before its like."""
    if inputs.kit.assumed:
        raise StoreError("there is no kit yet", mend="state your units first: triage kit add")
    recorded = {
        own.label: last.snapshot for own in inputs.kit.units if (last := last_kept(own.label))
    }
    wanted = RunRequest(unit, first, recorded)
    plan = run_plan(advice.judged, inputs.kit, inputs.policy, advice.units, wanted, advice.plan)
    return Ready(plan, against(advice.judged, plan, advice.units))


def begin_run(found: Ready) -> Run:
    """Begin the run now."""
    return run_log.begin(found.plan, now(), against=bool(found.against))


def file_decision(
    run: Run,
    advice: Advice,
    inputs: Inputs,
    *,
    by: str | None = None,
    journal: str | None = None,
) -> str:
    """Keep the decision that a run carries out; a line that says so, or why it is not kept.

    Where the last decision on these notes was to update these units already, it stands. A journal
    that cannot be written holds no run up.
    """
    from triage.app.decide import decide
    from triage.domain.choice import Choice
    from triage.journal.record_update import decision_to_update
    from triage.journal.store import open_journal

    open_ = [u for u in advice.units if u.assessment.subject is not None]
    labels = [u.scope.labels[0] for u in open_ if set(u.scope.labels) & set(run.plan.units)]
    try:
        store = open_journal(journal, create=True)
        who = pilot(by, shared=store.shared)
        if decision_to_update(store, run.plan, who) is not None:
            return ""
        apart = dict.fromkeys(labels, Choice.UPDATE)
        reason = f"update run {run.id} begun"
        entry, remark = decide(
            advice, inputs, Choice.FOLLOW, reason, apart=apart, by=by, journal=journal
        )
    except TriageError as error:
        return f"the decision is not in the journal: {error}"
    return remark or f"decision to update kept in the journal as entry {entry.seq}"


def asking(run: Run, step: StepState) -> tuple[Difference, ...]:
    """The settings that differ after a unit's update and wait for a word; () while unrecorded."""
    from triage.settings.comparison import compare_snapshots

    pair = run_log.snapshots_of(run, step) if step.step.needs is Needs.AFTER else None
    if pair is None:
        return ()
    before, after = pair
    found = compare_snapshots(
        before.snapshot, after.snapshot, run.plan.foretold, renamed_settings(), run.plan.changes
    )
    return found.asking


def do_step(run: str, step: str, given: Given) -> tuple[Run, Marked]:
    """Mark a step done with what is stated of it; the snapshots are found by themselves."""

    def decided(now_: Run, state: StepState) -> Marked:
        needs = state.step.needs
        snapshot = (
            run_log.snapshot_for(now_, state) if needs in (Needs.BEFORE, Needs.AFTER) else None
        )
        told = given._replace(snapshot=snapshot, asking=asking(now_, state))
        return deciding.done(now_, state, now(), told)

    return run_log.mark(run, step, decided)


def undo(run: Run) -> tuple[Run, Marked]:
    """Take back the last thing that happened to a step; StoreError where nothing did."""
    marked = [s for s in run.steps if s.last is not None and s.last.mark != "reopened"]
    if not marked:
        raise StoreError("there is nothing to undo", mend="triage update next")
    last = max(marked, key=lambda s: s.last.at if s.last else run.started.at)
    return run_log.mark(
        run.id, last.step.id, lambda now_, one: deciding.reopened(now_, one, now(), "undone")
    )


def pay_debt(
    words: str, *, version: str = "", value: str = "", note: str = "", kit: Path | None = None
) -> Paid:
    """Pay what is owed from a run that is over, now."""
    at = now()
    stated = Paid(run="", at=at, step="", version=version, value=value, note=note)
    return run_log.pay(words, stated, at, kit=kit)


def answers_from(
    restore: tuple[str, ...], keep: tuple[str, ...], later: tuple[str, ...]
) -> tuple[Answered, ...]:
    """The operator's words as the options state them: 'NAME=value', 'NAME=why', NAME."""
    from triage.domain.snapshots import SettingChoice

    def split(text: str) -> tuple[str, str]:
        name, _, rest = text.partition("=")
        return name.strip(), rest.strip()

    found = [
        Answered(name=n, choice=SettingChoice.RESTORE, value=v) for n, v in map(split, restore)
    ]
    found += [Answered(name=n, choice=SettingChoice.KEEP, reason=v) for n, v in map(split, keep)]
    found += [Answered(name=n, choice=SettingChoice.LATER, reason=v) for n, v in map(split, later)]
    return tuple(found)


def close_run(
    run: str,
    *,
    abandoned: str | None = None,
    owing: bool = False,
    kit: Path | None = None,
    by: str | None = None,
    journal: str | None = None,
) -> ClosedRun:
    """Close a run, or write the journal entry that one lacks.

    A journal that cannot be written holds no run open.
    """
    from triage.journal.record_update import keep_update, take_back
    from triage.journal.store import open_journal

    entry: int | None = None
    remark = missing = ""

    def keep(summary: Summary) -> None:
        nonlocal entry, remark, missing
        try:
            store = open_journal(journal, create=True)
            who = pilot(by, shared=store.shared)
            entry = keep_update(store, summary, who).seq
            if summary.abandoned and not summary.versions:
                take_back(store, summary, entry, who)
            remark = store.remark
        except TriageError as error:
            missing = str(error)

    summary = run_log.finish(run, now(), keep, kit=kit, abandoned=abandoned, owing=owing)
    return ClosedRun(summary, entry, remark, missing)
