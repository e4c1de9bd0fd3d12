"""`triage journal keep|outcome|review|correct`: what is written."""

from __future__ import annotations

from collections.abc import Iterable
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

import typer

from triage.cli.journal_shared import (
    About,
    Corrects,
    JournalOption,
    PilotOption,
    ReviewOption,
    add,
    pilot_named,
    remark,
    stated_day,
)
from triage.cli.out import say
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
from triage.errors import ConfigError

if TYPE_CHECKING:
    from triage.app.pipeline import Advice
    from triage.cli.shared import Asked
    from triage.domain.journal import Entry
    from triage.journal.record_decision import Choice as Chosen
    from triage.journal.record_decision import Inputs


class Choice(StrEnum):
    """What was decided."""

    FOLLOW = "follow"
    UPDATE = "update"
    WAIT = "wait"


class Went(StrEnum):
    """How a decision went."""

    WELL = "went-well"
    PROBLEM = "problem"


def keep(
    decision: Annotated[
        Choice, typer.Option("--decision", help="As advised, or one whatever was advised.")
    ],
    notes: Notes = None,
    reason: Annotated[str, typer.Option("--reason", help="Why; needed to overrule.")] = "",
    apart: Annotated[
        list[str] | None,
        typer.Option(
            "--apart", metavar="UNIT=CHOICE", help="A unit decided otherwise; repeatable."
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
    from triage.render.output import Output, rendered

    answer = asked(notes, form, policy, kit, unit, today, own_priors=own_priors, journal=journal)
    say(rendered(answer.advice, Output.TEXT, brief=True))
    entry = keep_asked(
        answer, decision.value, reason, apart=apart or (), review=review, pilot=pilot,
        journal=journal,
    )  # fmt: skip
    say(f"Kept as entry {entry.seq}.\n")


def keep_asked(
    answer: Asked,
    decision: str,
    reason: str,
    *,
    apart: Iterable[str] = (),
    review: str | None = None,
    pilot: str | None = None,
    journal: str | None = None,
) -> Entry:
    """Record an advice with what it was made from."""
    from triage.journal.record_decision import Inputs

    inputs = Inputs(**{k: v for k, v in answer._asdict().items() if k != "advice"})
    return keep_advice(
        answer.advice, inputs, decision, reason, apart=apart, review=review, pilot=pilot,
        journal=journal,
    )  # fmt: skip


def keep_advice(
    advice: Advice,
    inputs: Inputs,
    decision: str,
    reason: str,
    *,
    apart: Iterable[str] = (),
    review: str | None = None,
    pilot: str | None = None,
    journal: str | None = None,
) -> Entry:
    """Record an advice that was shown, with the looks that speak of its releases."""
    from triage.journal.record_decision import Choice as Made
    from triage.journal.record_decision import keep as record
    from triage.journal.store import open_journal
    from triage.reports import read
    from triage.reports.evidence import is_about

    releases = advice.judged.notes.releases
    looks = tuple(look for look in read().looks if any(is_about(look, r) for r in releases))
    store = open_journal(journal, create=True)
    entry = record(
        store,
        advice,
        inputs._replace(looks=looks),
        Made(decision),
        reason,
        apart=dict(split_choice(words) for words in apart),
        due=stated_day("--review", review),
        pilot=pilot_named(pilot, store),
    )
    remark(store)
    return entry


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
    avoided: Annotated[str, typer.Option(help="What waiting kept away.")] = "",
    today: DayOption = None,
    review: ReviewOption = None,
    corrects: Corrects = None,
    pilot: PilotOption = None,
    journal: JournalOption = None,
) -> None:
    """Record how a decision went; without --review it is settled."""
    from triage.domain.journal import Outcome, Result
    from triage.kit.units import function_names

    if function and function not in function_names():
        known = ", ".join(function_names())
        raise ConfigError(f"no function '{function}'", mend=f"write one of {known}")
    payload = Outcome(
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
        due=stated_day("--review", review),
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
        about=about, corrects=corrects, day=day(today), words=words, due=stated_day("--next", again)
    )
    add(payload, pilot, journal)


def correct(
    about: About,
    unit: Annotated[list[str], typer.Argument(metavar="UNIT=CHOICE", help="update or wait.")],
    words: Annotated[str, typer.Option("--because", help="What was wrong.")],
    reason: Annotated[str, typer.Option("--reason", help="The reason that stands.")] = "",
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
        if choice.value == Choice.FOLLOW.value:
            raise ConfigError(f"'{label}=follow' is no decision", mend="write update or wait")
        verdict = Verdict.UPDATE if choice.value == Choice.UPDATE.value else Verdict.WAIT
        decisions.append(Decision(units=(label,), choice=verdict, reason=reason))
    payload = Correction(
        about=about,
        corrects=corrects,
        day=day(today),
        decisions=tuple(decisions),
        words=words,
        due=stated_day("--review", review),
    )
    add(payload, pilot, journal)


def split_choice(words: str) -> tuple[str, Chosen]:
    """'battery-1=wait' taken apart."""
    from triage.journal.record_decision import Choice as Made

    label, _, choice = words.rpartition("=")
    if not label or choice not in set(Made):
        raise ConfigError(f"'{words}' is no decision", mend="write UNIT=update or UNIT=wait")
    return label, Made(choice)
