"""What was read of each release, as plain records beside the whole judged notes."""

from __future__ import annotations

from collections.abc import Iterator

from triage.domain.base import Frozen
from triage.domain.judged import JudgedItem, JudgedNotes
from triage.domain.kinds import Kind
from triage.domain.notes import Instruction, KnownIssue, Release, Requirement, Status
from triage.reference.coarse import coarse

_PRE = (Status.ALPHA, Status.BETA, Status.CANDIDATE, Status.UNRELEASED)


class UnitRecord(Frozen):
    """A unit whose version the release states."""

    component: str
    name: str
    version: str


class ItemRecord(Frozen):
    """A change; `kinds` are those it is held to be of."""

    text: str
    line: int
    kinds: tuple[Kind, ...]
    effects: tuple[dict[str, str | bool], ...]
    outcome: str


class InstructionRecord(Frozen):
    """What the maker tells the operator to do; `about` is its sort."""

    text: str
    line: int
    about: str


class RequirementRecord(Frozen):
    """What the release asks of another unit."""

    component: str
    comparison: str
    version: str
    line: int


class IssueRecord(Frozen):
    """A defect that the release still has."""

    text: str
    line: int


class ReleaseRecord(Frozen):
    """One release as read; `date` is ISO, '' where not stated."""

    version: str
    date: str
    withdrawn: bool
    prerelease: bool
    units: tuple[UnitRecord, ...]
    items: tuple[ItemRecord, ...]
    instructions: tuple[InstructionRecord, ...]
    requirements: tuple[RequirementRecord, ...]
    known_issues: tuple[IssueRecord, ...]
    notices: tuple[InstructionRecord, ...]


def release_records(judged: JudgedNotes) -> tuple[ReleaseRecord, ...]:
    """A record for each release, in the notes' order."""
    return tuple(
        _release(release, [item for item in judged.items if item.release == index])
        for index, release in enumerate(judged.notes.releases)
        if not release.derived
    )


def _release(release: Release, items: list[JudgedItem]) -> ReleaseRecord:
    day = release.date.day if release.date else None
    return ReleaseRecord(
        version=release.version,
        date=day.isoformat() if day else "",
        withdrawn=release.status is Status.WITHDRAWN
        or any(n.kind.value == "withdrawn" and not n.versions for n in release.notices),
        prerelease=release.status in _PRE,
        units=tuple(_units(release)),
        items=tuple(_item(item) for item in items),
        instructions=tuple(_instruction(i) for i in release.instructions),
        requirements=tuple(dict.fromkeys(_requirement(r) for r in release.requirements)),
        known_issues=tuple(_issue(issue) for issue in release.known_issues),
        notices=tuple(
            InstructionRecord(text=n.text, line=n.place.line, about=n.kind.value)
            for n in release.notices
        ),
    )


def _units(release: Release) -> Iterator[UnitRecord]:
    seen = set()
    for unit in release.units:
        record = UnitRecord(component=coarse(unit.component), name=unit.name, version=unit.version)
        if (record.component, record.version) not in seen:
            seen.add((record.component, record.version))
            yield record


def _item(item: JudgedItem) -> ItemRecord:
    return ItemRecord(
        text=item.item.text,
        line=item.item.places[0].line,
        kinds=item.kinds,
        effects=tuple(
            {
                "setting": effect.setting,
                "change": effect.change.value,
                "from": effect.before,
                "to": effect.after,
                "kept": effect.kept,
            }
            for effect in item.item.effects
        ),
        outcome=item.outcome.first.value,
    )


def _instruction(instruction: Instruction) -> InstructionRecord:
    return InstructionRecord(
        text=instruction.text, line=instruction.place.line, about=instruction.kind.value
    )


def _requirement(need: Requirement) -> RequirementRecord:
    return RequirementRecord(
        component=coarse(need.component),
        comparison=need.comparison.value,
        version=need.version,
        line=need.place.line,
    )


def _issue(issue: KnownIssue) -> IssueRecord:
    return IssueRecord(text=issue.text, line=issue.place.line)
