"""Builds judged notes, kits and scopes for the tests from short words."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence
from typing import Any

from triage.classify.needs import need_chances
from triage.domain.advice import Candidate, Evidence, Problem
from triage.domain.finds import Find, Finds
from triage.domain.judged import JudgedIssue, JudgedItem, JudgedNotes, Judgement, Standing
from triage.domain.kinds import Kind
from triage.domain.kit import Job, Kit, Unit
from triage.domain.notes import (
    Effect,
    Instruction,
    InstructionKind,
    Item,
    KnownIssue,
    Notes,
    Notice,
    NoticeKind,
    Place,
    Release,
    Source,
    SourceFormat,
    StatedDate,
    Status,
)
from triage.domain.outcomes import Outcome, OutcomeChances

DAY = dt.date(2026, 3, 2)
LETTER = {
    "B": Kind.FLIGHT_BEHAVIOUR,
    "C": Kind.COMPATIBILITY,
    "X": Kind.FIX,
    "F": Kind.FEATURE,
}


def judgements(kinds: str, chances: Mapping[str, float] | None = None) -> tuple[Judgement, ...]:
    """Capital letters are held (0.95), small ones unsure (0.5), others ruled out (0.02)."""
    found = []
    for kind in Kind:
        letter = next(c for c, k in LETTER.items() if k is kind)
        if letter in kinds:
            standing, chance = Standing.YES, 0.95
        elif letter.lower() in kinds:
            standing, chance = Standing.UNSURE, 0.5
        else:
            standing, chance = Standing.NO, 0.02
        chance = (chances or {}).get(letter, chance)
        found.append(Judgement(kind=kind, chance=chance, standing=standing))
    return tuple(found)


def _find(id: str) -> Find:
    return Find(id=id, words=id, start=-1, end=-1)


def item(
    ref: str,
    kinds: str,
    text: str = "",
    settings: Sequence[str] = (),
    components: Sequence[str] = (),
    often: str = "",
    harm: bool = False,
    release: int = 0,
    line: int = 1,
    outcome: str = "",
    versions: Sequence[str] = (),
    effects: Sequence[Mapping[str, Any]] = (),
    chance: float = 1.0,
) -> JudgedItem:
    """One judged item; `outcome` is held with .9, the rest of it is a nuisance."""
    place = Place(start=0, end=1, line=line, end_line=line)
    words = text or f"item {ref}"
    return JudgedItem(
        item=Item(
            ref=ref,
            text=words,
            original=words,
            places=(place,),
            versions=tuple(versions),
            effects=tuple(Effect(place=place, **{"setting": "a setting", **e}) for e in effects),
            chance=chance,
        ),
        release=release,
        judgements=judgements(kinds),
        finds=Finds(
            settings=tuple(map(_find, settings)),
            components=tuple(map(_find, components)),
            frequency=often,
            severity_words=(_find("harm"),) if harm else (),
        ),
        outcome=chances_of(outcome),
    )


def chances_of(outcome: str) -> OutcomeChances:
    """An outcome held with .9, or none."""
    if not outcome:
        return OutcomeChances()
    if outcome == "nuisance":
        return OutcomeChances(chances=((Outcome.NUISANCE, 1.0),))
    return OutcomeChances(chances=((Outcome(outcome), 0.9), (Outcome.NUISANCE, 0.1)))


def issue(
    text: str = "a known issue",
    outcome: str = "nuisance",
    release: int = 0,
    versions: Sequence[str] = (),
    often: str = "",
    chance: float = 1.0,
) -> JudgedIssue:
    """A known issue of a release."""
    place = Place(start=0, end=1, line=9, end_line=9)
    return JudgedIssue(
        issue=KnownIssue(ref="K1", text=text, place=place, versions=tuple(versions), chance=chance),
        release=release,
        finds=Finds(frequency=often),
        outcome=chances_of(outcome),
    )


def notice(
    kind: str = "withdrawn",
    text: str = "a word against it",
    versions: Sequence[str] = (),
    days: int | None = None,
    chance: float = 1.0,
    today: dt.date = DAY,
) -> Notice:
    """A word about a release; `days` from today is the day it names."""
    day = None if days is None else today + dt.timedelta(days=days)
    return Notice(
        kind=NoticeKind(kind),
        text=text,
        place=Place(start=0, end=1, line=8, end_line=8),
        versions=tuple(versions),
        day=None if day is None else StatedDate(text=str(day), day=day),
        chance=chance,
    )


def release(
    version: str = "1.5",
    items: Sequence[JudgedItem] = (),
    days: int | None = 3,
    component: str = "aircraft",
    status: str = "released",
    told: Sequence[str] = (),
    today: dt.date = DAY,
    notices: Sequence[Notice] = (),
    assumed: Sequence[str] = (),
) -> Release:
    """One release, `days` days old on `today`."""
    place = Place(start=0, end=1, line=1, end_line=1)
    day = None if days is None else today - dt.timedelta(days=days)
    return Release(
        title=f"Quillmere Heron 2 {version}",
        component=component,
        unit="Quillmere Heron 2",
        version=version,
        date=None if day is None else StatedDate(text=str(day), day=day),
        status=Status(status),
        items=tuple(j.item for j in items),
        instructions=tuple(
            Instruction(kind=InstructionKind(k), text=f"told: {k}", place=place) for k in told
        ),
        notices=tuple(notices),
        assumed=tuple(assumed),
        place=place,
    )


def notes(
    releases: Sequence[Release],
    items: Sequence[JudgedItem],
    issues: Sequence[JudgedIssue] = (),
    not_understood: float = 0.0,
) -> JudgedNotes:
    """The judged notes of those releases, oldest first."""
    text = "\n".join(j.item.text for j in items)
    source = Source(
        name="notes.txt",
        format=SourceFormat.TEXT,
        encoding="utf-8",
        sha256=hashlib.sha256(text.encode()).hexdigest(),
        characters=len(text),
    )
    return JudgedNotes(
        notes=Notes(source=source, releases=tuple(releases), not_understood=not_understood),
        items=tuple(items),
        issues=tuple(issues),
        model_sha256="0" * 64,
    )


def scope(
    judged: JudgedNotes,
    problems: Sequence[Problem] = (),
    reversible: bool | None = None,
    wanted_by: Sequence[str] = (),
    installed: str = "1.3",
) -> tuple[Candidate, ...]:
    """Each release of the notes as a candidate, all earlier ones coming with it."""
    found = []
    for index in range(len(judged.notes.releases)):
        refs = [j.item.ref for j in judged.items if j.release <= index]
        found.append(
            Candidate(
                release=index,
                path=tuple(range(index + 1)),
                items=tuple(refs),
                problems=tuple(problems),
                reversible=reversible,
                wanted_by=tuple(wanted_by),
                units=("heron",),
                installed=installed,
            )
        )
    return tuple(found)


def look(
    clean: bool = True,
    users: int = 1,
    function: str = "",
    release: int = 0,
    days_ago: int = 0,
    today: dt.date = DAY,
    flights: int = 1,
    outcome: str = "",
    explained: str = "",
) -> Evidence:
    """One group of field reports."""
    return Evidence(
        release=release,
        day=today - dt.timedelta(days=days_ago),
        users=users,
        clean=clean,
        function=function,
        flights=flights,
        outcome=Outcome(outcome) if outcome else None,
        explained=explained,
    )


def kit(
    needs: Sequence[str] = (),
    functions: Sequence[str] = (),
    jobs: Sequence[int] = (),
    version: str = "1.3",
    today: dt.date = DAY,
    conditions: Sequence[str] = (),
    without: Sequence[str] = (),
) -> Kit:
    """One aircraft; `jobs` are days from `today`, flown in `conditions`, not `without` these."""
    return Kit(
        units=(Unit(label="heron", component="aircraft", version=version),),
        jobs=tuple(
            Job(
                day=today + dt.timedelta(days=d),
                conditions=tuple(conditions),
                functions=tuple(without),
            )
            for d in jobs
        ),
        needs=tuple(needs),
        functions=tuple(functions),
    )


def met(judged: JudgedNotes, needs: Sequence[str]) -> dict[str, dict[str, float]]:
    """The needs that items meet, by their words."""
    found = need_chances(needs, [j.item.text for j in judged.items])
    return {
        need: {j.item.ref: float(c) for j, c in zip(judged.items, row, strict=True) if c}
        for need, row in zip(needs, found, strict=True)
    }


def simple(
    rows: Sequence[Mapping[str, Any]], **of_release: Any
) -> tuple[JudgedNotes, tuple[Candidate, ...]]:
    """Notes of one release holding `rows` (arguments of `item`), and their scope."""
    items = [item(ref=str(i), line=i, **row) for i, row in enumerate(rows, start=1)]
    judged = notes([release(items=items, **of_release)], items)
    return judged, scope(judged)
