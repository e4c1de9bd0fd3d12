"""What the recorded reports say of the releases of a document."""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.advice import Evidence
from triage.domain.notes import Notes, Release
from triage.domain.outcomes import Outcome
from triage.domain.reports import FieldReport, ReportGroup, Seen
from triage.kit.units import alike, proper
from triage.kit.versions import compare


def evidence_for(
    notes: Notes, groups: Sequence[ReportGroup]
) -> tuple[tuple[Evidence, ...], tuple[ReportGroup, ...]]:
    """Evidence for the releases, each group counted once, and the groups about no release here."""
    found, apart = [], []
    for group in groups:
        report = group.counted
        at = next((n for n, r in enumerate(notes.releases) if is_about(report, r)), None)
        if at is None:
            apart.append(group)
            continue
        found.append(
            Evidence(
                release=at,
                day=max(one.day for one in group.reports),
                users=report.users,
                clean=report.seen is Seen.CLEAN,
                function=group.reports[0].function,  # so that a report added narrows nothing
                words=group.reports[0].words,
                reports=len(group.reports),
                flights=report.flights,
                outcome=_gravest(group),
                explained=group.reports[-1].explained,
            )
        )
    return tuple(found), tuple(apart)


def _gravest(group: ReportGroup) -> Outcome | None:
    """The gravest outcome that any of the reports states."""
    stated = [one.outcome for one in group.reports if one.outcome is not None]
    return min(stated, key=list(Outcome).index, default=None)


def is_about(report: FieldReport, release: Release) -> bool:
    """Whether a report is about a release; what either leaves unsaid does not part them."""
    if compare(report.version, release.version) != 0:
        return False
    if report.component and release.component and report.component != release.component:
        return False
    return not (report.unit and proper(release.unit)) or alike(report.unit, release.unit)
