"""From the advice to what a run is started with: the plan of the whole kit, or of one unit.

Errors: StoreError when there is nothing to move to.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from triage.domain.advice import Verdict
from triage.domain.answer import UnitAdvice
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit, KitPlan, Move, Unmet
from triage.domain.notes import Status
from triage.domain.policy import Policy
from triage.domain.setting_changes import SettingRow
from triage.domain.snapshots import Snapshot
from triage.domain.update_run import Detail, RunPlan
from triage.errors import StoreError
from triage.kit import compare
from triage.settings.announced_changes import foretold
from triage.settings.setting_changes import setting_changes
from triage.update.flight_tests import changed_by, flights_needed
from triage.update.run_steps import steps_for
from triage.update.step_writer import RunBasis, sentence
from triage.update.update_tables import steps as step_words


class RunRequest(NamedTuple):
    """What the operator asks of the run.

    `unit` alone is moved, with what it needs; '' for all that are advised to. `first` moves and
    flies before others like it. `recorded` are the last snapshots by the unit's label.
    """

    unit: str = ""
    first: str = ""
    recorded: Mapping[str, Snapshot] = {}


class _Moves(NamedTuple):
    chosen: UnitAdvice
    moves: tuple[Move, ...]
    unmet: tuple[Unmet, ...]


def run_plan(
    judged: JudgedNotes,
    kit: Kit,
    policy: Policy,
    units: Sequence[UnitAdvice],
    wanted: RunRequest,
    whole: KitPlan | None = None,
) -> RunPlan:
    """The plan of a run: of the unit named, else of `whole`, else of the first that can move."""
    found = _moves(units, wanted, whole)
    advice = found.chosen.assessment
    labels = tuple(dict.fromkeys(move.unit for move in found.moves))
    if wanted.first and wanted.first not in {unit.label for unit in kit.units}:
        known = ", ".join(unit.label for unit in kit.units)
        raise StoreError(f"there is no unit '{wanted.first}' in your kit", mend=f"it holds {known}")
    moving = [u for u in units if set(u.scope.labels) & set(labels)]
    covers = {u.scope.unit.label: _covers(u) for u in moving}
    every = sorted({release for found in covers.values() for release in found})
    rows = _rows(judged, kit, moving, labels, wanted.recorded)
    title = _title(judged, found.chosen)
    basis = RunBasis(
        title=title,
        moves=found.moves,
        kit=kit,
        policy=policy,
        stops=_stops(found.unmet),
        jobs=_jobs(kit, policy, advice.day),
        told={u.scope.unit.label: u.assessment.instructions for u in moving},
        rows=rows,
        tests=flights_needed(*changed_by(judged, every, rows)),
        first=wanted.first,
    )
    plan = found.chosen.plan
    assert plan is not None
    return RunPlan(
        unit=wanted.unit or plan.unit,
        title=title,
        version=judged.notes.releases[plan.release].version,
        policy=policy.name,
        min_charge=policy.min_charge,
        verdict=advice.verdict,
        until=advice.until,
        headline=advice.headline,
        steps=steps_for(basis),
        foretold=foretold(judged, every),
        changes=rows,
        units=labels,
        digests=advice.digests,
    )


def _moves(units: Sequence[UnitAdvice], wanted: RunRequest, whole: KitPlan | None) -> _Moves:
    """Which units move, in the plan's order."""
    if not wanted.unit and whole is not None and whole.moves:
        moving = {move.unit for move in whole.moves}
        chosen = next(u for u in units if u.plan and set(u.scope.labels) & moving)
        return _Moves(chosen, whole.moves, (*whole.left_behind, *whole.unchecked))
    chosen = _chosen(units, wanted.unit)
    plan = chosen.plan
    assert plan is not None
    unit = wanted.unit.casefold()
    others = {label for label in chosen.scope.labels if unit and label.casefold() != unit}
    moves = tuple(move for move in plan.moves if move.unit not in others)
    return _Moves(chosen, moves, (*plan.blocks, *plan.left_behind, *plan.unchecked))


def _covers(unit: UnitAdvice) -> tuple[int, ...]:
    """All releases that come with the unit's move, the oldest first."""
    if unit.plan is None:
        return ()
    release = unit.plan.release
    return next((o.covers for o in unit.scope.offers if o.release == release), (release,))


def _rows(
    judged: JudgedNotes,
    kit: Kit,
    moving: Sequence[UnitAdvice],
    labels: Sequence[str],
    recorded: Mapping[str, Snapshot],
) -> tuple[SettingRow, ...]:
    components = {unit.label: unit.component for unit in kit.units}
    return tuple(
        row
        for unit in moving
        for label in unit.scope.labels
        if label in labels and components.get(label) in step_words().settings_of
        for row in setting_changes(judged, _covers(unit), recorded.get(label), label)
    )


def _title(judged: JudgedNotes, chosen: UnitAdvice) -> str:
    assert chosen.plan is not None
    release = judged.notes.releases[chosen.plan.release]
    name = chosen.scope.unit.name or chosen.scope.unit.label
    return " ".join(filter(None, (name, release.version or release.title)))


def _stops(unmet: Sequence[Unmet]) -> tuple[Detail, ...]:
    return tuple(
        Detail(text=sentence(one.reason), source=f"notes, line {one.requirement.place.line}")
        for one in unmet
    )


def _jobs(kit: Kit, policy: Policy, day: dt.date) -> tuple[Detail, ...]:
    within = dt.timedelta(days=policy.job_days)
    soon = [job for job in kit.jobs if day <= job.day <= day + within]
    return tuple(
        Detail(text=f"Promised: {f'{job.day.isoformat()} {job.what}'.strip()}.", source="kit")
        for job in soon
    )


def against(judged: JudgedNotes, plan: RunPlan, units: Sequence[UnitAdvice]) -> str:
    """Why a run should not begin now, '' when nothing says so."""
    of_unit = next((u.plan for u in units if u.plan and plan.unit in u.scope.labels), None)
    withdrawn = [r.version for r in judged.notes.releases if r.status is Status.WITHDRAWN]
    for move in of_unit.moves if of_unit else ():
        own = move.release is not None  # a release of this document, so its versions are meant
        if own and any(compare(move.version, version) == 0 for version in withdrawn):
            return f"the way leads {move.unit} over {move.version}, which the maker withdrew"
    if plan.verdict is Verdict.WAIT:
        until = f" until {plan.until.isoformat()}" if plan.until else ""
        return f"the advice is to wait and watch{until}: {plan.headline}"
    if of_unit and not of_unit.possible:
        reason = (*of_unit.blocks, *of_unit.left_behind)[0].reason
        return f"something stands in the way: {reason}"
    return ""


def _chosen(units: Sequence[UnitAdvice], unit: str) -> UnitAdvice:
    ready = [u for u in units if u.plan is not None and u.assessment.subject is not None]
    if not unit:
        if ready:
            return ready[0]
        raise StoreError("these notes hold no release ahead of your kit", mend="see: triage assess")
    named = [u for u in units if unit.casefold() in (label.casefold() for label in u.scope.labels)]
    found = next((u for u in named if u in ready), None)
    if found is None:
        labels = ", ".join(label for u in ready for label in u.scope.labels)
        why = "holds no release ahead of it" if named else "does not concern it"
        raise StoreError(
            f"'{unit}': the document {why}", mend=f"it has releases for {labels or 'no unit'}"
        )
    return found
