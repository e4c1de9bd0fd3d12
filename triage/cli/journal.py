"""`triage journal`: decisions, how they went, and what they teach."""

from __future__ import annotations

import typer

from triage.cli import journal_read, journal_whole, journal_write

app = typer.Typer(
    help="Keep decisions, how they went and what they teach; entries are added, never changed.",
    no_args_is_help=True,
)
app.command("keep")(journal_write.keep)
app.command("list")(journal_read.list_)
app.command("show")(journal_read.show)
app.command("search")(journal_read.search)
app.command("outcome")(journal_write.outcome)
app.command("review")(journal_write.review)
app.command("correct")(journal_write.correct)
app.command("due")(journal_read.due)
app.command("stats")(journal_read.stats)
app.command("replay")(journal_read.replay)
app.command("verify")(journal_whole.verify)
app.command("export")(journal_whole.export)
app.command("import")(journal_whole.import_)
