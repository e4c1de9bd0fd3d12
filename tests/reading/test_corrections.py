"""What the operator corrects in a reading is kept and takes effect."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from triage.domain.corrections import ReadingCorrection
from triage.domain.notes import (
    Aside,
    Item,
    Notes,
    Place,
    Release,
    Role,
    Source,
    SourceFormat,
    Status,
)
from triage.reading.corrections import corrected, keep, kept_for

PLACE = Place(start=0, end=5, line=1, end_line=1)


def notes() -> Notes:
    item = Item(ref="1", text="Fixed hover drift", original="", places=(PLACE,))
    release = Release(
        title="1.2",
        component="aircraft",
        unit="",
        version="1.2",
        date=None,
        status=Status.RELEASED,
        items=(item,),
        place=PLACE,
    )
    source = Source(
        name="n.txt", format=SourceFormat.TEXT, encoding="utf-8", sha256="a" * 64, characters=9
    )
    aside = (Aside(role=Role.BACKGROUND, text="The props may turn after landing", place=PLACE),)
    return Notes(source=source, releases=(release,), aside=aside)


def test_version_day_and_unit(tmp_path: Path) -> None:
    path = tmp_path / "readings.jsonl"
    keep(
        ReadingCorrection(
            sha256="a" * 64, version="1.3", day=dt.date(2026, 5, 1), component="battery"
        ),
        path,
    )
    release = corrected(notes(), kept_for("a" * 64, path)).releases[0]
    assert release.version == "1.3" and release.component == "battery"
    assert release.date is not None and release.date.day == dt.date(2026, 5, 1)
    assert kept_for("b" * 64, path) == ()


def test_a_statement_moves_to_what_it_is() -> None:
    text = "The props may turn after landing"
    moved = corrected(
        notes(), [ReadingCorrection(sha256="", statement=text, role=Role.KNOWN_ISSUE)]
    )
    assert [issue.text for issue in moved.releases[0].known_issues] == [text]
    assert moved.aside == ()
    back = corrected(moved, [ReadingCorrection(sha256="", statement=text, role=Role.BACKGROUND)])
    assert back.releases[0].known_issues == () and [a.text for a in back.aside] == [text]


def test_what_no_longer_fits_is_passed_over() -> None:
    before = notes()
    assert corrected(before, [ReadingCorrection(sha256="", release=7, version="9")]) == before
