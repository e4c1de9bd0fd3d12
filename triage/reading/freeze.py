"""Drafts of releases to frozen ones: a statement becomes what its role says, with its facts."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from triage.classify.heads import Heads
from triage.domain.finds import Find
from triage.domain.notes import (
    Effect,
    Instruction,
    Item,
    KnownIssue,
    Notice,
    Place,
    Release,
    Requirement,
    Role,
    StatedDate,
    Status,
    UnitVersion,
)
from triage.reading import facts as facts_of
from triage.reading.affected import affected_in, points_back
from triage.reading.assembly import Draft, Named
from triage.reading.candidates import Surround
from triage.reading.dates import Order, settle
from triage.reading.facts import Facts
from triage.reading.linear import dense_chances, summary
from triage.reading.statements import Statement, place_of

if TYPE_CHECKING:
    from triage.reading.tools import Read, Tools

_GUESSED_FROM = 0.5
_MOST_READ = 16  # changes from which the unit is guessed
_WORD = re.compile(r"[^\W_]+(?:[._][^\W_]+)*")


class Numbers:
    """The running numbers of items and known issues, by which the operator names them."""

    def __init__(self) -> None:
        self.items = 0
        self.issues = 0
        self.affected: tuple[str, ...] = ()  # of the statement before, which 'these versions' means

    def item(self) -> str:
        """The next item's."""
        self.items += 1
        return str(self.items)

    def issue(self) -> str:
        """The next known issue's."""
        self.issues += 1
        return f"k{self.issues}"


class Known(NamedTuple):
    """What is known of the whole document while its releases are made."""

    names: Mapping[str, Named]
    order: Order
    starts: Sequence[int]
    text: str
    tools: Tools
    heads: Heads
    numbers: Numbers


class _Parts(NamedTuple):
    items: list[Item]
    requirements: list[Requirement]
    instructions: list[Instruction]
    issues: list[KnownIssue]
    notices: list[Notice]


def frozen(draft: Draft, found: Read, known: Known) -> tuple[Release, list[str]]:
    """The release, and what had to be assumed of it."""
    component = _component(draft, found)
    units = draft.units
    guessed = not component
    if guessed:
        component = _guessed(draft, found, known)
        if component:
            draft.assumed.append(
                f"the unit is not named; the changes read like those of: {component}"
            )
        if component and draft.version:
            line = place_of(found.statements[draft.first].mapped, known.starts).line
            units = [
                UnitVersion(component=component, name="", version=draft.version, line=line),
                *units,
            ]
    date, said = _date(draft, known)
    parts = _Parts([], [], [], [], [])
    for number in draft.members:
        _take(number, found, known, component, draft.version, parts)
    first = draft.first if draft.title else (draft.members[0] if draft.members else 0)
    if not draft.version:
        draft.assumed.append("no version is stated")
    release = Release(
        title=draft.title,
        component=component,
        unit=next((u.name for u in units if u.component == component and u.name), ""),
        version=draft.version,
        date=date,
        status=draft.status,
        items=tuple(_merged(parts.items)),
        requirements=tuple(dict.fromkeys(parts.requirements)),
        instructions=tuple(parts.instructions),
        known_issues=tuple(parts.issues),
        notices=tuple(parts.notices),
        units=tuple(units),
        component_assumed=guessed or not any(s.unit.own and s.unit.component for s in draft.stated),
        assumed=tuple(draft.assumed),
        place=place_of(found.statements[first].mapped, known.starts),
    )
    if draft.status is Status.WITHDRAWN and not any(n.kind.against for n in parts.notices):
        release = _withdrawn(release)
    return release, said


def _withdrawn(release: Release) -> Release:
    from triage.domain.notes import NoticeKind

    notice = Notice(kind=NoticeKind.WITHDRAWN, text=release.title, place=release.place)
    return release.model_copy(update={"notices": (notice, *release.notices)})


def _component(draft: Draft, found: Read) -> str:
    same = [u for u in draft.units if u.version == draft.version]
    for unit in (*same, *draft.units):
        if unit.component:
            return unit.component
    numbers = [draft.first, *draft.members[:1]] if draft.title else draft.members[:1]
    return next((found.statements[n].context.unit for n in numbers), "")


def _guessed(draft: Draft, found: Read, known: Known) -> str:
    """Whose notes they seem to be, '' where that is not likely enough."""

    changes = [n for n in draft.members if found.statements[n].role is Role.CHANGE]
    if not changes:
        return ""
    pairs = [
        (f" : {found.statements[n].context.heading}", found.statements[n].text) for n in changes
    ]
    row = summary(known.tools.encoder.vectors(pairs[:_MOST_READ]))
    chances = dense_chances(known.tools.models.unit, row)
    best = max(chances, key=lambda name: chances[name])
    return best if chances[best] >= _GUESSED_FROM else ""


def _date(draft: Draft, known: Known) -> tuple[StatedDate | None, list[str]]:
    if draft.date is None:
        return None, []
    date, remark = settle(draft.date, known.order)
    return date, [remark] if remark else []


def _take(number: int, found: Read, known: Known, component: str, own: str, parts: _Parts) -> None:
    """One statement to its place among the parts; `own` is the release's version."""
    statement, facts = found.statements[number], found.facts[number]
    row = found.scores[number]
    place = place_of(statement.mapped, known.starts)
    mentions = known.tools.recogniser.read(statement.text).finds.components
    if statement.atom.label:
        label = known.tools.recogniser.read(statement.atom.label).finds.components
        mentions = (*mentions, *(m.model_copy(update={"start": -1, "end": -1}) for m in label))
    parts.requirements.extend(_needs(statement, facts, row, known, component, mentions, place))
    heading = (statement.context.heading,) if statement.context.heading else ()
    affected = affected_in(statement.text, statement.role, facts, own)
    if not affected and points_back(statement.text):
        affected = known.numbers.affected
    known.numbers.affected = affected
    chance = round(statement.chance(statement.role), 3)
    if statement.role is Role.CHANGE:
        parts.items.append(
            Item(
                ref=known.numbers.item(),
                text=statement.text,
                original=known.text[place.start : place.end],
                places=(place,),
                heading=heading,
                level=statement.atom.level,
                effects=_effects(statement, row, known, place),
                versions=affected,
                chance=chance,
            )
        )
    elif statement.role is Role.KNOWN_ISSUE:
        parts.issues.append(
            KnownIssue(
                ref=known.numbers.issue(),
                text=statement.text,
                place=place,
                heading=heading,
                versions=affected,
                chance=chance,
            )
        )
    elif statement.role in (Role.NOTICE, Role.AVAILABILITY):
        parts.notices.append(_notice(statement, facts, row, known, place, affected))
    elif statement.role is Role.INSTRUCTION:
        kind_ = facts_of.instruction_kind(known.heads.chances(row, "about"))
        effects = _effects(statement, row, known, place)
        parts.instructions.append(
            Instruction(kind=kind_, text=statement.text, place=place, effects=effects)
        )


def _notice(
    statement: Statement,
    facts: Facts,
    row: NDArray[np.float64],
    known: Known,
    place: Place,
    affected: tuple[str, ...],
) -> Notice:
    """A word about a release, with the day it names."""
    chances = known.heads.chances(row, "notice")
    kind, sure = facts_of.notice_kind(chances, statement.role, statement.text)
    days = [(d.day, part) for d, part, _ in facts.days]
    day = next((day for day, part in days if part != "release"), None)
    return Notice(
        kind=kind,
        text=statement.text,
        place=place,
        versions=affected,
        day=day or next((day for day, _ in days), None),
        chance=round(statement.chance(statement.role) * sure, 3),
    )


def _needs(
    statement: Statement,
    facts: Facts,
    row: object,
    known: Known,
    component: str,
    mentions: Sequence[Find],
    place: Place,
) -> list[Requirement]:
    def named(text: str) -> tuple[str, str]:
        low = text.lower()
        found = [unit for name, unit in known.names.items() if name in low]
        return (found[0].component, found[0].name) if found else ("", "")

    relations = known.heads.chances(row, "relation")  # type: ignore[arg-type]
    least = known.tools.models.thresholds.relation
    if statement.role is Role.REQUIREMENT:
        least = min(least, max(relations.values(), default=0.0))
    return [
        Requirement(
            component=need.component,
            name=need.name,
            comparison=need.comparison,
            version=need.version,
            text=statement.text,
            place=place,
        )
        for need in facts_of.requirements(
            statement.text,
            facts,
            relations,
            mentions=mentions,
            named=named,
            own=component,
            least=least,
        )
    ]


def _effects(statement: Statement, row: object, known: Known, place: Place) -> tuple[Effect, ...]:
    around = Surround(statement.role, statement.context.heading, statement.atom.label, 0)
    chances = known.heads.chances(row, "effect")  # type: ignore[arg-type]
    thresholds = known.tools.models.thresholds
    found = facts_of.effects(
        statement.text, around, chances, known.tools.models.facts, least=thresholds.effect
    )
    if not found:
        return ()
    settings = known.tools.recogniser.read(statement.text).finds.settings
    return tuple(
        Effect(
            change=one.change,
            setting=one.setting,
            setting_id=settings[0].id if settings else "",
            before=one.before,
            after=one.after,
            kept=one.kept,
            place=place,
        )
        for one in found
    )


def _merged(items: Sequence[Item]) -> list[Item]:
    """A change stated twice in one release is one item with two places."""
    kept: dict[tuple[str, ...], Item] = {}
    for item in items:
        words = tuple(_WORD.findall(item.text.lower()))
        key = words if len(words) > 2 else (*item.heading, "|", *words)
        twin = kept.get(key)
        kept[key] = (
            item if twin is None else twin.model_copy(update={"places": twin.places + item.places})
        )
    return list(kept.values())
