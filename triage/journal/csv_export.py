"""Decisions and how they went as CSV (RFC 4180), a line for each group of units.

Update runs stand between them in the order they were written, a line each.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from heapq import merge

from triage.domain.journal import JournalEntry, Updated
from triage.journal.history import PastDecision
from triage.journal.record_update import moved

HEAD = (
    "entry", "day", "pilot", "units", "component", "name", "installed", "release", "advice",
    "certainty", "decision", "followed", "reason", "result", "function", "severity", "went back",
    "flights", "avoided", "words", "review", "kind", "about",
)  # fmt: skip
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_lines(cases: Iterable[PastDecision], updates: Iterable[JournalEntry] = ()) -> Iterator[str]:
    """The head, then cases and update runs, each line with its end."""
    yield _line(HEAD)
    rows: Iterator[PastDecision | JournalEntry] = merge(cases, updates, key=_seq)
    for one in rows:
        yield _line(_row(one) if isinstance(one, PastDecision) else _update_row(one))


def _seq(one: PastDecision | JournalEntry) -> int:
    return one.seq


def _row(case: PastDecision) -> tuple[object, ...]:
    advised, decision, outcome = case.advised, case.decision, case.outcome
    told: tuple[object, ...] = ("", "", "", "")
    if outcome is not None:
        back = "yes" if any(o.went_back for o in case.problems) else "no"
        told = (outcome.result.value, outcome.function, outcome.severity or "", back)
    return (
        case.seq,
        case.day.isoformat(),
        case.pilot,
        " ".join(decision.units),
        advised.component,
        advised.name,
        advised.installed,
        advised.version,
        advised.verdict.value,
        advised.share,
        decision.choice.value,
        "yes" if case.followed else "no",
        decision.reason,
        *told,
        case.flights or "",
        "; ".join(case.avoided),
        outcome.words if outcome else "",
        case.due.isoformat() if case.due else "",
        "decision",
        case.seq,
    )


def _update_row(entry: JournalEntry) -> tuple[object, ...]:
    payload = entry.record.payload
    assert isinstance(payload, Updated)
    over = payload.summary
    left_out = [f"left out: {t.title} ({t.reason})" for t in over.skipped if t.title]
    return (
        entry.seq,
        payload.day.isoformat(),
        entry.record.pilot,
        over.unit,
        "",
        over.title,
        next((c.before for c in over.versions if c.unit == over.unit), ""),
        over.version,
        over.verdict.value,
        "",
        "",
        "no" if over.against else "yes",
        over.abandoned,
        "abandoned" if over.abandoned else "finished",
        *([""] * 5),
        "; ".join((*moved(over), *left_out)),
        "",
        payload.kind,
        payload.about,
    )


def _line(cells: Iterable[object]) -> str:
    file = io.StringIO()
    csv.writer(file).writerow([_plain(cell) for cell in cells])
    return file.getvalue()


def _plain(cell: object) -> object:
    """A spreadsheet would run a cell that begins like a formula; common practice to mark it."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell
