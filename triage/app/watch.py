"""How each release under watch stands today: the advice made anew, and the next look due."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from triage.advice.weigh import release_day
from triage.app.pipeline import Advice, Engine, UnitAdvice, advise, read_and_judge
from triage.domain.advice import Verdict
from triage.domain.kit import Kit
from triage.domain.notes import Release
from triage.domain.policy import Policy
from triage.domain.reports import Look
from triage.domain.watch import Watch, Watched
from triage.errors import SourceError, StoreError
from triage.reports import evidence_for, grouped
from triage.reports.evidence import is_about
from triage.watch.watch_intervals import next_look
from triage.watch.watch_store import data_of

if TYPE_CHECKING:
    from triage.classify.judge import Settled

_ORDER = {Verdict.UPDATE: 0, Verdict.WAIT: 1, None: 2}


def standing(
    watched: Sequence[Watched],
    engine: Engine,
    kit: Kit,
    policy: Policy,
    looks: Sequence[Look],
    *,
    today: dt.date,
    settled: Settled = lambda item: None,
    fault: Callable[[str], None],
) -> tuple[Watch, ...]:
    """Every release under watch: those to move to first, then by the day of the next look.

    Notes that cannot be read any more are told to `fault`, and the others are weighed all the same.
    """
    rows: list[Watch] = []
    for notes in watched:
        try:
            judged = read_and_judge(
                data_of(notes), notes.name, engine, format=notes.format, settled=settled
            )
        except (SourceError, StoreError) as error:
            fault(str(error))
            continue
        seen = evidence_for(judged.notes, grouped(tuple(looks)))[0]
        answer = advise(judged, kit, policy, seen, today=today, unit=notes.unit)
        rows += rows_of(notes, answer, looks, today)
    return tuple(sorted(rows, key=lambda w: (_ORDER[w.verdict], w.next_look or dt.date.max)))


def rows_of(
    notes: Watched, answer: Advice, looks: Sequence[Look], today: dt.date
) -> Iterator[Watch]:
    """A row for each group of units that the notes concern; one without units where none is."""
    if not answer.units:
        yield Watch(
            notes=notes,
            units=(),
            thing="",
            installed="",
            version=None,
            verdict=None,
            headline="These notes hold no release for a unit of your kit",
        )
    for unit in answer.units:
        yield _row(notes, answer, unit, looks, today)


def _row(
    notes: Watched, answer: Advice, unit: UnitAdvice, looks: Sequence[Look], today: dt.date
) -> Watch:
    advice, scope = unit.assessment, unit.scope
    releases = answer.judged.notes.releases
    release = None if advice.subject is None else releases[advice.subject]
    ahead = [releases[candidate.release] for candidate in advice.candidates]
    last = _last_look(ahead, looks, today)
    due = every = None
    if release is not None and advice.verdict is Verdict.WAIT:
        released = release_day(release.date, today)
        due, every = next_look(notes.added, released, last, advice.until)
    return Watch(
        notes=notes,
        units=scope.labels,
        thing=scope.unit.name or scope.unit.component,
        installed=scope.installed,
        version=(release.version or release.title) if release else None,
        verdict=advice.verdict if release else None,
        headline=advice.headline,
        warning=advice.warning,
        until=advice.until,
        look_for=advice.watch_for,
        last_look=last,
        next_look=due,
        every=every,
    )


def _last_look(
    releases: Sequence[Release], looks: Sequence[Look], today: dt.date
) -> dt.date | None:
    days = [
        look.day
        for look in looks
        if look.day <= today and any(is_about(look, release) for release in releases)
    ]
    return max(days, default=None)
