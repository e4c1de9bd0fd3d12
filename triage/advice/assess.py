"""From judged notes, kit, policy, evidence and a day to the advice with all it rests on."""

from __future__ import annotations

import datetime as dt
import hashlib
import math
from collections.abc import Mapping, Sequence

from triage.advice import tables
from triage.advice.around import assumptions, cautions, recheck, told
from triage.advice.finding import Finding, find
from triage.advice.gain import describe, match_needs
from triage.advice.policy import presets
from triage.advice.reasons import because, headline, reasons_of
from triage.advice.stakes import board_of
from triage.advice.sure import certainty
from triage.advice.tell import (
    do_not_fly,
    gate_rows,
    moving_rows,
    staying_rows,
)
from triage.advice.turning import changes, unsure, watch_for
from triage.advice.weigh import build
from triage.domain.advice import (
    Assessment,
    Candidate,
    CandidateAdvice,
    Certainty,
    Digests,
    Evidence,
    Gain,
    Pointer,
    Verdict,
)
from triage.domain.base import Frozen
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit
from triage.domain.policy import Policy, Worth

NO_KIT = Kit(units=(), assumed=True)


def assess(
    notes: JudgedNotes,
    kit: Kit | None,
    scope: Sequence[Candidate],
    policy: Policy,
    evidence: Sequence[Evidence] = (),
    *,
    today: dt.date,
    recorded: Mapping[str, str] | None = None,
    prior: tables.PriorTable | None = None,
) -> Assessment:
    """The advice for one kind of unit.

    `scope` holds the candidates for that unit, oldest first: once a smaller move is advised, the
    defects it mends no longer press for a larger one. `evidence` the looks up to `today`,
    de-duplicated; `recorded` the last recorded value of a setting by its id, `prior` what stands
    in place of the shipped priors. Same inputs give the same bytes. Later looks than `today` do not
    count.
    """
    kit = kit or NO_KIT
    board = board_of(notes, kit)
    met = match_needs(kit.needs, [stake.item.item.text for stake in board.stakes])
    judged: list[Finding] = []
    brought: frozenset[str] = frozenset()
    for candidate in scope:
        case = build(notes, candidate, board, evidence, today, brought, prior)
        judged.append(find(case, kit, met[:, case.rows], policy, today))
        if judged[-1].verdict is Verdict.UPDATE:
            brought = frozenset(candidate.items)
    digests = _digests(notes, kit, scope, policy, evidence, prior)
    if not judged:
        return _nothing(kit, policy, today, digests, prior)
    subject = _subject(judged)
    matter, case = subject.matter, subject.case
    moving, staying = moving_rows(matter, subject.ruling), staying_rows(case, policy)
    gates = gate_rows(matter, subject.ruling, subject.blocking)
    gain = describe(case, matter.gains, case.strict, kit.needs)
    warning, pointers = _warning(judged, subject)
    until = subject.until(today)
    touched = recheck(case, recorded or {})
    owned = {ref for c in scope for ref in c.items}
    return Assessment(
        day=today,
        policy=policy.name,
        verdict=subject.verdict,
        headline=headline(subject, judged[-1], until, gain.worth),
        warning=warning,
        warning_pointers=pointers,
        subject=case.candidate.release,
        certainty=certainty(case, policy, matter.outlook, matter.gains, subject.verdict),
        until=until,
        watch_for=watch_for(subject),
        reasons=reasons_of(subject, moving, staying, gates, gain, (warning, pointers)),
        moving=moving,
        staying=staying,
        gates=gates,
        gain=gain,
        changes=changes(subject, today),
        unsure=unsure(matter),
        recheck=touched,
        instructions=told(case, requirements=False),
        requirements=told(case, requirements=True),
        cautions=cautions(case, kit, subject.verdict, bool(touched)),
        assumptions=assumptions(case, kit, policy, evidence, today, prior),
        candidates=tuple(
            CandidateAdvice(
                release=j.case.candidate.release,
                title=j.case.release.title,
                version=j.case.release.version,
                verdict=j.verdict,
                until=j.until(today),
                because=because(j),
            )
            for j in judged
        ),
        not_weighed=_not_weighed(notes, scope, owned),
        digests=digests,
    )


def compare(
    notes: JudgedNotes,
    kit: Kit | None,
    scope: Sequence[Candidate],
    evidence: Sequence[Evidence] = (),
    *,
    today: dt.date,
    own: Policy | None = None,
) -> dict[str, Assessment]:
    """The advice under each ready policy, strictest first, and under `own` where given."""
    policies = {name: preset.policy for name, preset in presets().items()}
    if own is not None and own not in policies.values():
        policies[own.name if own.name not in policies else "own"] = own
    return {
        name: assess(notes, kit, scope, policy, evidence, today=today)
        for name, policy in policies.items()
    }


def _subject(judged: Sequence[Finding]) -> Finding:
    """The newest release to move to; else the one whose day comes first, of those the newest."""
    to_move = [found for found in judged if found.verdict is Verdict.UPDATE]
    if to_move:
        return to_move[-1]
    possible = [found for found in judged if not found.blocking] or judged
    days = [math.inf if found.wait_days is None else found.wait_days for found in possible]
    return [found for found, day in zip(possible, days, strict=True) if day == min(days)][-1]


def _warning(judged: Sequence[Finding], subject: Finding) -> tuple[str, tuple[Pointer, ...]]:
    """The 'do not fly' word, which of the releases mends the defect, and the items that say so."""
    found = do_not_fly(max(judged, key=lambda f: len(f.case.path)).case)
    if not found:
        return "", ()
    refs = {stake.item.item.ref for stake in found}
    cures = [f for f in judged if not f.blocking and refs <= set(f.case.candidate.items)]
    if subject in cures and subject.verdict is Verdict.UPDATE:
        until = "until the update is done"
    elif cures:
        until = f"until this is settled; {cures[0].label} is to mend it"
    else:
        until = "until this is settled; no release here that can be installed mends it"
    text = (
        "Do not fly the installed version: the notes name a defect in it that can end in the loss"
        f" of the aircraft. Leave it on the ground {until}."
        " The maker's instructions and your local rules decide."
    )
    return text, tuple(stake.pointer for stake in found)


def _not_weighed(
    notes: JudgedNotes, scope: Sequence[Candidate], owned: set[str]
) -> tuple[Pointer, ...]:
    foreign = {ref for c in scope for ref in c.foreign} - owned
    lines = {j.item.ref: j.item.places[0].line if j.item.places else 0 for j in notes.items}
    return tuple(Pointer(ref=ref, line=lines[ref]) for ref in sorted(foreign) if ref in lines)


def _sha(*parts: Frozen) -> str:
    total = hashlib.sha256()
    for part in parts:
        total.update(part.model_dump_json().encode())
        total.update(b"\n")
    return total.hexdigest()


def _digests(
    notes: JudgedNotes,
    kit: Kit,
    scope: Sequence[Candidate],
    policy: Policy,
    evidence: Sequence[Evidence],
    prior: tables.PriorTable | None,
) -> Digests:
    return Digests(
        notes=notes.notes.source.sha256,
        kit=_sha(kit),
        scope=_sha(*scope),
        policy=_sha(policy),
        evidence=_sha(*sorted(evidence, key=lambda e: e.model_dump_json())),
        model=notes.model_sha256,
        vocabulary=_numbers(prior),
    )


def _numbers(prior: tables.PriorTable | None) -> str:
    """Digest of the advice's data files, and of priors that are not theirs."""
    if prior is None:
        return tables.digest()
    flights = {name: row.flights for name, row in prior.rows.items()}
    return hashlib.sha256(f"{tables.digest()} {prior.shape} {flights}".encode()).hexdigest()


def _nothing(
    kit: Kit, policy: Policy, today: dt.date, digests: Digests, prior: tables.PriorTable | None
) -> Assessment:
    return Assessment(
        day=today,
        policy=policy.name,
        verdict=Verdict.WAIT,
        headline="Nothing to move to: the notes hold no release later than the installed one",
        warning="",
        warning_pointers=(),
        subject=None,
        certainty=Certainty(words="firm", share=1.0, draws=0),
        until=None,
        watch_for=(),
        reasons=(),
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
        not_weighed=(),
        digests=digests,
    )
