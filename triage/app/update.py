"""Use case: an update run begun from an advice, and closed into the kit and the journal."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from triage.app.environment import now, pilot
from triage.domain.answer import Advice, Inputs
from triage.domain.update_run import Run, RunPlan, Summary
from triage.errors import StoreError, TriageError
from triage.update import run_log
from triage.update.start_run import against, run_plan


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


def ready(advice: Advice, inputs: Inputs, unit: str = "") -> Ready:
    """The plan for the unit named, else the first with a release to move to."""
    if inputs.kit.assumed:
        raise StoreError("there is no kit yet", mend="state your units first: triage kit add")
    plan = run_plan(advice.judged, inputs.kit, inputs.policy, advice.units, unit)
    return Ready(plan, against(advice.judged, plan, advice.units))


def begin_run(found: Ready) -> Run:
    """Begin the run now."""
    return run_log.begin(found.plan, now(), against=bool(found.against))


def close_run(
    run: str,
    *,
    abandoned: str | None = None,
    kit: Path | None = None,
    by: str | None = None,
    journal: str | None = None,
) -> ClosedRun:
    """Close a run, or write the journal entry that one lacks.

    A journal that cannot be written holds no run open.
    """
    from triage.journal.record_update import keep_update
    from triage.journal.store import open_journal

    entry: int | None = None
    remark = missing = ""

    def keep(summary: Summary) -> None:
        nonlocal entry, remark, missing
        try:
            store = open_journal(journal, create=True)
            entry = keep_update(store, summary, pilot(by, shared=store.shared)).seq
            remark = store.remark
        except TriageError as error:
            missing = str(error)

    summary = run_log.finish(run, now(), keep, kit=kit, abandoned=abandoned)
    return ClosedRun(summary, entry, remark, missing)
