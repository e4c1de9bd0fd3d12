"""Decisions to put into a journal, without reading any notes."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping

from triage.domain.advice import Verdict
from triage.domain.journal import (
    Advised,
    Ahead,
    Decision,
    DecisionOutcome,
    Opener,
    RecordedDecision,
    Result,
    Stored,
)
from triage.domain.kit import Kit, Unit
from triage.domain.notes import SourceFormat, Status
from triage.domain.policy import Level, Policy, Worth
from triage.journal.canonical import digest
from triage.journal.history import PastDecision
from triage.journal.record_decision import decision_words
from triage.journal.store import Journal

DAY = dt.date(2026, 11, 25)
POLICY = Policy(  # by hand: a process that only writes needs nothing of the advice
    credible=0.95,
    accept=Level.MEDIUM,
    accept_catastrophic=Level.LOW,
    min_days_flight=14,
    min_days_other=3,
    no_way_back_days=21,
    min_clean_users=5,
    days_instead_of_looks=60,
    trouble_share=0.1,
    job_days=2,
    least_status=Status.RELEASED,
    least_gain=Worth.LITTLE,
    problem_weight=0.5,
    clean_weight=0.1,
    min_charge=50,
)
UPDATE, WAIT = Verdict.UPDATE, Verdict.WAIT


def ahead(version: str, *, withdrawn: bool = False, clean: int = 0, trouble: int = 0) -> Ahead:
    return Ahead(version=version, withdrawn=withdrawn, clean=clean, trouble=trouble)


def advised(
    verdict: Verdict = UPDATE,
    share: float = 0.8,
    units: tuple[str, ...] = ("heron",),
    opened: Mapping[Opener, tuple[str, ...]] | None = None,
    releases: tuple[Ahead, ...] = (),
    version: str = "3.6.0",
) -> Advised:
    return Advised(
        units=units,
        component="aircraft",
        name="Quillmere Heron 2",
        installed="3.4.2",
        version=version,
        title=f"Release {version}",
        verdict=verdict,
        share=share,
        until=None,
        headline="Because of this and that",
        opened=dict(opened or {}),
        ahead=releases,
    )


def kept(
    reason: str = "the way home matters",
    *,
    choice: Verdict = UPDATE,
    brief: Advised | None = None,
    day: dt.date = DAY,
    due: dt.date | None = None,
    notes: str = "- Return to home climbs first.",
) -> tuple[RecordedDecision, dict[str, bytes]]:
    brief = brief or advised()
    judged = json.dumps({"of": notes}).encode()  # of no form that is read; the notes' words are not
    parts = {"notes": notes.encode(), "judged": judged, "advice": b"[]"}
    stored = {n: Stored(sha256=digest(d), size=len(d)) for n, d in parts.items()}
    unit = Unit(label="heron", component="aircraft", name="Quillmere Heron 2", version="3.4.2")
    payload = RecordedDecision(
        day=day,
        tool_version="0.1.0",
        source="notes.txt",
        format=SourceFormat.TEXT,
        unit="",
        kit=Kit(units=(unit,)),
        policy=POLICY,
        reports=(),
        evidence=(),
        recorded={},
        model_sha256="0" * 64,
        notes=stored["notes"],
        judged=stored["judged"],
        advice=stored["advice"],
        advised=(brief,),
        decisions=(Decision(units=brief.units, choice=choice, reason=reason),),
        due=due,
    )
    return payload, {stored[n].sha256: d for n, d in parts.items()}


def add(journal: Journal, reason: str = "the way home matters", **named: object) -> int:
    payload, attachments = kept(reason, **named)  # type: ignore[arg-type]
    return journal.add(payload, attachments, decision_words(payload, None)).seq


def outcome(about: int = 1, result: Result = Result.WELL, **named: object) -> DecisionOutcome:
    return DecisionOutcome(about=about, day=DAY, result=result, **named)


def case(
    seq: int = 1,
    *,
    brief: Advised | None = None,
    choice: Verdict = UPDATE,
    outcomes: tuple[DecisionOutcome, ...] = (),
    day: dt.date = DAY,
    pilot: str = "",
) -> PastDecision:
    brief = brief or advised()
    problems = tuple(o for o in outcomes if o.result is Result.PROBLEM)
    telling = problems or outcomes
    return PastDecision(
        seq=seq,
        pilot=pilot,
        day=day,
        source="notes.txt",
        advised=brief,
        decision=Decision(units=brief.units, choice=choice),
        outcome=telling[-1] if telling else None,
        problems=problems,
        avoided=tuple(o.avoided for o in outcomes if o.avoided),
        flights=max((o.flights or 0 for o in outcomes), default=0),
        due=None,
    )
