"""From the advice to what a run is started with.

Errors: StoreError when there is nothing to move to.
"""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.advice import Verdict
from triage.domain.answer import UnitAdvice
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit
from triage.domain.notes import Status
from triage.domain.policy import Policy
from triage.domain.update_run import RunPlan
from triage.errors import StoreError
from triage.kit import compare
from triage.settings.announced_changes import foretold
from triage.update.run_steps import RunBasis, steps_for


def run_plan(
    judged: JudgedNotes, kit: Kit, policy: Policy, units: Sequence[UnitAdvice], unit: str = ""
) -> RunPlan:
    """The plan of a run for the unit named, else the first that has a release to move to."""
    chosen = _chosen(units, unit)
    advice, plan = chosen.assessment, chosen.plan
    assert plan is not None
    release = judged.notes.releases[plan.release]
    label = plan.unit
    name = chosen.scope.unit.name or label
    title = " ".join(filter(None, (name, release.version or release.title)))
    offers = [offer for offer in chosen.scope.offers if offer.release == plan.release]
    covers = offers[0].covers if offers else (plan.release,)
    return RunPlan(
        unit=label,
        title=title,
        version=release.version,
        policy=policy.name,
        min_charge=policy.min_charge,
        verdict=advice.verdict,
        until=advice.until,
        headline=advice.headline,
        steps=steps_for(RunBasis(title, advice, plan, kit, policy)),
        foretold=foretold(judged, covers),
        digests=advice.digests,
    )


def against(judged: JudgedNotes, plan: RunPlan, units: Sequence[UnitAdvice]) -> str:
    """Why a run should not begin now, '' when nothing says so."""
    of_unit = next((u.plan for u in units if u.plan and u.plan.unit == plan.unit), None)
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
