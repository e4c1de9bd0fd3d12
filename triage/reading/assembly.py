"""Statements to releases: version lines open them, what follows belongs to the one that is open.

Version lines that follow each other without a change between are one group, and tell of one
release: which of their versions is the release's and which are its units' is settled when the
group is whole.
"""

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

_CLOSING = frozenset((Role.CHANGE, Role.INSTRUCTION, Role.KNOWN_ISSUE))
_SURE_FROM = 0.6  # from which a version line with nothing under it is a release
_PLAIN_RANK, _ROW_RANK = 7, 9
_WEIGHTY = frozenset(
    (
        Role.CHANGE,
        Role.INSTRUCTION,
        Role.REQUIREMENT,
        Role.KNOWN_ISSUE,
        Role.NOTICE,
        Role.AVAILABILITY,
    )
)
# A package's version is the release's before that of any unit in it, the aircraft's before others.
_WHOLE = re.compile(r"\b(?:package|release|bundle|version|update)\b", re.I)
_AIRCRAFT = ("aircraft", "flight-controller")


class Named(NamedTuple):
    """A unit that a version line names: component id or '', the maker's name or '', and whether
    the line itself names it or its title does."""

    component: str
    name: str
    own: bool = False


class Stated(NamedTuple):
    """A version that a version line states, with the unit it is of.

    `slot` is the place of the line in the layout (shape, rank, cell): two versions of no unit in
    one slot are two releases.
    """

    version: str
    unit: Named
    slot: tuple[int, int, int]
    whole: bool
    line: int
    statement: int


@dataclass
class Draft:
    """A release while it is put together; `members` are the numbers of its statements."""

    title: str = ""
    first: int = 0
    rank: int = _ROW_RANK
    stated: list[Stated] = field(default_factory=list)
    date: StatedDate | None = None
    status: Status = Status.RELEASED
    members: list[int] = field(default_factory=list)
    assumed: list[str] = field(default_factory=list)
    closed: bool = False  # whether a change, an instruction or a known issue came behind its lines
    sure: float = 0.0  # the best chance of its lines to be version lines

    @property
    def version(self) -> str:
        """The release's version: its title's, the package's, the aircraft's, else the first."""
        for chosen in (
            [s for s in self.stated if not s.unit.own],
            [s for s in self.stated if s.whole],
            [s for s in self.stated if s.unit.component in _AIRCRAFT],
            self.stated,
        ):
            if chosen:
                return chosen[0].version
        return ""

    def name_by_day(self) -> None:
        """Take the day, as written, for the version."""
        if self.date is not None:
            words = self.date.text
            self.stated.append(Stated(words, Named("", ""), (-1, 0, 0), False, 1, self.first))

    @property
    def units(self) -> list[UnitVersion]:
        """Each unit of known sort whose version is stated, once."""
        found: dict[tuple[str, str], UnitVersion] = {}
        for s in self.stated:
            if s.unit.component:
                key = (s.unit.component, bare(s.version))
                found.setdefault(
                    key,
                    UnitVersion(
                        component=s.unit.component,
                        name=s.unit.name,
                        version=s.version,
                        line=s.line,
                    ),
                )
        return list(found.values())

    @property
    def pending(self) -> bool:
        """Whether only its day is known so far: its version may stand on the next line."""
        return not self.stated and not self.members and self.date is not None

    def states(self, version: str) -> bool:
        """Whether the version is one of those stated."""
        return any(bare(s.version) == bare(version) for s in self.stated)


def bare(version: str) -> str:
    """A version for comparing as written: lower case, without marks and a leading v."""
    text = re.sub(r"^(?:version|v)[\s.]*(?=\d)", "", version.strip().lower())
    return re.sub(r"[^a-z0-9]+", ".", text).strip(".")


class Assembler:
    """Goes through the statements once; `finish` gives what came of it."""

    def __init__(self) -> None:
        self.releases: list[Draft] = []
        self.current: Draft | None = None
        self.waiting: list[int] = []  # statements before any version line

    def version_line(
        self, number: int, statement: Statement, facts: Facts, stated: Sequence[Stated]
    ) -> None:
        """A statement that gives versions, days or both."""
        day = next((d.day for d, part, _ in facts.days if part == "release"), None)
        draft = self._draft_for(number, statement, stated, day)
        draft.sure = max(draft.sure, statement.chance(Role.VERSION))
        fresh = [s for s in stated if not draft.states(s.version) or s.unit.own]
        draft.stated += fresh
        if not draft.title or (stated and not stated[0].unit.own and draft.first == number):
            draft.title, draft.first = statement.text, number
        if day is not None and draft.date is None:
            draft.date = day
        status = status_of(statement.text, stated[0].version if stated else draft.version)
        if status is not Status.RELEASED and (stated or not draft.members):
            draft.status = status

    def _draft_for(
        self,
        number: int,
        statement: Statement,
        stated: Sequence[Stated],
        day: StatedDate | None,
    ) -> Draft:
        """The release that a version line is about.

        A day alone, behind the changes of a release that has one, begins the next release.
        """
        draft = self.current
        twin = next((d for d in self.releases if _same(d, stated, day)), None)
        if twin is not None and not (draft and draft is not twin and draft.pending):
            self.current = twin
            return twin
        dated = not stated and day is not None and draft is not None and draft.date is not None
        begins = stated and draft is not None and not draft.pending
        if draft is None or ((begins or dated) and (draft.closed or self._parts(draft, stated))):
            draft = Draft(title=statement.text, first=number, rank=rank_of(statement))
            if not self.releases and self.waiting:
                draft.members, self.waiting = self.waiting, []
            self.releases.append(draft)
            self.current = draft
        return draft

    @staticmethod
    def _parts(draft: Draft, stated: Sequence[Stated]) -> bool:
        """Whether a version without a unit stands where the group has one already."""
        slots = {s.slot for s in draft.stated if not s.unit.own}
        return any(not s.unit.own and s.slot in slots for s in stated)

    def statement(self, number: int, role: Role) -> None:
        """A statement that weighs: it belongs to the release that is open."""
        if self.current is None:
            self.waiting.append(number)
        else:
            self.current.members.append(number)
            self.current.closed |= role in _CLOSING

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
        told = [d for d in self.releases if d.members or (d.stated and d.sure >= _SURE_FROM)]
        told = told or self.releases[:1]
        for draft in told:  # a digest's title names the versions of all its releases
            others = {bare(d.version) for d in told if d is not draft}
            own = bare(draft.version)
            draft.stated = [
                s for s in draft.stated if bare(s.version) == own or bare(s.version) not in others
            ]
        dates = [d for d in told if not d.stated and d.date is not None]
        if len(dates) > 1 and len(dates) == len(told):
            for draft in dates:  # a log kept by days: the day is what a release is called by
                draft.name_by_day()
        return told


def _same(draft: Draft, stated: Sequence[Stated], day: StatedDate | None) -> bool:
    """Whether a version line is about this release again: by its version, else by its day."""
    if stated:
        return bool(draft.version) and any(bare(draft.version) == bare(s.version) for s in stated)
    return day is not None and draft.date is not None and draft.date.day == day.day


def rank_of(statement: Statement) -> int:
    """How high a version line stands: the rank of a heading, 7 for a plain line, 9 for a row."""
    if statement.atom.shape is Shape.HEADING:
        return statement.atom.level
    return _ROW_RANK if statement.atom.shape is Shape.ROW else _PLAIN_RANK


def slot_of(statement: Statement, cell: int) -> tuple[int, int, int]:
    """The place of a version line in the layout."""
    return int(statement.atom.shape), rank_of(statement), cell


def is_whole(words: str) -> bool:
    """Whether a line speaks of a package or release rather than of a unit."""
    return bool(_WHOLE.search(words))


def weighs(statement: Statement) -> bool:
    """Whether a statement is of a role that advice rests on."""
    return statement.role in _WEIGHTY
