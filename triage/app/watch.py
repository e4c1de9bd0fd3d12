"""Use case: releases under watch, each weighed anew, and when the next check is due."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence

from triage.advice.ground import release_day
from triage.app.assess import advise
from triage.app.environment import today
from triage.app.gather import Wanted, gather
from triage.app.read import Engine, read_and_judge
from triage.domain.advice import Verdict
from triage.domain.answer import Advice, UnitAdvice
from triage.domain.notes import Release, SourceFormat
from triage.domain.reports import FieldReport
from triage.domain.watch import Watch, Watched
from triage.errors import SourceError, StoreError
from triage.reading.formats import document_blocks
from triage.reports.evidence import is_about
from triage.watch.watch_intervals import next_check
from triage.watch.watch_store import data_of, drop, watched
from triage.watch.watch_store import store_watched as store

__all__ = ["drop", "reassess", "watch_notes", "watched"]

_ORDER = {Verdict.UPDATE: 0, Verdict.WAIT: 1, None: 2}


def reassess(
    watched: Sequence[Watched],
    engine: Engine,
    wanted: Wanted,
    *,
    fault: Callable[[str], None],
) -> tuple[Watch, ...]:
    """Every release under watch: those to move to first, then by the day of the next check.

    Notes that cannot be read any more are told to `fault`, and the others are weighed all the same.
    """
    rows: list[Watch] = []
    for notes in watched:
        try:
            data = data_of(notes)
            judged = read_and_judge(data, notes.name, engine, format=notes.format)
        except (SourceError, StoreError) as error:
            fault(str(error))
            continue
        inputs = gather(judged.notes, data, wanted._replace(unit=notes.unit))
        rows += rows_of(notes, advise(judged, inputs), inputs.reports, inputs.day)
    return tuple(sorted(rows, key=lambda w: (_ORDER[w.verdict], w.next_check or dt.date.max)))


def watch_notes(
    data: bytes,
    name: str,
    *,
    called: str = "",
    format: SourceFormat | None = None,
    unit: str = "",
    day: dt.date | None = None,
) -> str:
    """Put notes under watch, the same notes once; what came of it in a line.

    `called` is what to call them, else `name`. SourceError when they cannot be read.
    """
    source = document_blocks(data, name, format).source
    new = Watched(
        sha256=source.sha256,
        name=called.strip() or source.name,
        format=source.format,
        unit=unit,
        added=day or today(),
    )
    before = watched().watched
    kept = store(data, new)
    if any(one.sha256 == new.sha256 for one in before):
        return f"under watch already, since {kept.added.isoformat()}: {kept.name}"
    older = ", ".join(one.sha256[:12] for one in before if one.name == kept.name)
    line = f"under watch: {kept.name}; see: triage watch"
    if older:
        line += f" (other notes of that name are too; to drop them: triage watch drop {older})"
    return line


def rows_of(
    notes: Watched, answer: Advice, reports: Sequence[FieldReport], today: dt.date
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
        yield _row(notes, answer, unit, reports, today)


def _row(
    notes: Watched, answer: Advice, unit: UnitAdvice, reports: Sequence[FieldReport], today: dt.date
) -> Watch:
    advice, scope = unit.assessment, unit.scope
    releases = answer.judged.notes.releases
    release = None if advice.subject is None else releases[advice.subject]
    ahead = [releases[candidate.release] for candidate in advice.candidates]
    last = _last_report(ahead, reports, today)
    due = every = None
    if release is not None and advice.verdict is Verdict.WAIT:
        released = release_day(release.date, today)
        due, every = next_check(notes.added, released, last, advice.until)
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
        watch_for=advice.watch_for,
        last_report=last,
        next_check=due,
        every=every,
    )


def _last_report(
    releases: Sequence[Release], reports: Sequence[FieldReport], today: dt.date
) -> dt.date | None:
    days = [
        report.day
        for report in reports
        if report.day <= today and any(is_about(report, release) for release in releases)
    ]
    return max(days, default=None)
