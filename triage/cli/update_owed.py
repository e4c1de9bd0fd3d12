"""`triage update owed` and `pay`: what runs that are over still owe."""

from __future__ import annotations

from typing import Annotated

import typer

from triage.cli.out import say
from triage.cli.shared import KitOption


def owed() -> None:
    """List what runs that are over still owe."""
    from triage.render.text import to_text
    from triage.render.update_run import debts_listed as outline
    from triage.update.run_log import debts

    found = debts()
    say(to_text(outline(found)) if found else "Nothing is owed.\n")


def pay(
    name: Annotated[str, typer.Argument(help="The unit or the setting that is owed.")],
    version: Annotated[str, typer.Option(help="The version that the unit shows now.")] = "",
    value: Annotated[str, typer.Option(help="The value that the setting shows now.")] = "",
    note: Annotated[str, typer.Option(help="Why it stays, or what you saw.")] = "",
    kit: KitOption = None,
) -> None:
    """Pay what a run that is over still owes; a version goes into the kit."""
    from triage.app.update import pay_debt as paid

    done_ = paid(name, version=version, value=value, note=note, kit=kit)
    shows = version or value or note
    say(f"Paid: {name}, {shows}; owed from run {done_.run}.\n")
