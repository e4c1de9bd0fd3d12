"""`triage demo`: the invented scenario, assessed as if it were its own day."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

import typer

from triage.cli.out import say
from triage.cli.shared import PolicyOption, evidence, policy_named

DAY = dt.date(2026, 11, 25)  # the day the scenario was written for


def demo(
    policy: PolicyOption = None,
    brief: Annotated[bool, typer.Option("--brief", help="Only the note, without items.")] = False,
) -> None:
    """Assess the invented demo notes with the demo kit and field reports."""
    from triage.advice import DEFAULT
    from triage.app.pipeline import advise, engine, read_and_judge
    from triage.kit import load
    from triage.reference.shipped import folder
    from triage.render.output import Output, rendered

    place = folder("corpora") / "demo"
    file = place / "heron-2-release-notes.md"
    read = read_and_judge(file.read_bytes(), file.name, engine())
    looks = evidence(read.notes, place / "looks.jsonl")
    chosen = policy_named(policy or DEFAULT)
    answer = advise(read, load(place / "kit.toml"), chosen, looks, today=DAY)
    say("Demo: maker, kit, notes and reports are invented.\n\n")
    say(rendered(answer, Output.TEXT, brief=brief))
    say(f"\nThe demo's files are in {place}\n")
