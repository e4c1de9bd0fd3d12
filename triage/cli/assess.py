"""`triage assess`: the recommendation for pasted or saved release notes."""

from __future__ import annotations

from typing import Annotated

import typer

from triage.cli.out import say, warn
from triage.cli.shared import (
    DayOption,
    FormatOption,
    KitOption,
    Notes,
    OwnPriorsOption,
    PolicyOption,
    UnitOption,
    asked,
    remind,
)
from triage.domain.choice import Choice
from triage.render.output import Output, rendered


def assess(
    notes: Notes = None,
    form: FormatOption = None,
    policy: PolicyOption = None,
    kit: KitOption = None,
    unit: UnitOption = "",
    today: DayOption = None,
    own_priors: OwnPriorsOption = False,
    output: Annotated[Output, typer.Option("--output", help="Output format.")] = Output.TEXT,
    json: Annotated[bool, typer.Option("--json", help="Same as --output json.")] = False,
    brief: Annotated[bool, typer.Option("--brief", help="Only the note, without items.")] = False,
    keep: Annotated[
        Choice | None,
        typer.Option("--keep", help="Record the advice and this decision in the journal."),
    ] = None,
    reason: Annotated[
        str, typer.Option("--reason", help="Your reason; required when you overrule the advice.")
    ] = "",
    watch: Annotated[
        bool, typer.Option("--watch", help="Watch these notes; see: triage watch.")
    ] = False,
) -> None:
    """Read release notes and recommend: update now, or wait and watch."""
    from triage.app.assess import advise

    read, inputs = asked(notes, form, policy, kit, unit, today, own_priors=own_priors)
    advice = advise(read, inputs)
    remind()
    say(rendered(advice, Output.JSON if json else output, brief=brief))
    if keep is not None:
        from triage.app.decide import decide

        entry, remark = decide(advice, inputs, keep, reason)
        if remark:
            warn(remark)
        warn(f"kept in the journal as entry {entry.seq}")
    if watch:
        from triage.app.watch import watch_notes as under_watch

        source = read.notes.source
        warn(under_watch(inputs.data, source.name, format=source.format, unit=unit, day=inputs.day))
