"""Options and steps that several commands share."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

if TYPE_CHECKING:
    from triage.app.gather import Wanted
    from triage.app.read import Engine
    from triage.domain.answer import Inputs
    from triage.domain.judged import JudgedNotes
    from triage.domain.notes import SourceFormat

_MANY = 3000  # items that take some ten seconds to judge


class Form(StrEnum):
    """The forms notes may have."""

    TEXT = "text"
    MARKDOWN = "markdown"
    HTML = "html"
    PDF = "pdf"


Notes = Annotated[
    str | None,
    typer.Argument(help="File with the notes, or '-' for standard input; without one, paste them."),
]
FormatOption = Annotated[
    Form | None, typer.Option("--format", help="Format of the notes; detected by default.")
]
DayOption = Annotated[
    str | None, typer.Option("--today", help="Day to assess from, YYYY-MM-DD; today by default.")
]
PolicyOption = Annotated[
    str | None,
    typer.Option("--policy", help="A preset or a policy file; by default your own, else balanced."),
]
KitOption = Annotated[
    Path | None, typer.Option("--kit", help="Kit file; by default your own, else one aircraft.")
]
UnitOption = Annotated[
    str, typer.Option("--unit", help="Label of the unit the notes are for, if they don't say.")
]

OwnPriorsOption = Annotated[
    bool,
    typer.Option("--own-priors", help="Use the base rates of your own journal as priors."),
]


def day(text: str | None) -> dt.date:
    """The day named, or today."""
    from triage.app.environment import day_named, today

    return day_named("--today", text) or today()


def judged(name: str | None, form: Form | None, engine: Engine) -> JudgedNotes:
    """The notes named, read and judged."""
    from triage.cli.out import read_source

    return _judged(*read_source(name), form, engine)


def source_format(form: Form | None) -> SourceFormat | None:
    """The form as the reader calls it."""
    from triage.domain.notes import SourceFormat

    return SourceFormat(form.value) if form else None


def _judged(data: bytes, called: str, form: Form | None, engine: Engine) -> JudgedNotes:
    from triage.app.read import read_and_judge

    return read_and_judge(data, called, engine, format=source_format(form), begun=_patience)


def _patience(items: int) -> None:
    """Says so when judging will take long."""
    from triage.cli.out import warn

    if items > _MANY:
        warn(f"{items:,} items are read one by one; this may take minutes")


class AskedFor(NamedTuple):
    """The inputs that the options named, and the judged notes."""

    judged: JudgedNotes
    inputs: Inputs


def asked(
    notes: str | None,
    form: Form | None,
    policy: str | None,
    kit: Path | None,
    unit: str,
    today: str | None,
    *,
    own_priors: bool = False,
    journal: str | None = None,
) -> AskedFor:
    """Read the notes named, and gather what an advice on them is made from."""
    from triage.app.gather import gather
    from triage.app.read import engine
    from triage.cli.out import read_source, warn

    wanted = wanted_by(policy, kit, unit, today, own_priors=own_priors, journal=journal)
    data, called = read_source(notes)
    read = _judged(data, called, form, engine())
    inputs = gather(read.notes, data, wanted)
    for remark in inputs.remarks:
        warn(remark)
    return AskedFor(read, inputs)


def wanted_by(
    policy: str | None,
    kit: Path | None,
    unit: str,
    today: str | None,
    *,
    own_priors: bool = False,
    journal: str | None = None,
) -> Wanted:
    """What the options ask for; ConfigError where one does not hold."""
    from triage.app.gather import Wanted
    from triage.app.policies import policy_in

    return Wanted(
        policy=policy_in(policy or ""),
        kit=kit,
        unit=unit,
        day=day(today),
        own_priors=own_priors,
        journal=journal,
    )


def remind() -> None:
    """Say that an update run is open, where one is."""
    from triage.cli.out import warn
    from triage.update.run_log import reminder

    if line := reminder():
        warn(line)
