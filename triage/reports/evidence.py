"""What the recorded looks say of the releases of a document."""

from __future__ import annotations

from collections.abc import Sequence

from triage.domain.advice import Evidence
from triage.domain.notes import Notes, Release
from triage.domain.outcomes import Outcome
from triage.domain.reports import Look, LookGroup, Seen
from triage.kit.units import alike
from triage.kit.versions import compare


def evidence_for(
    notes: Notes, groups: Sequence[LookGroup]
) -> tuple[tuple[Evidence, ...], tuple[LookGroup, ...]]:
    """Evidence for the releases, each group counted once, and the groups about no release here."""
    found, apart = [], []
    for group in groups:
        look = group.counted
        at = next((n for n, r in enumerate(notes.releases) if is_about(look, r)), None)
        if at is None:
            apart.append(group)
            continue
        found.append(
            Evidence(
                release=at,
                day=max(one.day for one in group.looks),
                users=look.users,
                clean=look.seen is Seen.CLEAN,
                function=group.looks[0].function,  # so that a look added narrows nothing
                words=group.looks[0].words,
                looks=len(group.looks),
                flights=look.flights,
                outcome=_gravest(group),
                explained=group.looks[-1].explained,
            )
        )
    return tuple(found), tuple(apart)


def _gravest(group: LookGroup) -> Outcome | None:
    """The gravest outcome that any of the reports states."""
    stated = [o.outcome for o in group.looks if o.outcome is not None]
    return min(stated, key=list(Outcome).index, default=None)


def is_about(look: Look, release: Release) -> bool:
    """Whether a look is about a release; what either leaves unsaid does not part them."""
    if compare(look.version, release.version) != 0:
        return False
    if look.component and release.component and look.component != release.component:
        return False
    return not (look.unit and release.unit) or alike(look.unit, release.unit)
