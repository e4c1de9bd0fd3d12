"""`triage assess`: the recommendation for pasted or saved release notes."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli.out import say
from triage.cli.shared import (
    DayOption,
    FormatOption,
    KitOption,
    Notes,
    PolicyOption,
    UnitOption,
    day,
    evidence,
    judged,
    policy_named,
    recorded,
    remind,
)

if TYPE_CHECKING:
    from triage.pipeline import Advice


class Output(StrEnum):
    """Forms of the answer."""

    TEXT = "text"
    MARKDOWN = "markdown"
    HTML = "html"
    JSON = "json"


def assess(
    notes: Notes = None,
    form: FormatOption = None,
    policy: PolicyOption = None,
    kit: KitOption = None,
    unit: UnitOption = "",
    today: DayOption = None,
    explain: Annotated[
        str | None,
        typer.Option("--explain", metavar="ITEM", help="Show which words decided about an item."),
    ] = None,
    output: Annotated[Output, typer.Option("--output", help="Form of the answer.")] = Output.TEXT,
    json: Annotated[bool, typer.Option("--json", help="Same as --output json.")] = False,
    brief: Annotated[bool, typer.Option("--brief", help="Only the note, without items.")] = False,
) -> None:
    """Read release notes and recommend: update now, or wait and watch."""
    from triage.kit import load
    from triage.pipeline import advise, engine

    chosen, owned, on = policy_named(policy), load(kit), day(today)
    machine = engine()
    read = judged(notes, form, machine)
    if explain is not None:
        from triage.cli.items import explained

        say(explained(read, explain, machine))
        return
    result = advise(
        read, owned, chosen, evidence(read.notes), today=on, unit=unit, recorded=recorded(owned)
    )
    remind()
    say(rendered(result, Output.JSON if json else output, brief=brief))


def rendered(advice: Advice, output: Output, *, brief: bool = False) -> str:
    """The answer in the form asked for."""
    if output is Output.JSON:
        from triage import __version__
        from triage.render.json import Answer, UnitAnswer

        units = tuple(
            UnitAnswer(scope=u.scope, plan=u.plan, assessment=u.assessment) for u in advice.units
        )
        answer = Answer(tool_version=__version__, judged=advice.judged, units=units)
        return answer.model_dump_json(indent=2) + "\n"
    from triage.render.answer import outline

    whole = outline(advice.judged, advice.scope, advice.units, brief=brief)
    if output is Output.MARKDOWN:
        from triage.render.markdown import to_markdown

        return to_markdown(whole)
    if output is Output.HTML:
        from triage.render.html import to_html

        return to_html(whole)
    from triage.render.text import to_text

    return to_text(whole)
