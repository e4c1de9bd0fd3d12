"""A release for each unit whose version another release states, so that each can be advised on."""

from __future__ import annotations

from triage.domain.judged import JudgedNotes
from triage.domain.notes import Comparison, Release, Requirement, UnitVersion


def with_unit_releases(judged: JudgedNotes) -> JudgedNotes:
    """The notes with a release of its own for every further unit, behind those that were read.

    It brings no change by itself; the release that states it asks for it, so that both move
    together. Notes that have them already stay as they are.
    """
    releases = judged.notes.releases
    if any(release.derived for release in releases):
        return judged
    mains, further = [], []
    for release in releases:
        units = [u for u in release.units if _is_further(release, u)]
        further += [_derived(release, unit) for unit in units]
        asked = {(r.component, r.version) for r in release.requirements}
        needs = tuple(
            _need(release, unit) for unit in units if (unit.component, unit.version) not in asked
        )
        mains.append(
            release.model_copy(update={"requirements": (*release.requirements, *needs)})
            if needs
            else release
        )
    if not further:
        return judged
    notes = judged.notes.model_copy(update={"releases": (*mains, *further)})
    return judged.model_copy(update={"notes": notes})


def _is_further(release: Release, unit: UnitVersion) -> bool:
    return bool(unit.component) and unit.component not in ("other", release.component)


def _derived(release: Release, unit: UnitVersion) -> Release:
    return Release(
        title=f"{unit.name or unit.component} {unit.version}",
        component=unit.component,
        unit=unit.name,
        version=unit.version,
        date=release.date,
        status=release.status,
        items=(),
        notices=tuple(n for n in release.notices if not n.versions),
        units=(unit,),
        place=release.place,
        derived=True,
    )


def _need(release: Release, unit: UnitVersion) -> Requirement:
    return Requirement(
        component=unit.component,
        name=unit.name,
        comparison=Comparison.WITH,
        version=unit.version,
        text=release.title,
        place=release.place,
    )
