"""Options and steps that several commands share."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from triage.errors import ConfigError

if TYPE_CHECKING:
    from triage.advice.tables import PriorTable
    from triage.app.pipeline import Advice, Engine
    from triage.domain.advice import Evidence, OwnRecord
    from triage.domain.judged import JudgedNotes
    from triage.domain.kit import Kit
    from triage.domain.notes import Notes as ReadNotes
    from triage.domain.policy import Policy

_MANY = 3000  # items that take some ten seconds to judge


class Form(StrEnum):
    """The forms notes may have."""

    TEXT = "text"
    MARKDOWN = "markdown"
    HTML = "html"
    PDF = "pdf"


Notes = Annotated[
    str | None, typer.Argument(help="File with the notes, '-' for standard input; else paste them.")
]
FormatOption = Annotated[
    Form | None, typer.Option("--format", help="Form of the notes; found out when not given.")
]
DayOption = Annotated[
    str | None, typer.Option("--today", help="Day to judge from, YYYY-MM-DD; today when not given.")
]
PolicyOption = Annotated[
    str | None,
    typer.Option("--policy", help="Preset or policy file; else your own, else balanced."),
]
KitOption = Annotated[
    Path | None, typer.Option("--kit", help="Kit file; else your own, else one aircraft.")
]
UnitOption = Annotated[
    str, typer.Option("--unit", help="Label of the unit the notes are for, where they do not say.")
]

OwnPriorsOption = Annotated[
    bool,
    typer.Option("--own-priors", help="Start from the base rates of your own journal as priors."),
]


def day(text: str | None) -> dt.date:
    """The day named, or today."""
    if text is None:
        return dt.date.today()
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise ConfigError(f"--today: '{text}' is no date", mend="write it as YYYY-MM-DD") from error


def policy_named(name: str | None) -> Policy:
    """A preset, a policy file, or the operator's own (the default preset when there is none)."""
    from triage.advice import DEFAULT, presets, read_policy
    from triage.storage.atomic_write import read_text
    from triage.storage.user_folder import user_file

    own = user_file("policy.toml")
    if name is None:
        return read_policy(read_text(own), str(own)) if own.exists() else presets()[DEFAULT].policy
    if name in presets():
        return presets()[name].policy
    path = Path(name)
    if not path.is_file():
        known = ", ".join(presets())
        raise ConfigError(f"no policy '{name}'", mend=f"name a file or one of {known}")
    return read_policy(read_text(path), name)


def judged(name: str | None, form: Form | None, engine: Engine) -> JudgedNotes:
    """The notes named, read and judged."""
    from triage.cli.out import read_source

    return _judged(*read_source(name), form, engine)


def _judged(data: bytes, called: str, form: Form | None, engine: Engine) -> JudgedNotes:
    from triage.app.pipeline import read_and_judge
    from triage.classify.corrections import settled_in
    from triage.domain.notes import SourceFormat

    stated = SourceFormat(form.value) if form else None
    return read_and_judge(
        data, called, engine, format=stated, settled=settled_in(), begun=_patience
    )


def _patience(items: int) -> None:
    """Says so when judging will take long."""
    from triage.cli.out import warn

    if items > _MANY:
        warn(f"{items:,} items are read one by one; this may take minutes")


class Asked(NamedTuple):
    """Everything an advice was made from, and the advice."""

    data: bytes
    kit: Kit
    policy: Policy
    day: dt.date
    evidence: tuple[Evidence, ...]
    unit: str
    recorded: dict[str, dict[str, str]]
    prior_flights: dict[str, float]
    prior_record: dict[str, OwnRecord]
    advice: Advice


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
) -> Asked:
    """Read what the user named, with the records in the user folder, and advise.

    `own_priors` start from the base rates of the journal named.
    """
    from triage.app.pipeline import advise, engine
    from triage.cli.out import read_source
    from triage.kit import load

    chosen, owned, on = policy_named(policy), load(kit), day(today)
    data, called = read_source(notes)
    read = _judged(data, called, form, engine())
    looks, settings = evidence(read.notes), recorded(owned)
    prior, flights, record = _own_priors(journal) if own_priors else (None, {}, {})
    advice = advise(read, owned, chosen, looks, today=on, unit=unit, recorded=settings, prior=prior)
    return Asked(data, owned, chosen, on, looks, unit, settings, flights, record, advice)


def _own_priors(journal: str | None) -> tuple[PriorTable, dict[str, float], dict[str, OwnRecord]]:
    """The shipped priors with the own record in them, and both as the journal keeps them."""
    from triage.advice.tables import priors
    from triage.journal.base_rates import flights_of, own_priors, record_of
    from triage.journal.history import cases
    from triage.journal.learning import stats
    from triage.journal.store import open_journal

    table = own_priors(stats(cases(open_journal(journal))).rates, priors().prior)
    return table, flights_of(table), record_of(table)


def evidence(notes: ReadNotes, record: Path | None = None) -> tuple[Evidence, ...]:
    """The field reports recorded for these releases, each counted once."""
    from triage.cli.out import warn
    from triage.reports import evidence_for, grouped, read

    found = read(record)
    if found.torn:
        warn("the last field report was not written to its end and is left out")
    return evidence_for(notes, grouped(found.looks))[0]


def recorded(kit: Kit) -> dict[str, dict[str, str]]:
    """The settings last recorded, by unit label."""
    from triage.settings.snapshots import last_recorded

    return {unit.label: last_recorded(unit.label) for unit in kit.units}


def remind() -> None:
    """Say that an update run is open, where one is."""
    from triage.cli.out import warn
    from triage.update.run_log import reminder

    if line := reminder():
        warn(line)
