"""`triage journal keep|outcome|review|correct`: what is written."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from triage.app.environment import day_named
from triage.cli.journal_shared import (
    About,
    Corrects,
    JournalOption,
    PilotOption,
    ReviewOption,
    add,
)
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
    day,
)
from triage.domain.choice import Choice
from triage.errors import ConfigError


class Went(StrEnum):
    """How a decision went."""

    WELL = "went-well"
    PROBLEM = "problem"


def keep(
    decision: Annotated[
        Choice, typer.Option("--decision", help="Follow the advice, or decide for yourself.")
    ],
    notes: Notes = None,
    reason: Annotated[
        str, typer.Option("--reason", help="Your reason; required when you overrule the advice.")
    ] = "",
    apart: Annotated[
        list[str] | None,
        typer.Option(
            "--apart", metavar="UNIT=CHOICE", help="A unit you decide differently; may be repeated."
        ),
    ] = None,
    review: ReviewOption = None,
    form: FormatOption = None,
    policy: PolicyOption = None,
    kit: KitOption = None,
    unit: UnitOption = "",
    today: DayOption = None,
    own_priors: OwnPriorsOption = False,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Assess notes as `triage assess` does, and record the advice with your decision."""
    from triage.app.assess import advise
    from triage.app.decide import decide
    from triage.render.output import Output, rendered

    chosen = dict(split_choice(words) for words in apart or ())
    due = day_named("--review", review)
    read, inputs = asked(
        notes, form, policy, kit, unit, today, own_priors=own_priors, journal=journal
    )
    advice = advise(read, inputs)
    say(rendered(advice, Output.TEXT, brief=True))
    entry, fault = decide(
        advice, inputs, decision, reason, apart=chosen, due=due, by=pilot,
        journal=journal,
    )  # fmt: skip
    if fault:
        warn(fault)
    say(f"Kept as entry {entry.seq}.\n")


def outcome(
    about: About,
    result: Annotated[Went, typer.Argument(help="How it went.")],
    words: Annotated[str, typer.Argument(help="What happened, in short.")] = "",
    unit: Annotated[
        list[str] | None, typer.Option("--unit", help="Only for this unit; repeatable.")
    ] = None,
    function: Annotated[
        str, typer.Option(help="The function affected; see: triage kit use --list.")
    ] = "",
    severity: Annotated[
        int | None,
        typer.Option(min=1, max=4, help="1 catastrophic, 2 critical, 3 marginal, 4 negligible."),
    ] = None,
    went_back: Annotated[bool, typer.Option("--went-back", help="Went back to before.")] = False,
    flights: Annotated[
        int | None, typer.Option(min=0, max=1_000_000, help="Flights it speaks for.")
    ] = None,
    avoided: Annotated[str, typer.Option(help="What waiting spared you.")] = "",
    today: DayOption = None,
    review: ReviewOption = None,
    corrects: Corrects = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Record how a decision went; without --review it is settled."""
    from triage.domain.journal import DecisionOutcome, Result
    from triage.kit.units import function_names

    if function and function not in function_names():
        known = ", ".join(function_names())
        raise ConfigError(f"no function '{function}'", mend=f"write one of {known}")
    payload = DecisionOutcome(
        about=about,
        corrects=corrects,
        day=day(today),
        units=tuple(unit or ()),
        result=Result(result.value),
        function=function,
        severity=severity,
        went_back=went_back,
        flights=flights,
        avoided=avoided,
        words=words,
        due=day_named("--review", review),
    )
    add(payload, pilot, journal)


def review(
    about: About,
    words: Annotated[str, typer.Argument(help="What you found.")] = "",
    again: Annotated[
        str | None, typer.Option("--next", metavar="DAY", help="Next review; else it is settled.")
    ] = None,
    today: DayOption = None,
    corrects: Corrects = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Record a look back at a decision."""
    from triage.domain.journal import Review

    payload = Review(
        about=about, corrects=corrects, day=day(today), words=words, due=day_named("--next", again)
    )
    add(payload, pilot, journal)


def correct(
    about: About,
    unit: Annotated[list[str], typer.Argument(metavar="UNIT=CHOICE", help="update or wait.")],
    words: Annotated[str, typer.Option("--because", help="What was wrong.")],
    reason: Annotated[str, typer.Option("--reason", help="The reason that now holds.")] = "",
    today: DayOption = None,
    review: ReviewOption = None,
    corrects: Corrects = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Correct what was decided by a later entry; the earlier one stays."""
    from triage.domain.advice import Verdict
    from triage.domain.journal import Correction, Decision

    decisions = []
    for label, choice in (split_choice(words) for words in unit):
        if choice is Choice.FOLLOW:
            raise ConfigError(f"'{label}=follow' is no decision", mend="write update or wait")
        verdict = Verdict.UPDATE if choice is Choice.UPDATE else Verdict.WAIT
        decisions.append(Decision(units=(label,), choice=verdict, reason=reason))
    payload = Correction(
        about=about,
        corrects=corrects,
        day=day(today),
        decisions=tuple(decisions),
        words=words,
        due=day_named("--review", review),
    )
    add(payload, pilot, journal)


def split_choice(words: str) -> tuple[str, Choice]:
    """'battery-1=wait' taken apart."""
    label, _, choice = words.rpartition("=")
    if not label or choice not in set(Choice):
        raise ConfigError(f"'{words}' is no decision", mend="write UNIT=update or UNIT=wait")
    return label, Choice(choice)
