"""`triage policy`: show, set, check and compare risk policies."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from triage.cli.out import say
from triage.cli.shared import (
    DayOption,
    FormatOption,
    KitOption,
    Notes,
    UnitOption,
    asked,
)

app = typer.Typer(
    help="How much proof, how long a wait and how much risk you accept.", no_args_is_help=True
)


@app.command()
def show(
    name: Annotated[str | None, typer.Argument(help="Preset or file; else your own.")] = None,
) -> None:
    """Print a policy as commented TOML, each number with its reason."""
    from triage.advice import DEFAULT, policy_text, presets
    from triage.app.policies import policy_in

    chosen = policy_in(name or "")
    base = chosen.name if chosen.name in presets() else DEFAULT
    say(policy_text(chosen, base))


@app.command("set")
def set_(
    values: Annotated[list[str], typer.Argument(help="A preset, and/or field=value ...")],
) -> None:
    """Write your policy file: a preset, single values, or both."""
    from triage.app.policies import set_values

    path = set_values(values)
    say(f"Written: {path}\n")


@app.command()
def check(
    file: Annotated[Path | None, typer.Argument(help="Policy file; else your own.")] = None,
) -> None:
    """Say whether a policy file holds."""
    from triage.app.policies import check_file

    path, policy = check_file(file)
    if policy is None:
        say("No policy file of your own; the balanced preset is used.\n")
    else:
        say(f"{path}: holds ({policy.name}).\n")


@app.command()
def compare(
    notes: Notes = None,
    form: FormatOption = None,
    kit: KitOption = None,
    unit: UnitOption = "",
    today: DayOption = None,
) -> None:
    """Show the advice under each preset, and your own policy, side by side."""
    from triage.app.compare import compare_policies
    from triage.render.comparison import policies_compared
    from triage.render.text import to_text

    read, inputs = asked(notes, form, None, kit, unit, today)
    say(to_text(policies_compared(read, compare_policies(read, inputs))))
