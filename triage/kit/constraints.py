"""A document and a kit as a plan sees them: who asks what of whom, and who can go where."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cmp_to_key

from triage.domain.kit import Kit, Scope, Unit, UnitScope
from triage.domain.notes import Comparison, Notes, Requirement, Status
from triage.kit.applicability import groups, sorted_releases
from triage.kit.requirements import EXCLUDING, LASTING, InstalledState, holds
from triage.kit.units import installed, meant
from triage.kit.versions import compare


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
class Demand:
    """A requirement, the group that asks and the group that is asked."""

    by: int
    requirement: Requirement
    of: int


Chosen = dict[int, Target]


@dataclass(frozen=True)
class Constraints:
    """What the search looks at and does not change. Groups are units alike, by number."""

    notes: Notes
    kit: Kit
    groups: tuple[tuple[Unit, ...], ...]
    scopes: tuple[UnitScope | None, ...]
    versions: tuple[str, ...]
    standing: tuple[tuple[Requirement, ...], ...]
    _named: dict[tuple[str, str], tuple[int, ...]] = field(default_factory=dict, compare=False)
    _wanted: dict[int, list[Target]] = field(default_factory=dict, compare=False)
    _asks: dict[Target, tuple[Requirement, ...]] = field(default_factory=dict, compare=False)

    @classmethod
    def of(cls, notes: Notes, scope: Scope) -> Constraints:
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
        key = requirement.component, requirement.name
        if key not in self._named:
            labels = {unit.label for unit in meant(self.kit, *key)}
            self._named[key] = tuple(
                n for n, row in enumerate(self.groups) if row[0].label in labels
            )
        return self._named[key]

    def state(self, group: int, chosen: Chosen) -> InstalledState:
        """The version of a group within a plan."""
        if target := chosen.get(group):
            return InstalledState(target.version, moved=True, newest=target.newest)
        scope = self.scopes[group]
        return InstalledState(
            self.versions[group], newest=bool(scope and scope.known and not scope.offers)
        )

    def requirements(self, target: Target) -> tuple[Requirement, ...]:
        """What a target asks; of the releases before it, only what lasts, and nothing twice."""
        if target not in self._asks:
            found: dict[tuple[str, str, Comparison, str], Requirement] = {}
            for at in reversed(target.covers):
                for r in self.notes.releases[at].requirements:
                    if at == target.release or r.comparison in LASTING:
                        r = _resolved(r, target)
                        found.setdefault((r.component, r.name, r.comparison, r.version), r)
            self._asks[target] = tuple(found.values())
        return self._asks[target]

    def asked_by(self, group: int, target: Target) -> Iterator[Demand]:
        """What a group's target asks of other groups."""
        for requirement in self.requirements(target):
            for other in self.named(requirement):
                if other != group:
                    yield Demand(group, requirement, other)

    def excluded_by(self, group: int, chosen: Chosen) -> Iterator[Demand]:
        """What the release installed on a group asks of the groups that move."""
        for requirement in self.standing[group]:
            for other in self.named(requirement):
                if other in chosen and other != group:
                    yield Demand(group, requirement, other)

    def asked(self, chosen: Chosen) -> Iterator[Demand]:
        """All that is asked between groups because of the moves."""
        for group, target in chosen.items():
            yield from self.asked_by(group, target)
        for group in range(len(self.groups)):
            if group not in chosen:
                yield from self.excluded_by(group, chosen)

    def broken(self, asked: Demand, chosen: Chosen) -> bool:
        """Whether a requirement is known not to hold."""
        return holds(asked.requirement, self.state(asked.of, chosen)).holds is False

    def ahead(self, group: int) -> list[Target]:
        """The releases a group can move on to: the finished before the early, oldest first."""
        scope, releases = self.scopes[group], self.notes.releases
        targets = [
            Target(offer.version, offer.release, offer.covers)
            for offer in (scope.offers if scope else ())
            if releases[offer.release].status is not Status.WITHDRAWN
        ]
        return sorted(targets, key=lambda target: not self._finished(target))

    def options(self, group: int, requirement: Requirement) -> list[Target]:
        """Where a group can move so that the requirement holds, the smallest step first."""
        ahead = self.ahead(group)
        if not requirement.version:
            if requirement.comparison not in (Comparison.FIRST, Comparison.WITH, Comparison.SAME):
                return []
            finished = [target for target in ahead if self._finished(target)]
            last = finished[-1] if finished else Target("", None)
            return [replace(last, newest=True)]
        found = ahead + self._unlisted(group, requirement)
        found = [t for t in found if holds(requirement, InstalledState(t.version)).holds]
        return found + self._back(group, requirement)

    def _finished(self, target: Target) -> bool:
        return (
            target.release is not None
            and self.notes.releases[target.release].status is Status.RELEASED
        )

    def _unlisted(self, group: int, requirement: Requirement) -> list[Target]:
        """Versions ahead that are asked for and that the document doesn't hold, lowest first."""
        if requirement.comparison is Comparison.SAME:
            ahead = compare(self.versions[group], requirement.version) == -1
            return [Target(requirement.version, None)] if ahead else []
        if group not in self._wanted:
            scope = self.scopes[group]
            listed = [offer.version for offer in scope.offers] if scope else []
            wanted = {
                requirement.version
                for release in self.notes.releases
                for requirement in release.requirements
                if requirement.comparison in LASTING | {Comparison.EXACTLY}
                and group in self.named(requirement)
            }
            rising = sorted(sorted(wanted), key=cmp_to_key(_by_version))
            self._wanted[group] = [
                Target(version, None)
                for version in rising
                if compare(self.versions[group], version) == -1
                and not any(compare(other, version) == 0 for other in listed)
            ]
        return self._wanted[group]

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
            and holds(requirement, InstalledState(release.version)).holds
        ]
        return [
            Target(releases[at].version, at, (at,), back=True)
            for at in reversed(sorted_releases(self.notes, own))
        ]


def _resolved(requirement: Requirement, target: Target) -> Requirement:
    """'The same version' with the version meant: that of the release that asks."""
    if requirement.comparison is Comparison.SAME and not requirement.version and target.version:
        return requirement.model_copy(update={"version": target.version})
    return requirement


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
