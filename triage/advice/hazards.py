"""The hazards of one candidate: what the notes, the kit and the field reports put on either side.

Changes stand in columns: each function twice (changed in flight; by working together, one category
milder), and last the changes that nobody named. What is stated, a known issue, reported trouble, a
job or need that would be lost, a setting that moves, is a `Stated` hazard of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from triage.advice import tables
from triage.advice.affected import affected
from triage.advice.ground import Ground, Needs, Stated, one_category, release_day
from triage.advice.items_matrix import (
    Bools,
    Entry,
    Floats,
    Ints,
    ItemsMatrix,
    Kinds,
    Owner,
    categories,
    functions_touched,
    harmful,
    milder,
    shown,
)
from triage.advice.losses import losses
from triage.domain.advice import Candidate, Evidence, HazardKind, Pointer
from triage.domain.judged import JudgedIssue
from triage.domain.kit import Kit
from triage.domain.notes import InstructionKind, Notice, Release
from triage.domain.outcomes import Outcome


@dataclass(frozen=True)
class Case:
    """Everything the rule needs of one candidate that does not depend on the policy.

    `rows` are the items' places in the matrix, `counted` marks those whose mending presses: not
    those that a smaller move mends already. `days` and `clean` are by column: days since its
    newest change came out, flights that showed it clean. `out` is the candidate's age in days.
    """

    candidate: Candidate
    release: Release
    path: tuple[Release, ...]
    entries: tuple[Entry, ...]
    rows: Ints
    flight_map: NDArray[np.float32]
    plain_map: NDArray[np.float32]
    split: Floats
    severity: Ints
    matrix: ItemsMatrix
    strict: Kinds
    cautious: Kinds
    counted: Bools
    days: Floats
    out: float
    days_known: bool
    clean: Floats
    stated: tuple[Stated, ...]
    clean_users: float
    grave_users: float
    losses: tuple[Evidence, ...]
    held_days: tuple[float, ...]
    silent: bool
    way_back: bool | None
    prior: tables.PriorTable
    kit: Kit
    owner: Owner
    needs: Needs


@cache
def column_severity(unnamed: int) -> tuple[int, ...]:
    """The gravest category of each column."""
    own = [s for f in tables.functions() for s in (f.severity, milder(f.severity))]
    return (*own, unnamed)


def build(ground: Ground, candidate: Candidate, brought: frozenset[str] = frozenset()) -> Case:
    """The case of one candidate; `brought` are the items that an advised smaller move brings."""
    matrix, notes = ground.matrix, ground.notes
    path = tuple(notes.notes.releases[r] for r in candidate.path)
    place = {r: i for i, r in enumerate(candidate.path)}
    last = len(path) - 1
    rows = np.array(
        sorted(matrix.row[ref] for ref in set(candidate.items) if ref in matrix.row), np.int64
    )
    entries = tuple(matrix.entries[row] for row in rows)
    strict, cautious = matrix.strict.of(rows), matrix.cautious.of(rows)
    flight_map, plain_map = matrix.flight_map[rows], matrix.plain_map[rows]
    position = np.array([place.get(int(r), last) for r in matrix.release[rows]], dtype=np.int64)
    newest = np.full(2 * len(tables.functions()) + 1, last)
    newest[0:-1:2] = _newest(flight_map, cautious.flight[0], position, last)
    newest[1:-1:2] = _newest(plain_map, cautious.compatibility[0], position, last)
    seen = [e for e in reports_on(ground, candidate.release) if not e.explained]
    days = _days_out(ground, path, seen)
    component = path[last].component
    severity = np.array(column_severity(tables.priors().unnamed_severity.get(component, 2)))
    clean, users = _clean(seen, severity.size)
    reported = tuple(_reported(seen, clean, int(severity[-1])))
    return Case(
        candidate=candidate,
        release=path[last],
        path=path,
        entries=entries,
        rows=rows,
        flight_map=flight_map,
        plain_map=plain_map,
        split=_split(severity),
        severity=severity,
        matrix=matrix,
        strict=strict,
        cautious=cautious,
        counted=np.array([e.item.item.ref not in brought for e in entries], bool),
        days=days[newest],
        out=float(days[last]),
        days_known=release_day(path[last].date, ground.today) is not None,
        clean=clean,
        stated=(*_known_issues(ground, candidate), *reported, *losses(ground, entries)),
        clean_users=users,
        grave_users=sum(e.users for e in seen if not e.clean and grave(e, int(severity[-1]))),
        losses=tuple(e for e in seen if not e.clean and is_loss(e)),
        held_days=tuple(
            np.inf if held.until is None else float((held.until - ground.today).days)
            for held in candidate.held_by
        ),
        silent=not any(entry.specific for entry in entries) and int(severity[-1]) <= 2,
        way_back=_way_back(candidate, path),
        prior=ground.prior,
        kit=ground.kit,
        owner=ground.owner,
        needs=ground.needs,
    )


def reports_on(ground: Ground, release: int) -> list[Evidence]:
    """Field reports of the release itself, from its own day up to today.

    Reports of the release before say nothing of it; those dated before it came out can't be of it.
    """
    came = release_day(ground.notes.notes.releases[release].date, ground.today)
    return [
        e
        for e in ground.evidence
        if e.release == release and e.day <= ground.today and (came is None or e.day >= came)
    ]


def is_loss(report: Evidence) -> bool:
    """Whether a report speaks of a loss: an outcome that is catastrophic."""
    return report.outcome not in (None, Outcome.NONE) and (
        tables.severity_of(report.outcome or Outcome.NUISANCE) == 1
    )


def grave(report: Evidence, unnamed: int) -> bool:
    """Whether reported trouble could cost the aircraft."""
    return reported_severity(report, unnamed) <= 2


def reported_severity(report: Evidence, unnamed: int) -> int:
    """The category of reported trouble: by its outcome, else by its function, else `unnamed`."""
    if report.outcome not in (None, Outcome.NONE):
        return tables.severity_of(report.outcome or Outcome.NUISANCE)
    function = tables.function(report.function)
    return function.severity if function else unnamed


def _newest(at_stake: NDArray[np.float32], chosen: Bools, position: Ints, none: int) -> Ints:
    """For each function the newest place of a chosen item, `none` where there is none."""
    places = np.where((at_stake > 0) & chosen[:, None], position[:, None], -1)
    found: Ints = places.max(axis=0, initial=-1)
    return np.where(found < 0, none, found)


def _split(severity: Ints) -> Floats:
    """Chance of each category 1 to 4 where a bad change shows, columns x categories."""
    rule = tables.priors().split
    found = np.zeros((severity.size, 4))
    for steps, share in enumerate((rule.worst, rule.milder, 1 - rule.worst - rule.milder)):
        np.add.at(found, (np.arange(severity.size), np.minimum(severity + steps, 4) - 1), share)
    return found


def _clean(seen: Iterable[Evidence], columns: int) -> tuple[Floats, float]:
    """Clean flights by column, and users who found the release clean."""
    index = {f.id: i for i, f in enumerate(tables.functions())}
    flights, users = np.zeros(columns), 0.0
    for e in seen:
        if e.clean:
            at = index.get(e.function)
            where = slice(None) if at is None else slice(2 * at, 2 * at + 2)
            flights[where] += e.users * e.flights
            users += e.users
    return flights, users


def _reported(seen: Iterable[Evidence], clean: Floats, unnamed: int) -> Iterator[Stated]:
    """Reported trouble as hazards, alike ones together: believed the more, the more report it."""
    credible = tables.priors().reports.credible
    groups: dict[tuple[str, Outcome | None], list[Evidence]] = {}
    for e in seen:
        if not e.clean:
            groups.setdefault((e.function, e.outcome), []).append(e)
    index = {f.id: i for i, f in enumerate(tables.functions())}
    for (id, outcome), reports in sorted(groups.items(), key=lambda g: (g[0][0], str(g[0][1]))):
        function = tables.function(id)
        severity = reported_severity(reports[0], unnamed)
        named = outcome or (function.worst if function else Outcome.DEGRADED)
        users = float(sum(e.users for e in reports))
        flights = float(clean[2 * index[id]] if id in index else clean[-1])
        yield Stated(
            kind=HazardKind.REPORTED,
            name=f"reported trouble: {function.name if function else 'the release as a whole'}",
            outcome=named,
            function=id,
            chances=one_category(severity),
            real=1 - (1 - credible) ** users,
            shows=0.0,
            evidence=f"{users:,.0f} user{'s' * (users != 1)} report{'s' * (users == 1)} it",
            trouble=users,
            clean=flights,
        )


def _known_issues(ground: Ground, candidate: Candidate) -> Iterator[Stated]:
    """What the new release is known to have, at full severity."""
    release = ground.notes.notes.releases[candidate.release]
    for judged in ground.notes.issues:
        of_it = affected(judged.issue.versions, release.version)
        if isinstance(judged.issue, Notice) or (
            of_it is False or (of_it is None and judged.release != candidate.release)
        ):
            continue
        yield _issue(ground, judged, release)


def _issue(ground: Ground, judged: JudgedIssue, release: Release) -> Stated:
    flight, plain = functions_touched(judged.finds, release.component)
    functions = tuple(f for f in (flight if harmful(judged.finds) else plain))
    used = tuple(f for f in functions if f.id in ground.owner.used)
    worst = min(used, key=lambda f: f.severity) if used else None
    fallback = None
    if worst is not None:
        fallback = worst.worst if harmful(judged.finds) else worst.unstated
    chances, outcome = categories(judged.outcome, fallback)
    shows, _ = shown(judged.finds, judged.issue.text, ground.owner)
    ref = getattr(judged.issue, "ref", "")
    return Stated(
        kind=HazardKind.KNOWN_ISSUE,
        name="known issue of the new release",
        outcome=outcome,
        function=worst.id if worst else "",
        chances=chances,
        real=judged.issue.chance,
        shows=shows,
        pointers=(Pointer(ref=ref or "issue", line=judged.issue.place.line),),
        evidence=judged.issue.text,
    )


def _days_out(ground: Ground, path: Sequence[Release], seen: Iterable[Evidence]) -> Floats:
    """Days that each release of the path has been out; one without a date takes its successor's.

    Without any date after it, the day on which the notes were first seen counts, or a clean report
    before it; a report of trouble never does, so that trouble can't make a release look older.
    """
    today = ground.today
    known = [e.day for e in seen if e.clean]
    if ground.first_seen is not None:
        known.append(min(ground.first_seen, today))
    following = float((today - min(known)).days) if known else 0.0
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
