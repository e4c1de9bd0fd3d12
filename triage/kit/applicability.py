"""Which releases of a document lie ahead of which unit.

All releases after the installed one up to an offer count together, and each in between is an offer
of its own. A release that cannot be placed is reported with the reason, never dropped.
"""

from __future__ import annotations

import datetime as dt
from functools import cmp_to_key
from itertools import pairwise

from triage.domain.kit import Kit, Offer, Scope, Unit, UnitScope, Unplaced
from triage.domain.notes import Notes, Release, Status
from triage.errors import ConfigError
from triage.kit.units import (
    alike,
    component_name,
    installed,
    meant,
    mentioned,
    of_component,
    proper,
    sibling,
    touched,
)
from triage.kit.versions import compare, order


def candidates(notes: Notes, kit: Kit, label: str = "") -> Scope:
    """What the document offers each unit of the kit, in the kit's order.

    `label` states the unit a document is for when its releases do not say so; it then is the only
    unit asked about. Error: ConfigError when the kit holds no such unit.
    """
    if label and all(unit.label != label for unit in kit.units):
        known = ", ".join(unit.label for unit in kit.units)
        raise ConfigError(f"no unit '{label}' in the kit", where="kit", mend=f"it holds {known}")
    remarks: list[str] = []
    if kit.assumed and not label:
        kit = _assumed(notes, kit)
        names = ", ".join(_called(unit) for unit in kit.units)
        remarks.append(f"no kit is stated: {names} of unknown version assumed")
    owners = _owners_of_all(notes, kit, label)
    units = tuple(
        _offers(notes, kit, group, [at for at, own in enumerate(owners) if group[0] in own])
        for group in groups(kit, label)
        if any(group[0] in own for own in owners)
    )
    elsewhere = tuple(
        Unplaced(release=at, reason=_not_owned(notes.releases[at]))
        for at, own in enumerate(owners)
        if not own
    )
    if all(_silent(release) for release in notes.releases) and any(owners):
        names = ", ".join(unit.unit.label for unit in units)
        remarks.append(f"the document does not say what it is for; taken to be for {names}")
    return Scope(units=units, elsewhere=elsewhere, remarks=tuple(remarks), kit=kit)


def concerned(scope: Scope, label: str, components: tuple[str, ...]) -> tuple[str, ...]:
    """Labels that an item concerns, by the components found in it; () when none is owned.

    An item that names no component concerns the unit its release is for.
    """
    found = touched(scope.kit, components)
    return (label,) if found is None else found


def sorted_releases(notes: Notes, places: list[int]) -> list[int]:
    """Indexes of releases of one unit, oldest first: by version, else by date, else as listed."""
    releases = notes.releases
    falls = sum(compare(releases[a].version, releases[b].version) or 0 for a, b in pairwise(places))
    newest_first = falls >= 0  # as release notes mostly are

    def before(a: int, b: int) -> int:
        if sign := compare(releases[a].version, releases[b].version):
            return sign
        days = _day(releases[a]), _day(releases[b])
        if days[0] and days[1] and days[0] != days[1]:
            return -1 if days[0] < days[1] else 1
        return b - a if newest_first else a - b

    return sorted(places, key=cmp_to_key(before))


def _offers(notes: Notes, kit: Kit, group: tuple[Unit, ...], places: list[int]) -> UnitScope:
    unit = group[0]
    version, why = installed(kit, unit)
    if confused := _several_things(notes, unit, places):
        return UnitScope(
            unit=unit,
            labels=tuple(unit.label for unit in group),
            installed=version,
            known=not why,
            offers=(),
            unplaced=tuple(Unplaced(release=at, reason=confused) for at in places),
            remarks=(confused,),
        )
    remarks = [f"{why}: every release counts as new"] if why else []
    ahead, unplaced = [], []
    ranked = sorted_releases(notes, places)
    signs = {at: order(notes.releases[at].version, version) for at in ranked}
    here = max((n for n, at in enumerate(ranked) if signs[at].sign == 0), default=None)
    known = not why and any(found.sign is not None for found in signs.values())
    if not why and not known:
        remarks.append(
            f"no release can be compared with the installed version {version}: "
            "every release counts as new"
        )
    for n, at in enumerate(ranked):
        release, sign = notes.releases[at], signs[at].sign
        if release.status is Status.UNRELEASED:
            unplaced.append(Unplaced(release=at, reason="not released yet"))
        elif not known or sign == 1:
            ahead.append(at)
        elif sign is None and here is not None:
            if n > here:
                ahead.append(at)
                remarks.append(
                    f"{release.version or release.title} is placed by where it stands in the "
                    f"document: {signs[at].reason}"
                )
        elif sign is None:
            unplaced.append(Unplaced(release=at, reason=signs[at].reason))
    return UnitScope(
        unit=unit,
        labels=tuple(unit.label for unit in group),
        installed=version,
        known=known,
        offers=tuple(
            Offer(release=at, version=notes.releases[at].version, covers=tuple(ahead[: n + 1]))
            for n, at in enumerate(ahead)
        ),
        unplaced=tuple(unplaced),
        remarks=tuple(remarks),
    )


def _several_things(notes: Notes, unit: Unit, places: list[int]) -> str:
    """Why releases cannot be told apart when the operator stated no name for the unit."""
    names: list[str] = []
    for at in places:
        name = notes.releases[at].unit
        if name and not unit.name and not any(alike(name, other) for other in names):
            names.append(name)
    if len(names) < 2:
        return ""
    return (
        f"the document speaks of {', '.join(names)}, and the kit does not say which '{unit.label}' "
        f"is; state it with: triage kit set '{unit.label}' --name"
    )


def _owners_of_all(notes: Notes, kit: Kit, label: str) -> list[tuple[Unit, ...]]:
    """The units each release is for; a silent one is for what all others of the document are."""
    stated = {r.component for r in notes.releases if not (r.derived or r.component_assumed)}
    single = len(stated) <= 1
    titles = " / ".join(notes.titles) if single else ""
    owners = [_owners(release, kit, label, titles) for release in notes.releases]
    said = {
        own for release, own in zip(notes.releases, owners, strict=True) if not _silent(release)
    }
    if len(said) != 1 or label:
        return owners
    only = said.pop()
    return [
        only if _silent(release) else own
        for release, own in zip(notes.releases, owners, strict=True)
    ]


def _owners(release: Release, kit: Kit, label: str, titles: str) -> tuple[Unit, ...]:
    """The units a release is for: those it names, else those of its component.

    `titles` are the document's lines that may name its product, '' where it has several.
    """
    same = [u.name for u in release.units if u.component == release.component]
    own = " / ".join((release.title, release.unit, *same))
    strangers = [u for u in kit.units if sibling(u.name, f"{own} / {titles}")]
    if strangers:
        rest = tuple(unit for unit in kit.units if unit not in strangers)
        kit = kit.model_copy(update={"units": rest})
        if label in {unit.label for unit in strangers}:
            return ()
    named = _named(kit, own, release) or _named(kit, titles, release)
    if label:
        unit = next(unit for unit in kit.units if unit.label == label)
        if unit in named or (_silent(release) and not named):
            return (unit,)
        return (unit,) if not named and unit in meant(kit, *_said(release)) else ()
    if named:
        return named
    if not _silent(release):
        return meant(kit, *_said(release))
    guessed = of_component(kit, release.component) if release.component else ()
    aircraft = tuple(unit for unit in kit.units if unit.component == "aircraft")
    return guessed or aircraft or (kit.units if len(kit.units) == 1 else ())


def _named(kit: Kit, text: str, release: Release) -> tuple[Unit, ...]:
    """The units whose maker's name stands in a text, of the release's component where it says."""
    found = tuple(unit for unit in kit.units if mentioned(unit.name, text))
    if release.component_assumed or release.component in ("", "other"):
        return found
    return tuple(unit for unit in found if unit in of_component(kit, release.component))


def _silent(release: Release) -> bool:
    return (release.component in ("", "other") or release.component_assumed) and not release.unit


def _said(release: Release) -> tuple[str, str]:
    return ("" if release.component == "other" else release.component), release.unit


def groups(kit: Kit, label: str = "") -> list[tuple[Unit, ...]]:
    """Units alike in everything but their label, such as a row of batteries."""
    found: dict[Unit, list[Unit]] = {}
    for unit in kit.units:
        if label in ("", unit.label):
            found.setdefault(unit.model_copy(update={"label": ""}), []).append(unit)
    return [tuple(units) for units in found.values()]


def _assumed(notes: Notes, kit: Kit) -> Kit:
    """One unit of unknown version for each thing the document is for."""
    things = dict.fromkeys(
        ("aircraft" if release.component in ("", "other") else release.component, release.unit)
        for release in notes.releases
    )
    units: dict[str, Unit] = {}
    for kind, name in sorted(things or {("aircraft", ""): None}, key=lambda t: not proper(t[1])):
        same = [u for u in units.values() if u.component == kind]
        if not any(alike(u.name, name) for u in same) and (proper(name) or not same):
            units[name or kind] = Unit(label=name or kind, component=kind, name=name)
    return kit.model_copy(update={"units": tuple(units.values())})


def _called(unit: Unit) -> str:
    if unit.name:
        return unit.name
    name = component_name(unit.component)
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"


def _not_owned(release: Release) -> str:
    thing = release.unit or component_name(release.component)
    return f"for {thing}, which the kit does not list" if thing else "does not say what it is for"


def _day(release: Release) -> dt.date | None:
    return release.date.day if release.date else None
