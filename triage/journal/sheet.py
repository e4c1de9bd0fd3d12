"""Decisions and how they went as CSV (RFC 4180), a line for each group of units."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from triage.journal.cases import Case

HEAD = (
    "entry", "day", "pilot", "units", "component", "name", "installed", "release", "advice",
    "certainty", "decision", "followed", "reason", "result", "function", "severity", "went back",
    "flights", "avoided", "words", "review",
)  # fmt: skip
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_lines(cases: Iterable[Case]) -> Iterator[str]:
    """The head, then the cases, each line with its end."""
    yield _line(HEAD)
    for case in cases:
        yield _line(_row(case))


def _row(case: Case) -> tuple[object, ...]:
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
    )


def _line(cells: Iterable[object]) -> str:
    file = io.StringIO()
    csv.writer(file).writerow([_plain(cell) for cell in cells])
    return file.getvalue()


def _plain(cell: object) -> object:
    """A spreadsheet would run a cell that begins like a formula; common practice to mark it."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA) else cell
