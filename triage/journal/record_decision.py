"""From an advice and the operator's own decision to an entry."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from triage import __version__
from triage.domain.advice import Assessment, Verdict
from triage.domain.answer import Advice, Inputs, UnitAdvice
from triage.domain.choice import Choice
from triage.domain.journal import (
    Advised,
    Ahead,
    Decision,
    JournalEntry,
    Opener,
    RecordedDecision,
    Stored,
)
from triage.domain.judged import JudgedNotes
from triage.domain.kinds import Kind
from triage.domain.kit import UnitScope
from triage.domain.notes import Status
from triage.errors import StoreError
from triage.journal.canonical import canonical, digest
from triage.journal.journal_tables import learning

if TYPE_CHECKING:
    from triage.journal.store import Journal


def record_decision(
    journal: Journal,
    advice: Advice,
    inputs: Inputs,
    choice: Choice,
    reason: str,
    *,
    apart: Mapping[str, Choice] | None = None,
    due: dt.date | None = None,
    pilot: str = "",
) -> JournalEntry:
    """Record an advice with the operator's decision, on the disk before this returns.

    `apart` names units (by a label) decided otherwise than the rest, `due` the day of the review;
    where none is stated, the day the advice turns, else two weeks on. StoreError when there is
    nothing to decide, a label is not known, or the entry could not be written.
    """
    decisions = decided(advice, choice, reason, apart or {})
    payload, attachments = decision_payload(advice, inputs, decisions, due)
    return journal.add(payload, attachments, decision_words(payload, advice.judged), pilot)


def decided(
    advice: Advice, choice: Choice, reason: str, apart: Mapping[str, Choice]
) -> tuple[Decision, ...]:
    """The decision for each group of units that has something to decide."""
    open_to = [unit for unit in advice.units if unit.assessment.subject is not None]
    if not open_to:
        raise StoreError("nothing to decide: no release in these notes is ahead of your kit")
    labels = [label for unit in open_to for label in unit.scope.labels]
    for label in apart:
        if label not in labels:
            raise StoreError(
                f"no decision is open for '{label}'", mend=f"units are: {', '.join(labels)}"
            )
    made = tuple(
        Decision(
            units=unit.scope.labels,
            choice=_verdict(
                next((c for label, c in apart.items() if label in unit.scope.labels), choice),
                unit.assessment.verdict,
            ),
            reason=reason,
        )
        for unit in open_to
    )
    overruled = any(
        decision.choice is not unit.assessment.verdict
        for decision, unit in zip(made, open_to, strict=True)
    )
    if overruled and not reason.strip():
        raise StoreError("to overrule the advice takes a reason", mend="state it with --reason")
    return made


def _verdict(choice: Choice, advised: Verdict) -> Verdict:
    return {Choice.UPDATE: Verdict.UPDATE, Choice.WAIT: Verdict.WAIT}.get(choice, advised)


def decision_payload(
    advice: Advice, inputs: Inputs, decisions: tuple[Decision, ...], due: dt.date | None = None
) -> tuple[RecordedDecision, dict[str, bytes]]:
    """The payload, and the bytes it names by their digest."""
    source = advice.judged.notes.source
    stored_advice = [
        {
            "scope": unit.scope.model_dump(mode="json"),
            "plan": None if unit.plan is None else unit.plan.model_dump(mode="json"),
            "assessment": unit.assessment.model_dump(mode="json"),
        }
        for unit in advice.units
    ]
    parts = {
        "notes": inputs.data,
        "judged": canonical(advice.judged.model_dump(mode="json")).encode(),
        "advice": canonical(stored_advice).encode(),
    }
    stored = {name: Stored(sha256=digest(data), size=len(data)) for name, data in parts.items()}
    advised = tuple(_brief(unit, advice.judged, inputs) for unit in advice.units)
    payload = RecordedDecision(
        day=inputs.day,
        tool_version=__version__,
        source=source.name,
        format=source.format,
        unit=inputs.unit,
        kit=inputs.kit,
        policy=inputs.policy,
        reports=inputs.reports,
        evidence=inputs.evidence,
        recorded={unit: dict(found) for unit, found in inputs.recorded.items() if found},
        prior_flights=dict(inputs.prior_flights),
        prior_record=dict(inputs.prior_record),
        first_seen=inputs.first_seen,
        needs={need: dict(chances) for need, chances in inputs.needs.items()},
        model_sha256=advice.judged.model_sha256,
        **stored,
        advised=advised,
        decisions=decisions,
        due=due or _review_day(inputs.day, advised),
    )
    return payload, {stored[name].sha256: data for name, data in parts.items()}


def _review_day(day: dt.date, advised: Iterable[Advised]) -> dt.date:
    turns = [a.until for a in advised if a.until is not None]
    return min(turns, default=day + dt.timedelta(days=learning().review_days))


def _brief(unit: UnitAdvice, judged: JudgedNotes, inputs: Inputs) -> Advised:
    advice = unit.assessment
    release = None if advice.subject is None else judged.notes.releases[advice.subject]
    return Advised(
        units=unit.scope.labels,
        component=unit.scope.unit.component,
        name=unit.scope.unit.name,
        installed=unit.scope.installed,
        version=release.version if release else "",
        title=release.title if release else "",
        verdict=advice.verdict,
        share=advice.certainty.share,
        until=advice.until,
        headline=advice.headline,
        opened=_opened(advice, judged),
        ahead=tuple(_ahead(r, judged, inputs) for r in _releases(unit.scope)),
    )


def _releases(scope: UnitScope) -> list[int]:
    withdrawn = [u.release for u in scope.unplaced]
    return sorted({offer.release for offer in scope.offers} | set(withdrawn))


def _ahead(index: int, judged: JudgedNotes, inputs: Inputs) -> Ahead:
    release = judged.notes.releases[index]
    about = [e for e in inputs.evidence if e.release == index and e.day <= inputs.day]
    return Ahead(
        version=release.version,
        withdrawn=release.status is Status.WITHDRAWN,
        clean=sum(e.users for e in about if e.clean),
        trouble=sum(e.users for e in about if not e.clean),
    )


def _opened(advice: Assessment, judged: JudgedNotes) -> dict[Opener, tuple[str, ...]]:
    """Functions put at stake, each under what the advice takes its prior from."""
    items = {item.item.ref: item for item in judged.items}
    opened: dict[Opener, set[str]] = {opener: set() for opener in Opener}
    for hazard in advice.moving:
        kinds = [
            {*items[p.ref].kinds, *items[p.ref].unsure} for p in hazard.pointers if p.ref in items
        ]
        if not kinds or not hazard.function:
            continue
        flight = [k for k in kinds if Kind.FLIGHT_BEHAVIOUR in k]
        if any(Kind.FIX not in k for k in flight):
            opened[Opener.CHANGE].add(hazard.function)
        elif flight:
            opened[Opener.FIX].add(hazard.function)
        else:
            opened[Opener.COMPATIBILITY].add(hazard.function)
    return {opener: tuple(sorted(found)) for opener, found in opened.items() if found}


def decision_words(payload: RecordedDecision, judged: JudgedNotes | None) -> str:
    """What a decision is found by: its units, reasons, and the words of the notes."""
    parts = [payload.source]
    for advised in payload.advised:
        parts += [*advised.units, advised.name, advised.version, advised.title, advised.headline]
    parts += [decision.reason for decision in payload.decisions]
    parts += [job.what for job in payload.kit.jobs]
    if judged is not None:
        for release in judged.notes.releases:
            parts += [release.title, *(item.text for item in release.items)]
            parts += [told.text for told in release.instructions]
            parts += [asked.text for asked in release.requirements]
    return "\n".join(parts)


def judged_of(data: bytes) -> JudgedNotes:
    """The judged notes from their stored form."""
    return JudgedNotes.model_validate_json(data)
