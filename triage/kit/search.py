"""Which units have to move with one that moves, so that all requirements hold.

Every unit named by a requirement that does not hold is moved to the earliest release that makes it
hold, and what that release requires is looked at in turn. Solutions that leave nothing unmet are
sought first, then those that leave one requirement unmet, and so on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cmp_to_key

from triage.domain.kit import Kit, Scope, Unit, UnitScope
from triage.domain.notes import Comparison, Notes, Requirement, Status
from triage.kit.requirements import EXCLUDING, LASTING, State, holds
from triage.kit.scope import groups, sorted_releases
from triage.kit.units import installed, meant
from triage.kit.versions import compare

SEARCH_STEPS = 2000  # a usual kit takes tens; beyond it the first choices stand


@dataclass(frozen=True)
class Target:
    """A version a group of units may move to.

    `release` is None when the document does not hold it; `newest` when it is whatever is newest.
    """

    version: str
    release: int | None
    covers: tuple[int, ...] = ()
    back: bool = False
    newest: bool = False


@dataclass(frozen=True)
class Asked:
    """A requirement, the group that asks and the group that is asked."""

    by: int
    requirement: Requirement
    of: int


Chosen = dict[int, Target]


@dataclass(frozen=True)
class Case:
    """What the search looks at and does not change. Groups are units alike, by number."""

    notes: Notes
    kit: Kit
    groups: tuple[tuple[Unit, ...], ...]
    scopes: tuple[UnitScope | None, ...]
    versions: tuple[str, ...]
    standing: tuple[tuple[Requirement, ...], ...]
    _named: dict[Requirement, tuple[int, ...]] = field(default_factory=dict, compare=False)

    @classmethod
    def of(cls, notes: Notes, scope: Scope) -> Case:
        """Gather the case of a document and a kit."""
        rows = tuple(groups(scope.kit))
        by_label = {label: unit for unit in scope.units for label in unit.labels}
        versions = tuple(installed(scope.kit, row[0])[0] for row in rows)
        return cls(
            notes=notes,
            kit=scope.kit,
            groups=rows,
            scopes=tuple(by_label.get(row[0].label) for row in rows),
            versions=versions,
            standing=tuple(
                _standing(notes, scope.kit, row[0], version)
                for row, version in zip(rows, versions, strict=True)
            ),
        )

    def group(self, label: str) -> int:
        """The group a unit is in."""
        return next(n for n, row in enumerate(self.groups) if any(u.label == label for u in row))

    def named(self, requirement: Requirement) -> tuple[int, ...]:
        """The groups a requirement is about."""
        if requirement not in self._named:
            units = meant(self.kit, requirement.component, requirement.name)
            labels = {unit.label for unit in units}
            self._named[requirement] = tuple(
                n for n, row in enumerate(self.groups) if row[0].label in labels
            )
        return self._named[requirement]

    def state(self, group: int, chosen: Chosen) -> State:
        """The version of a group within a plan."""
        if target := chosen.get(group):
            return State(target.version, moved=True, newest=target.newest)
        scope = self.scopes[group]
        return State(self.versions[group], newest=bool(scope and scope.known and not scope.offers))

    def requirements(self, target: Target) -> Iterator[Requirement]:
        """What a target asks; of the releases before it, only what lasts."""
        for at in target.covers:
            for requirement in self.notes.releases[at].requirements:
                if at == target.release or requirement.comparison in LASTING:
                    yield requirement

    def asked(self, chosen: Chosen) -> Iterator[Asked]:
        """All that is asked between units because of the moves."""
        for group, target in chosen.items():
            for requirement in self.requirements(target):
                yield from (
                    Asked(group, requirement, other)
                    for other in self.named(requirement)
                    if other != group
                )
        for group, standing in enumerate(self.standing):
            if group not in chosen:
                for requirement in standing:
                    yield from (
                        Asked(group, requirement, other)
                        for other in self.named(requirement)
                        if other in chosen
                    )

    def options(self, group: int, requirement: Requirement) -> list[Target]:
        """Where a group can move so that the requirement holds, the smallest step first."""
        scope = self.scopes[group]
        offers = sorted(
            scope.offers if scope else (),
            key=lambda offer: self.notes.releases[offer.release].status is not Status.RELEASED,
        )
        ahead = [
            Target(offer.version, offer.release, offer.covers)
            for offer in offers
            if self.notes.releases[offer.release].status is not Status.WITHDRAWN
        ]
        if not requirement.version:
            if requirement.comparison not in (Comparison.FIRST, Comparison.WITH):
                return []
            released = [
                t
                for t in ahead
                if t.release is not None
                and self.notes.releases[t.release].status is Status.RELEASED
            ]
            if released:
                last = released[-1]
                return [Target(last.version, last.release, last.covers, newest=True)]
            return [Target("", None, newest=True)]
        found = [t for t in ahead if holds(requirement, State(t.version)).holds]
        found += [t for t in self._unlisted(group) if holds(requirement, State(t.version)).holds]
        return found + self._back(group, requirement)

    def _unlisted(self, group: int) -> list[Target]:
        """Versions ahead that the document asks for but does not hold, the lowest first."""
        scope = self.scopes[group]
        listed = [offer.version for offer in scope.offers] if scope else []
        wanted = {
            requirement.version
            for release in self.notes.releases
            for requirement in release.requirements
            if requirement.comparison in LASTING | {Comparison.EXACTLY}
            and group in self.named(requirement)
            and compare(self.versions[group], requirement.version) == -1
            and not any(compare(version, requirement.version) == 0 for version in listed)
        }
        rising = sorted(sorted(wanted), key=cmp_to_key(_by_version))
        return [Target(version, None) for version in rising]

    def _back(self, group: int, requirement: Requirement) -> list[Target]:
        """Earlier releases of the document that a group may return to, the newest first."""
        unit = self.groups[group][0]
        if not unit.reversible or requirement.comparison not in EXCLUDING:
            return []
        releases = self.notes.releases
        own = [
            at
            for at, release in enumerate(releases)
            if unit in meant(self.kit, release.component, release.unit)
            and release.status is Status.RELEASED
            and compare(release.version, self.versions[group]) == -1
            and holds(requirement, State(release.version)).holds
        ]
        return [
            Target(releases[at].version, at, (at,), back=True)
            for at in reversed(sorted_releases(self.notes, own))
        ]


def solve(case: Case, chosen: Chosen) -> tuple[Chosen, tuple[Asked, ...]]:
    """The moves that meet what the given moves ask, and what they leave unmet."""
    steps = 0

    def search(
        chosen: Chosen, unmet: tuple[Asked, ...], spare: int
    ) -> tuple[Chosen, tuple[Asked, ...]] | None:
        nonlocal steps
        steps += 1
        broken = _broken(case, chosen, unmet)
        if broken is None or steps > SEARCH_STEPS:
            return (chosen, unmet) if broken is None else None
        if broken.of not in chosen:
            for option in case.options(broken.of, broken.requirement):
                if found := search({**chosen, broken.of: option}, unmet, spare):
                    return found
        return search(chosen, (*unmet, broken), spare - 1) if spare else None

    most = len(case.groups) * sum(len(r.requirements) for r in case.notes.releases)
    for spare in range(most + 1):
        if found := search(chosen, (), spare):
            return found
        if steps > SEARCH_STEPS:
            break
    return _first_choices(case, chosen)


def _first_choices(case: Case, chosen: Chosen) -> tuple[Chosen, tuple[Asked, ...]]:
    """A plan without looking back; it may leave more unmet than need be."""
    unmet: tuple[Asked, ...] = ()
    while broken := _broken(case, chosen, unmet):
        options = case.options(broken.of, broken.requirement)
        if options and broken.of not in chosen:
            chosen = {**chosen, broken.of: options[0]}
        else:
            unmet = (*unmet, broken)
    return chosen, unmet


def _broken(case: Case, chosen: Chosen, unmet: tuple[Asked, ...]) -> Asked | None:
    for asked in case.asked(chosen):
        holding = holds(asked.requirement, case.state(asked.of, chosen))
        if holding.holds is False and asked not in unmet:
            return asked
    return None


def _by_version(a: str, b: str) -> int:
    return compare(a, b) or 0


def _standing(notes: Notes, kit: Kit, unit: Unit, version: str) -> tuple[Requirement, ...]:
    """What the installed release excludes, where the document holds it."""
    return tuple(
        requirement
        for release in notes.releases
        if compare(release.version, version) == 0
        and unit in meant(kit, release.component, release.unit)
        for requirement in release.requirements
        if requirement.comparison in EXCLUDING
    )
