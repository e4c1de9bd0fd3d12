from __future__ import annotations

import datetime as dt

from triage.domain.advice import Evidence
from triage.domain.notes import Notes, Place, Release, Source, SourceFormat, Status
from triage.domain.reports import FieldReport, Seen
from triage.reports import evidence_for, grouped

PLACE = Place(start=0, end=0, line=1, end_line=1)
SOURCE = Source(name="x", format=SourceFormat.TEXT, encoding="utf-8", sha256="", characters=0)


def release(version: str, component: str = "aircraft", unit: str = "") -> Release:
    return Release(
        title=version,
        component=component,
        unit=unit,
        version=version,
        date=None,
        status=Status.RELEASED,
        items=(),
        place=PLACE,
    )


def report(
    day: int, version: str, users: int = 1, component: str = "", unit: str = ""
) -> FieldReport:
    return FieldReport(
        day=dt.date(2026, 5, day),
        where="board",
        version=version,
        component=component,
        unit=unit,
        users=users,
        seen=Seen.CLEAN,
    )


def test_reports_find_their_release_and_count_once() -> None:
    notes = Notes(
        source=SOURCE,
        releases=(
            release("01.04"),
            release("2.0", "app"),
            release("1.3", unit="Quillmere Heron 2"),
        ),
    )
    reports = [
        report(1, "1.4", 200),
        report(9, "v1.4", 350),
        report(1, "2.0", component="app"),
        report(1, "2.0", component="goggles"),
        report(1, "1.3", unit="Heron 2"),
        report(1, "1.3", unit="Heron 3"),
        report(1, "9.9"),
    ]
    found, apart = evidence_for(notes, grouped(reports))
    assert found[0] == Evidence(
        release=0, day=dt.date(2026, 5, 9), users=350, clean=True, reports=2
    )
    assert [one.release for one in found] == [0, 1, 2]
    assert [(g.counted.version, g.counted.component, g.counted.unit) for g in apart] == [
        ("2.0", "goggles", ""),
        ("1.3", "", "Heron 3"),
        ("9.9", "", ""),
    ]
