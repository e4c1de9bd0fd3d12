"""Turns a candidate, its items and the evidence into the arrays that the rule reads.

Columns: every function twice (at its own severity, then one category milder), and last the
changes that nobody named.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from triage.advice import tables
from triage.advice.stakes import Board, Bools, Floats, Ints, Kinds, Stake, milder
from triage.domain.advice import Candidate, Evidence
from triage.domain.judged import JudgedNotes
from triage.domain.notes import InstructionKind, Release, StatedDate, Status


@dataclass(frozen=True)
class Case:
    """Everything the rule needs of one candidate that does not depend on the policy.

    `rows` are the items' places on the board, `counted` marks those whose mending presses: not
    those that a smaller move mends already. `days`, `clean` and `trouble` are by column: days
    since its newest change came out, users who saw it clean, users who had trouble; of the last
    `named_trouble` are those who named the function, which opens a hazard by itself.
    """

    candidate: Candidate
    release: Release
    path: tuple[Release, ...]
    stakes: tuple[Stake, ...]
    rows: Ints
    flight_map: NDArray[np.float32]
    plain_map: NDArray[np.float32]
    severity: Ints
    stay_flight: Ints
    stay_plain: Ints
    chance: NDArray[np.float32]
    strict: Kinds
    cautious: Kinds
    counted: Bools
    days: Floats
    days_known: bool
    clean: Floats
    trouble: Floats
    named_trouble: Floats
    release_clean: float
    grave_trouble: float
    way_back: bool | None
    prior: tables.PriorTable


@cache
def column_severity(unnamed: int) -> tuple[int, ...]:
    """Severity category of each column."""
    own = [s for f in tables.functions() for s in (f.severity, milder(f.severity))]
    return (*own, unnamed)


def release_day(date: StatedDate | None, today: dt.date) -> dt.date | None:
    """The day a release came out; of two readings the later one that is not to come."""
    if date is None:
        return None
    readings = sorted(day for day in (date.day, date.or_else) if day is not None)
    past = [day for day in readings if day <= today]
    return past[-1] if past else (readings[0] if readings else None)


def blocked(case: Case) -> str:
    """Why the candidate cannot be installed at all, or ''."""
    if case.release.status is Status.WITHDRAWN:
        return "the maker has withdrawn it"
    if case.release.status is Status.UNRELEASED:
        return "it is not released yet"
    return next((p.text for p in case.candidate.problems if p.blocks), "")


def build(
    notes: JudgedNotes,
    candidate: Candidate,
    board: Board,
    evidence: Sequence[Evidence],
    today: dt.date,
    brought: frozenset[str] = frozenset(),
    prior: tables.PriorTable | None = None,
) -> Case:
    """The case of one candidate; `brought` are the items that an advised smaller move brings.

    `prior` stands in place of the shipped priors.
    """
    path = tuple(notes.notes.releases[r] for r in candidate.path)
    place = {r: i for i, r in enumerate(candidate.path)}
    last = len(path) - 1
    listed = sorted(board.row[ref] for ref in set(candidate.items) if ref in board.row)
    rows = np.array(listed, dtype=np.int64)
    strict, cautious = board.strict.of(rows), board.cautious.of(rows)
    flight_map, plain_map = board.flight_map[rows], board.plain_map[rows]
    position = np.array([place.get(int(r), last) for r in board.release[rows]], dtype=np.int64)
    columns = 2 * len(tables.functions()) + 1
    newest = np.full(columns, last)
    newest[0:-1:2] = _newest(flight_map, cautious.flight[0], position, last)
    newest[1:-1:2] = _newest(plain_map, cautious.compatibility[0], position, last)
    mended = _newest(np.maximum(flight_map, plain_map), strict.fix[0], position, -1)
    seen = _open(evidence, place, mended, today)
    days = _days_out(path, seen, place, today)
    users = _counted(seen, place, newest, last)
    return Case(
        candidate=candidate,
        release=path[last],
        path=path,
        stakes=tuple(board.stakes[row] for row in listed),
        rows=rows,
        flight_map=flight_map,
        plain_map=plain_map,
        severity=np.array(
            column_severity(tables.priors().unnamed_severity.get(path[last].component, 2))
        ),
        stay_flight=board.stay_flight[rows],
        stay_plain=board.stay_plain[rows],
        chance=board.chance[:, rows],
        strict=strict,
        cautious=cautious,
        counted=np.array([board.stakes[r].item.item.ref not in brought for r in listed], bool),
        days=days[newest],
        days_known=release_day(path[last].date, today) is not None,
        clean=users.clean,
        trouble=users.trouble,
        named_trouble=users.named,
        release_clean=users.of_release,
        grave_trouble=users.grave,
        way_back=_way_back(candidate, path),
        prior=prior or tables.priors().prior,
    )


def _newest(touched: NDArray[np.float32], chosen: Bools, position: Ints, none: int) -> Ints:
    """For each function the newest place of a chosen item, `none` where there is none."""
    places = np.where((touched > 0) & chosen[:, None], position[:, None], -1)
    found: Ints = places.max(axis=0, initial=-1)
    return np.where(found < 0, none, found)


def _open(
    evidence: Sequence[Evidence], place: dict[int, int], mended: Ints, today: dt.date
) -> list[Evidence]:
    """What was seen on the path up to today, without trouble that a later fix settles."""
    fixed = {f.id: int(at) for f, at in zip(tables.functions(), mended, strict=True)}
    return [
        e
        for e in evidence
        if e.day <= today
        and e.release in place
        and (e.clean or fixed.get(e.function, -1) <= place[e.release])
    ]


class _Users(NamedTuple):
    clean: Floats
    trouble: Floats
    named: Floats
    of_release: float
    grave: float


def _counted(seen: Iterable[Evidence], place: dict[int, int], newest: Ints, last: int) -> _Users:
    """Users by column; those who saw the newest release clean; those in grave trouble."""
    index = {f.id: i for i, f in enumerate(tables.functions())}
    clean, trouble, named = (np.zeros(newest.size) for _ in range(3))
    of_release = grave = 0.0
    for e in seen:
        at = index.get(e.function)
        columns = slice(None) if at is None else slice(2 * at, 2 * at + 2)
        if e.clean:
            clean[columns] += np.where(newest[columns] <= place[e.release], e.users, 0)
            of_release += e.users if place[e.release] == last else 0
        else:
            trouble[columns] += e.users
            named[columns] += 0 if at is None else e.users
            grave += e.users if at is None or tables.functions()[at].severity <= 2 else 0
    return _Users(clean, trouble, named, of_release, grave)


def _days_out(
    path: Sequence[Release], seen: Iterable[Evidence], place: dict[int, int], today: dt.date
) -> Floats:
    """Days that each release of the path has been out; one without a date takes its successor's.

    Without any date after it the first clean look counts; a look that found trouble never does,
    so that trouble cannot make a release look older.
    """
    last = len(path) - 1
    looked = [e.day for e in seen if e.clean and place[e.release] == last]
    following = float((today - min(looked)).days) if looked else 0.0
    out = []
    for release in reversed(path):
        day = release_day(release.date, today)
        if day is not None:
            following = float(max(0, (today - day).days))
        out.append(following)
    return np.array(out[::-1])


def _way_back(candidate: Candidate, path: Iterable[Release]) -> bool | None:
    told = any(
        i.kind is InstructionKind.NO_WAY_BACK for release in path for i in release.instructions
    )
    return False if told else candidate.reversible
