"""From judged notes, kit, policy, evidence and a day to the advice with all it rests on."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from triage.advice import tables
from triage.advice.confidence import certainty
from triage.advice.evaluation import Evaluation, evaluate
from triage.advice.first_questions import Facts, answers
from triage.advice.gain import describe
from triage.advice.gates import Asked, gate_rows
from triage.advice.ground import Ground, Needs
from triage.advice.grounding import Warned, do_not_fly, grounded_by_notes
from triage.advice.hazard_table import moving_rows, staying_rows
from triage.advice.hazards import build, reports_on
from triage.advice.items_matrix import items_matrix, owner_of
from triage.advice.reasons import because, deciding, headline, reasons_of
from triage.advice.rechecks import assumptions, cautions, recheck, told
from triage.advice.what_if_text import changes, unsure, waits, watch_for
from triage.domain.advice import (
    Assessment,
    Candidate,
    CandidateAdvice,
    Certainty,
    Digests,
    Evidence,
    Gain,
    Reason,
    Sureness,
    Unweighed,
    Verdict,
)
from triage.domain.base import Frozen
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit
from triage.domain.notes import Role
from triage.domain.policy import Policy, Worth

NO_KIT = Kit(units=(), assumed=True)
_NOTHING = "Nothing to do: the notes hold no release later than the installed one"


class Beside(NamedTuple):
    """What is given besides notes, kit, moves and policy; all of it may be left out.

    `labels` and `installed` are the unit's own, where there is no move to take them from.
    `conflicts` say what of the kit does not work together today, `first_seen` is the day the notes
    were first seen, `needs` the chance that an item meets a need, by need and item ref, `recorded`
    the last recorded value of a setting by its id, `prior` what stands in place of the shipped
    priors, `try_first` how the kit lets the release be tried on one unit.
    """

    labels: tuple[str, ...] = ()
    installed: str = ""
    conflicts: tuple[str, ...] = ()
    first_seen: dt.date | None = None
    needs: Needs | None = None
    recorded: Mapping[str, str] | None = None
    prior: tables.PriorTable | None = None
    try_first: str = ""


def assess(
    notes: JudgedNotes,
    kit: Kit | None,
    scope: Sequence[Candidate],
    policy: Policy,
    evidence: Sequence[Evidence] = (),
    *,
    today: dt.date,
    beside: Beside | None = None,
) -> Assessment:
    """The advice for one kind of unit.

    `scope` holds the candidates for that unit, oldest first: once a smaller move is advised, the
    defects it mends no longer press for a larger one. `evidence` are the field reports,
    de-duplicated; later ones than `today` don't count. Same inputs give the same bytes.
    """
    kit, beside = kit or NO_KIT, beside or Beside()
    ground = ground_of(notes, kit, scope, evidence, today, beside)
    judged = evaluations(ground, scope, policy, beside.conflicts)
    digests = _digests(ground, scope, policy, evidence, beside.prior)
    if not judged:
        return _nothing(ground, policy, digests, beside.prior)
    return _told(ground, scope, policy, beside, judged, digests)


def _told(
    ground: Ground,
    scope: Sequence[Candidate],
    policy: Policy,
    beside: Beside,
    judged: Sequence[Evaluation],
    digests: Digests,
) -> Assessment:
    """The assessment of what was judged, in words."""
    kit, today = ground.kit, ground.today
    subject = subject_of(judged)
    case, facts = subject.case, subject.matter.facts
    moving = moving_rows(subject.matter, subject.ruling)
    staying = staying_rows(case, policy)
    asked = Asked(case, policy, subject.matter.outlook, subject.ruling.grave)
    gates = gate_rows(asked, subject.ruling.gates, subject.stopped[0] if subject.stopped else "")
    gain = describe(case, subject.matter.gains, case.strict, beside.conflicts)
    warning = do_not_fly(judged, subject)
    decides = deciding(subject, gates, gain, staying)
    until = subject.until(today)
    touched = recheck(case, beside.recorded or {})
    counted = reports_on(ground, case.candidate.release)
    return Assessment(
        day=today,
        policy=policy.name,
        verdict=subject.verdict,
        headline=headline(subject, judged[-1], until, gain.worth),
        warning=warning[0],
        warning_pointers=warning[1],
        subject=case.candidate.release,
        certainty=certainty(subject),
        until=until,
        due=None if subject.due is None else today + dt.timedelta(days=subject.due),
        deciding=decides[1],
        decided_by=decides[0],
        first=answers(facts, _settled(subject, decides[0])),
        waits=waits(subject, today),
        try_first=beside.try_first if subject.verdict is Verdict.UPDATE else "",
        watch_for=watch_for(subject),
        reasons=reasons_of(subject, decides, moving, staying, gates, gain, warning),
        moving=moving,
        staying=staying,
        gates=gates,
        gain=gain,
        changes=changes(subject, today),
        unsure=unsure(subject.matter),
        recheck=touched,
        instructions=told(case, requirements=False),
        requirements=told(case, requirements=True),
        cautions=cautions(case, kit, subject.verdict, bool(touched)),
        assumptions=assumptions(case, kit, policy, counted, today, beside.prior),
        candidates=tuple(_in_a_line(one, today) for one in judged),
        not_weighed=tuple(_not_weighed(ground, scope)),
        digests=digests,
    )


def _in_a_line(found: Evaluation, today: dt.date) -> CandidateAdvice:
    return CandidateAdvice(
        release=found.case.candidate.release,
        title=found.case.release.title,
        version=found.case.release.version,
        verdict=found.verdict,
        until=found.until(today),
        because=because(found),
    )


def ground_of(
    notes: JudgedNotes,
    kit: Kit,
    scope: Sequence[Candidate],
    evidence: Sequence[Evidence],
    today: dt.date,
    beside: Beside,
) -> Ground:
    """What all candidates of one unit share."""
    labels = beside.labels or (scope[0].units if scope else ())
    installed = beside.installed or (scope[0].installed if scope else "")
    owner = owner_of(kit, labels, installed)
    return Ground(
        notes=notes,
        matrix=items_matrix(notes, owner),
        owner=owner,
        kit=kit,
        evidence=tuple(evidence),
        needs=beside.needs or {},
        today=today,
        first_seen=beside.first_seen,
        prior=beside.prior or tables.priors().prior,
    )


def evaluations(
    ground: Ground, scope: Sequence[Candidate], policy: Policy, conflicts: tuple[str, ...] = ()
) -> list[Evaluation]:
    """Every candidate judged, oldest first."""
    judged: list[Evaluation] = []
    brought: frozenset[str] = frozenset()
    for candidate in scope:
        case = build(ground, candidate, brought)
        judged.append(evaluate(Facts(case, ground, tuple(scope), conflicts), policy))
        if judged[-1].verdict is Verdict.UPDATE:
            brought = frozenset(candidate.items)
    return judged


def subject_of(judged: Sequence[Evaluation]) -> Evaluation:
    """The newest release to move to; else the one whose day comes first, of those the newest."""
    to_move = [found for found in judged if found.verdict is Verdict.UPDATE]
    if to_move:
        return to_move[-1]
    possible = [found for found in judged if not found.stopped] or list(judged)
    days = [math.inf if found.wait_days is None else found.wait_days for found in possible]
    return [found for found, day in zip(possible, days, strict=True) if day == min(days)][-1]


def _settled(subject: Evaluation, decided: str) -> tuple[str, ...]:
    """Ids of the first questions that the advice hangs on."""
    if decided == "stopped":
        return ("withdrawn", "unreleased", "possible", "replaced")
    return (decided,)


def _not_weighed(ground: Ground, scope: Sequence[Candidate]) -> Iterator[Unweighed]:
    """What of the notes was not weighed, with its text."""
    ahead = {release for candidate in scope for release in candidate.path}
    for item in ground.notes.items:
        if item.release in ahead and item.item.ref not in ground.matrix.row:
            line = item.item.places[0].line if item.item.places else 0
            yield Unweighed(text=item.item.text, line=line, why="of no kind that bears on you")
    for aside in ground.notes.notes.aside:
        if aside.role in (Role.REMARK, Role.USER):
            yield Unweighed(text=aside.text, line=aside.place.line, why=aside.role.value)


def _sha(*parts: Frozen) -> str:
    total = hashlib.sha256()
    for part in parts:
        total.update(part.model_dump_json().encode())
        total.update(b"\n")
    return total.hexdigest()


def _digests(
    ground: Ground,
    scope: Sequence[Candidate],
    policy: Policy,
    evidence: Sequence[Evidence],
    prior: tables.PriorTable | None,
) -> Digests:
    needs = json.dumps({n: dict(c) for n, c in ground.needs.items()}, sort_keys=True)
    return Digests(
        notes=ground.notes.notes.source.sha256,
        kit=_sha(ground.kit),
        scope=_sha(*scope),
        policy=_sha(policy),
        evidence=_sha(*sorted(evidence, key=lambda e: e.model_dump_json())),
        model=ground.notes.model_sha256,
        vocabulary=_numbers(prior),
        needs=hashlib.sha256(needs.encode()).hexdigest(),
    )


def _numbers(prior: tables.PriorTable | None) -> str:
    """Digest of the advice's data files, and of priors that are not theirs."""
    if prior is None:
        return tables.tables_digest()
    flights = {name: row.flights for name, row in prior.rows.items()}
    return hashlib.sha256(f"{tables.tables_digest()} {prior.shape} {flights}".encode()).hexdigest()


def _nothing(
    ground: Ground, policy: Policy, digests: Digests, prior: tables.PriorTable | None
) -> Assessment:
    kit, today = ground.kit, ground.today
    warning: Warned = grounded_by_notes(ground)
    said = Reason(text=warning[0] or _NOTHING, pointers=warning[1])
    headline = (
        "Nothing newer to move to, and the notes speak against the installed version"
        if warning[0]
        else _NOTHING
    )
    return Assessment(
        day=today,
        policy=policy.name,
        verdict=Verdict.WAIT,
        headline=headline,
        warning=warning[0],
        warning_pointers=warning[1],
        subject=None,
        certainty=Certainty(words=Sureness.FIRM, share=1.0, draws=0),
        until=None,
        deciding=said,
        decided_by="installed" if warning[0] else "nothing",
        watch_for=(),
        reasons=(said,),
        moving=(),
        staying=(),
        gates=(),
        gain=Gain(worth=Worth.NONE),
        changes=(),
        unsure=(),
        recheck=(),
        instructions=(),
        requirements=(),
        cautions=cautions(None, kit, Verdict.WAIT, False),
        assumptions=assumptions(None, kit, policy, (), today, prior),
        candidates=(),
        not_weighed=tuple(_not_weighed(ground, ())),
        digests=digests,
    )
