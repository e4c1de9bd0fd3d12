"""`triage journal export|import|verify`: the journal as a whole."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TypeVar

import typer

from triage.cli.journal_shared import JournalOption, NamesOption, opened, remark, say_outline
from triage.cli.out import say
from triage.errors import ConfigError

if TYPE_CHECKING:
    from triage.domain.journal import JournalEntry
    from triage.journal.store import Journal

One = TypeVar("One")


class ExportForm(StrEnum):
    """Forms of an export."""

    JSONL = "jsonl"
    CSV = "csv"
    HTML = "html"


def verify(
    end: Annotated[
        str | None,
        typer.Option(metavar="NUMBER:DIGEST", help="An end of the journal noted elsewhere."),
    ] = None,
    journal: JournalOption = None,
) -> None:
    """Check that every entry is as it was written; exit 1 where one is not."""
    from triage.journal.checkpoint import Anchor
    from triage.journal.verify import verify as walk
    from triage.render.journal import verified_shown

    store, noted = opened(journal), None
    if end is not None:
        number, _, digest = end.partition(":")
        if not number.isdigit() or len(digest) < 8:
            raise ConfigError(f"'{end}' is no end of a journal", mend="write NUMBER:DIGEST")
        noted = Anchor(journal=store.id, seq=int(number), digest=digest.lower())
    result = walk(store, noted)
    say_outline(verified_shown(result))
    if result.fault is not None:
        raise typer.Exit(1)
    if result.entries:
        store.remember((result.entries, result.digest))
        remark(store)


def export(
    out: Annotated[Path | None, typer.Argument(help="File to write; else printed.")] = None,
    form: Annotated[ExportForm, typer.Option("--form", help="Form.")] = ExportForm.JSONL,
    last: Annotated[
        int, typer.Option(min=1, help="Decisions and runs listed in the HTML report.")
    ] = 500,
    without_names: NamesOption = False,
    journal: JournalOption = None,
) -> None:
    """Write the journal as JSON Lines (can be imported), CSV, or a report to print."""
    from triage.journal.whole_file import whole_file

    pieces = _export(opened(journal), form, last, names=not without_names)
    if out is None:
        for piece in pieces:
            say(piece)
        return
    with whole_file(out) as file:
        file.writelines(pieces)
    say(f"Written: {out}\n")


def import_(
    file: Annotated[Path, typer.Argument(help="A journal exported as JSON Lines.")],
    journal: JournalOption = None,
) -> None:
    """Take over an exported journal, or the entries that this one lacks."""
    from triage.journal.exchange import import_lines
    from triage.journal.store import open_journal

    try:
        lines = file.open("rb")
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise ConfigError(reason, where=str(file), mend="check the name") from error
    with lines:
        store = open_journal(journal, create=True)
        done = import_lines(store, lines, str(file))
    remark(store)
    say(f"Imported {done.new} entries; the journal has {done.entries}.\n")


def _export(store: Journal, form: ExportForm, last: int, *, names: bool) -> Iterator[str]:
    from triage.journal.anonymise import Names, nameless_case, nameless_update
    from triage.journal.csv_export import csv_lines
    from triage.journal.exchange import export_lines
    from triage.journal.history import PastDecision, cases
    from triage.journal.learning import stats as count
    from triage.journal.record_update import updates
    from triage.render.html import to_html
    from triage.render.journal_learnt import journal_report

    if form is ExportForm.JSONL:
        yield from export_lines(store, names=names)
        return
    known = Names()
    found = cases(store) if names else (nameless_case(c, known) for c in cases(store))
    runs = updates(store) if names else (nameless_update(e, known) for e in updates(store))
    if form is ExportForm.CSV:
        yield from csv_lines(found, runs)
        return
    newest: deque[PastDecision] = deque(maxlen=last)
    ran: deque[JournalEntry] = deque(maxlen=last)
    counted = count(_noting(found, newest), _noting(runs, ran))
    earlier = counted.decisions - len(newest)
    yield to_html(journal_report(counted, tuple(reversed(newest)), earlier, tuple(reversed(ran))))


def _noting(found: Iterable[One], newest: deque[One]) -> Iterator[One]:
    for one in found:
        newest.append(one)
        yield one
