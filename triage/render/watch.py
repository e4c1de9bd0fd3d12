"""Releases under watch as an outline: what to move to first, then what to watch for and when."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from triage.domain.advice import Verdict
from triage.domain.watch import Watch
from triage.render.note import VERDICT
from triage.render.outline import Outline, Paragraph, Point, Points, Section, Table


def watching(rows: Sequence[Watch], today: dt.date) -> Outline:
    """Every release under watch, in the order given."""
    if not rows:
        text = "Nothing is under watch; put notes there with: triage watch add NOTES"
        return (Section(title="Under watch", blocks=(Paragraph(text=text),), level=1),)
    turned = [row for row in rows if row.verdict is Verdict.UPDATE]
    waiting = [row for row in rows if row.verdict is Verdict.WAIT]
    over = [row for row in rows if row.verdict is None]
    return (*map(_turned, turned), *_waiting(waiting, today), *_over(over))


def _turned(row: Watch) -> Section:
    blocks = [
        *_warning(row),
        Paragraph(text=f"{row.headline}. From the notes '{row.notes.name}'."),
        Paragraph(
            text="Read the whole advice before you act on it (triage assess NOTES); the maker's "
            "manual and your local rules decide."
        ),
    ]
    return Section(title=f"{VERDICT[Verdict.UPDATE]}: {_what(row)}", blocks=tuple(blocks), level=1)


def _waiting(rows: Sequence[Watch], today: dt.date) -> Iterator[Section]:
    if not rows:
        return
    table = Table(
        head=("Release", "Advice", "Until", "Last report", "Next check", ""),
        rows=tuple(
            (
                _what(row),
                VERDICT[Verdict.WAIT].lower(),
                _day(row.until),
                _day(row.last_report),
                _day(row.next_check),
                _distance(row, today),
            )
            for row in rows
        ),
    )
    how = "After each check: triage report add VERSION clean (or problem)."
    warned = [p for row in rows for p in _warning(row)]
    yield Section(title="Under watch", blocks=(*warned, table, Paragraph(text=how)), level=1)
    for row in rows:
        points = [Point(text=text) for text in row.watch_for]
        points.append(Point(text=f"Why: {row.headline}.", source=f"notes '{row.notes.name}'"))
        block = Points(points=tuple(points))
        yield Section(title=f"What to watch for: {_what(row)}", blocks=(block,))


def _over(rows: Sequence[Watch]) -> Iterator[Section]:
    if rows:
        points = tuple(
            Point(
                text=f"{f'{_what(row)}: ' if row.units else ''}{row.headline}. No longer needed? "
                f"triage watch drop {_argument(row.notes.name)}"
            )
            for row in rows
        )
        yield Section(title="Nothing to decide", blocks=(Points(points=points),))


def _warning(row: Watch) -> list[Paragraph]:
    text = f"{_what(row)}: {row.warning}"
    return [Paragraph(text=text, strong=True)] if row.warning else []


def _what(row: Watch) -> str:
    release = " ".join(filter(None, (row.thing, row.version)))
    return f"{release} ({', '.join(row.units)})"


def _day(day: dt.date | None) -> str:
    return day.isoformat() if day else "-"


def _distance(row: Watch, today: dt.date) -> str:
    """How far off the next check is."""
    if row.next_check is None:
        return ""
    days = (row.next_check - today).days
    count = f"{abs(days)} day{'s' * (abs(days) != 1)}"
    return "due today" if not days else f"in {count}" if days > 0 else f"{count} late"


def _argument(name: str) -> str:
    return f'"{name}"' if " " in name else name
