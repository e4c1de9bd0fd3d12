"""Statements to releases: version lines open them, what follows belongs to the one that is open."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from triage.domain.notes import Role, StatedDate, Status, UnitVersion
from triage.reading.facts import Facts
from triage.reading.formats.blocks import Shape
from triage.reading.standing import status_of
from triage.reading.statements import Statement

_PLAIN_RANK, _ROW_RANK = 7, 9
_KEPT = frozenset(
    (
        Role.CHANGE,
        Role.INSTRUCTION,
        Role.REQUIREMENT,
        Role.KNOWN_ISSUE,
        Role.NOTICE,
        Role.AVAILABILITY,
    )
)


class Named(NamedTuple):
    """A unit that a version line names: component id or '', and the maker's name or ''."""

    component: str
    name: str


@dataclass
class Draft:
    """A release while it is put together; `members` are the numbers of its statements."""

    version: str = ""
    date: StatedDate | None = None
    status: Status = Status.RELEASED
    title: str = ""
    first: int = 0
    rank: int = _ROW_RANK
    units: list[UnitVersion] = field(default_factory=list)
    members: list[int] = field(default_factory=list)

    @property
    def filled(self) -> bool:
        """Whether a statement that weighs stands under it."""
        return bool(self.members)


def bare(version: str) -> str:
    """A version for comparing as written: lower case, without marks and a leading v."""
    text = re.sub(r"^(?:version|v)[\s.]*(?=\d)", "", version.strip().lower())
    return re.sub(r"[^a-z0-9]+", ".", text).strip(".")


class Assembler:
    """Goes through the statements once; `releases` is what came of it."""

    def __init__(self, order: str = "") -> None:
        self.releases: list[Draft] = []
        self.current: Draft | None = None
        self.waiting: list[int] = []  # statements before any version line
        self.early: StatedDate | None = None

    def version_line(
        self, number: int, statement: Statement, facts: Facts, unit: Named, line: int
    ) -> None:
        """A statement that gives versions, days or both."""
        own = facts.of("release")
        version = own[0] if own else ""
        rank = _rank(statement)
        if version:
            self._open(number, statement, version, rank)
        elif self.current is None:
            self._open(number, statement, "", rank)
        draft = self.current
        assert draft is not None
        day = next((d.day for d, part, _ in facts.days if part == "release"), None)
        if day is not None and draft.date is None:
            draft.date = day
        status = status_of(statement.text, version or draft.version)
        if status is not Status.RELEASED and (version or not draft.filled):
            draft.status = status
        self._units(draft, statement, facts, unit, line)

    def _open(self, number: int, statement: Statement, version: str, rank: int) -> None:
        twin = next(
            (d for d in self.releases if version and bare(d.version) == bare(version)), None
        )
        if twin is not None:
            self.current = twin
            twin.rank = min(twin.rank, rank)
            return
        draft = self.current
        if draft is not None and not draft.version and not draft.filled and version:
            draft.version, draft.title, draft.rank = version, statement.text, rank
            return
        fresh = Draft(version=version, title=statement.text, first=number, rank=rank)
        if not self.releases and self.waiting:
            fresh.members, self.waiting = self.waiting, []
        self.releases.append(fresh)
        self.current = fresh

    @staticmethod
    def _units(draft: Draft, statement: Statement, facts: Facts, unit: Named, line: int) -> None:
        for version in facts.of("release") + facts.of("unit"):
            known = any(
                u.component == unit.component and bare(u.version) == bare(version)
                for u in draft.units
            )
            if unit.component and not known:
                draft.units.append(
                    UnitVersion(
                        component=unit.component, name=unit.name, version=version, line=line
                    )
                )

    def statement(self, number: int) -> None:
        """A statement that weighs: it belongs to the release that is open."""
        if self.current is None:
            self.waiting.append(number)
        else:
            self.current.members.append(number)

    def heading(self, statement: Statement, rank: int) -> None:
        """A heading above all version lines' own ends the open release: what follows is for the
        whole document, and so for the newest release."""
        draft = self.current
        if draft is None or len(self.releases) < 2 or not rank:
            return
        row_ended = draft.rank == _ROW_RANK and statement.atom.shape is not Shape.ROW
        if rank < draft.rank or row_ended:
            self.current = self.newest()

    def newest(self) -> Draft:
        """The release of the latest day, else the first of the document."""
        dated = [d for d in self.releases if d.date and d.date.day]
        if len(dated) == len(self.releases):
            return max(dated, key=lambda d: d.date.day.toordinal() if d.date and d.date.day else 0)
        return self.releases[0]

    def finish(self) -> list[Draft]:
        """All releases; one without a version where no version line came."""
        if self.waiting:
            if self.releases:
                self.releases[0].members = self.waiting + self.releases[0].members
            else:
                self.releases.append(Draft(members=self.waiting))
            self.waiting = []
        return self.releases


def _rank(statement: Statement) -> int:
    if statement.atom.shape is Shape.HEADING:
        return statement.atom.level
    return _ROW_RANK if statement.atom.shape is Shape.ROW else _PLAIN_RANK


def weighs(statement: Statement, roles: Sequence[Role] = tuple(_KEPT)) -> bool:
    """Whether a statement is of a role that advice rests on."""
    return statement.role in roles
