"""`triage demo`: the invented scenario, assessed as if it were its own day."""

from __future__ import annotations

from typing import Annotated

import typer

from triage.cli.out import say
from triage.cli.shared import PolicyOption
from triage.render.output import Output, rendered


def demo(
    policy: PolicyOption = None,
    brief: Annotated[bool, typer.Option("--brief", help="Only the note, without items.")] = False,
) -> None:
    """Assess the invented demo notes with the demo kit and field reports."""
    from triage.app.assess import advise
    from triage.app.demo import demo_folder, demo_notes, demo_wanted
    from triage.app.gather import gather
    from triage.app.policies import policy_in
    from triage.app.read import engine, read_and_judge

    file = demo_notes()
    data = file.read_bytes()
    read = read_and_judge(data, file.name, engine())
    inputs = gather(read.notes, data, demo_wanted(policy_in(policy) if policy else None))
    say("Demo: maker, kit, notes and reports are invented.\n\n")
    say(rendered(advise(read, inputs), Output.TEXT, brief=brief))
    say(f"\nThe demo's files are in {demo_folder()}\n")
