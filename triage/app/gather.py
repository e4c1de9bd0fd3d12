"""Gathers everything an advice is made from; no face, watch, replay or demo does so by itself."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from triage.advice.ground import release_day
from triage.app.environment import today
from triage.app.first_seen import first_seen
from triage.app.policies import policy_named
from triage.domain.advice import Evidence, OwnRecord
from triage.domain.answer import Inputs
from triage.domain.kit import Kit
from triage.domain.notes import Notes
from triage.domain.outcomes import Outcome
from triage.domain.policy import Policy
from triage.domain.reports import FieldReport, ReportGroup
from triage.kit import load_kit
from triage.reports import evidence_for, grouped, read_reports
from triage.reports.evidence import is_about
from triage.reports.report_store import reports_path
from triage.settings.snapshots import last_recorded
from triage.storage.user_folder import stamp_of


class Wanted(NamedTuple):
    """What is asked for; what is left out is the operator's own, and today.

    `kit` and `reports` are files. `unit` is the label of the unit the notes are for where they do
    not say, `journal` the one whose record moves the priors with `own_priors`.
    """

    policy: Policy | None = None
    kit: Path | None = None
    unit: str = ""
    day: dt.date | None = None
    reports: Path | None = None
    recorded: bool = True
    own_priors: bool = False
    journal: str | None = None


def gather(notes: Notes, data: bytes, wanted: Wanted) -> Inputs:
    """Kit, policy, field reports, recorded settings and own priors for an advice on `notes`."""
    kit = load_kit(wanted.kit)
    day = wanted.day or today()
    found = field_reports(wanted.reports)
    evidence = losses_read(evidence_for(notes, found.groups)[0])
    flights, record = _own_priors(wanted.journal) if wanted.own_priors else ({}, {})
    return Inputs(
        data=data,
        kit=kit,
        policy=wanted.policy or policy_named(),
        day=day,
        evidence=evidence,
        reports=tuple(k for k in found.reports if any(is_about(k, r) for r in notes.releases)),
        unit=wanted.unit,
        recorded=recorded_settings(kit) if wanted.recorded else {},
        prior_flights=flights,
        prior_record=record,
        remarks=(*((_TORN,) if found.torn else ()), *_too_early(notes, evidence, day)),
        first_seen=first_seen(notes.source.sha256, day) if wanted.recorded else day,
        needs=needs_met(notes, kit.needs),
    )


_LOSS_FROM = 0.6  # the chance from which the words of a report tell of a loss
_LOSSES = (Outcome.FALLS, Outcome.FLIES_AWAY, Outcome.MOTORS, Outcome.FIRE)


def losses_read(evidence: Sequence[Evidence]) -> tuple[Evidence, ...]:
    """The reports, with the outcome of those whose words tell of a loss that nobody stated."""
    silent = [e for e in evidence if not e.clean and e.outcome is None and e.words]
    if not silent:
        return tuple(evidence)
    from triage.classify.spoken_outcomes import outcomes_of

    read = dict(zip((e.words for e in silent), outcomes_of([e.words for e in silent]), strict=True))
    out = []
    for e in evidence:
        told = read.get(e.words) if e in silent else None
        lost = told is not None and told.first in _LOSSES and told.chance(told.first) >= _LOSS_FROM
        out.append(e.model_copy(update={"outcome": told.first}) if told and lost else e)
    return tuple(out)


def needs_met(notes: Notes, needs: Sequence[str]) -> dict[str, dict[str, float]]:
    """The chance that an item meets a need, by need and item ref; 0 is left out."""
    items = [item for release in notes.releases for item in release.items]
    if not needs or not items:
        return {need: {} for need in needs}
    from triage.classify.needs import need_chances

    chances = need_chances(needs, [item.text for item in items])
    return {
        need: {item.ref: float(c) for item, c in zip(items, row, strict=True) if c > 0}
        for need, row in zip(needs, chances, strict=True)
    }


def _too_early(notes: Notes, evidence: Sequence[Evidence], day: dt.date) -> tuple[str, ...]:
    """What is said of field reports dated before the release that they speak of."""
    came = {n: release_day(r.date, day) for n, r in enumerate(notes.releases)}
    early = [e for e in evidence if (out := came[e.release]) is not None and e.day < out]
    return tuple(
        f"a field report of {e.day.isoformat()} is left out: {notes.releases[e.release].version} "
        "was not out by then"
        for e in early
    )


class FieldReports(NamedTuple):
    """The record, the same in groups that say the same, and a last line that was cut short."""

    reports: tuple[FieldReport, ...]
    groups: tuple[ReportGroup, ...]
    torn: str


def field_reports(path: Path | None = None) -> FieldReports:
    """The field reports recorded, read anew when the record has changed."""
    file = reports_path(path)
    return _grouped(file, stamp_of(file))


def recorded_settings(kit: Kit) -> dict[str, dict[str, str]]:
    """The settings last recorded, by unit label."""
    return {unit.label: last_recorded(unit.label) for unit in kit.units}


_TORN = "the last field report was not written to its end and is left out"


@lru_cache(maxsize=4)
def _grouped(file: Path, stamp: object) -> FieldReports:
    found = read_reports(file)
    return FieldReports(found.reports, tuple(grouped(found.reports)), found.torn)


def _own_priors(journal: str | None) -> tuple[dict[str, float], dict[str, OwnRecord]]:
    """What the operator's own journal says of the priors."""
    from triage.advice.tables import priors
    from triage.journal.base_rates import flights_of, own_priors, record_of
    from triage.journal.history import cases
    from triage.journal.learning import stats
    from triage.journal.store import open_journal

    table = own_priors(stats(cases(open_journal(journal))).rates, priors().prior)
    return flights_of(table), record_of(table)
