"""`triage items`: what the notes change, item by item, without advice."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli.correct import Stated
from triage.cli.out import say
from triage.cli.shared import FormatOption, Notes, judged

if TYPE_CHECKING:
    from triage.app.read import Engine
    from triage.domain.judged import JudgedNotes


def items(
    notes: Notes = None,
    form: FormatOption = None,
    json: Annotated[bool, typer.Option("--json", help="Print the versioned record.")] = False,
    explain: Annotated[
        str | None,
        typer.Option("--explain", metavar="ITEM", help="Show which words decided about an item."),
    ] = None,
    settle: Annotated[
        bool, typer.Option("--settle", help="Ask you about each item that is unsure.")
    ] = False,
    settle_item: Annotated[
        list[str] | None,
        typer.Option(
            "--settle-item",
            metavar="ITEM=KINDS",
            help="Correct one item: kinds between commas, or 'none'. May be repeated.",
        ),
    ] = None,
    aside: Annotated[
        bool, typer.Option("--aside", help="Show what was left aside as changing nothing.")
    ] = False,
    release: Annotated[
        int, typer.Option("--release", help="Release to correct, counted from 1 in the notes.")
    ] = 1,
    version: Annotated[
        str | None, typer.Option("--version", help="Correct the release's version; kept.")
    ] = None,
    released: Annotated[
        str | None, typer.Option("--released", metavar="DAY", help="Correct its day; kept.")
    ] = None,
    component: Annotated[
        str | None, typer.Option("--for", metavar="COMPONENT", help="Correct its unit; kept.")
    ] = None,
    role: Annotated[
        list[str] | None,
        typer.Option(
            "--role",
            metavar="LINE=ROLE",
            help="Correct what a line is: change, instruction, known-issue, notice, background.",
        ),
    ] = None,
) -> None:
    """Split release notes into change items and say what each is."""
    from triage.app.read import engine

    machine = engine()
    read = judged(notes, form, machine)
    stated = Stated(release, version, released, component, tuple(role or ()))
    if stated.says_something:
        from triage.cli.correct import correct

        correct(read, stated)
        read = judged(notes, form, machine) if notes not in (None, "-") else read
    if settle or settle_item:
        from triage.cli.settle import settle_asked, settle_stated

        settle_stated(read, settle_item or [], machine)
        if settle:
            settle_asked(read, machine, piped=notes in (None, "-"))
    elif explain is not None:
        say(explained(read, explain, machine))
    elif json:
        from triage import __version__
        from triage.render.json import answer_of

        say(answer_of(__version__, read).model_dump_json(indent=2) + "\n")
    else:
        from triage.render.items import by_release
        from triage.render.text import to_text

        say(to_text(by_release(read, aside=aside)))


def explained(read: JudgedNotes, ref: str, machine: Engine) -> str:
    """Which words moved each kind of one item, as terminal text."""
    from triage.app.read import explain_item as moved
    from triage.app.read import item_called
    from triage.render.explanation import explanation
    from triage.render.text import to_text

    found = item_called(read, ref)
    return to_text(explanation(found, moved(read, found, machine)))
