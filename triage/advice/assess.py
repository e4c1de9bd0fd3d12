"""From judged notes, kit, policy, evidence and a day to the advice with all it rests on."""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Mapping, Sequence

from triage.advice import tables
from triage.advice.around import assumptions, cautions, recheck, told
from triage.advice.change import (
    Matter,
    clean_users,
    first_days,
    flips_together,
    trouble_users,
    unsure_flips,
)
from triage.advice.finding import Finding, find
from triage.advice.gain import describe, match_needs
from triage.advice.policy import presets
from triage.advice.reasons import because, headline, reasons_of
from triage.advice.stakes import board_of
from triage.advice.sure import certainty
from triage.advice.tell import (
    day_text,
    do_not_fly,
    gate_rows,
    moving_rows,
    plural,
    staying_rows,
)
from triage.advice.weigh import Case, build
from triage.domain.advice import (
    Assessment,
    Candidate,
    CandidateAdvice,
    Certainty,
    Change,
    Digests,
    Evidence,
    Gain,
    Pointer,
    Verdict,
)
from triage.domain.base import Frozen
from triage.domain.judged import JudgedNotes
from triage.domain.kinds import MEANING
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
) -> Assessment:
    """The advice for one kind of unit.

    `scope` holds the candidates for that unit, oldest first: once a smaller move is advised, a
    larger one has to be worth it for what it brings beyond. `evidence` the looks up to `today`,
    de-duplicated; `recorded` the last recorded value of a setting by its id. Same inputs give the
    same bytes. Later looks than `today` do not count.
    """
    kit = kit or NO_KIT
    board = board_of(notes, kit)
    met = match_needs(kit.needs, [stake.item.item.text for stake in board.stakes])
    judged: list[Finding] = []
    brought: frozenset[str] = frozenset()
    for candidate in scope:
        case = build(notes, candidate, board, evidence, today, brought)
        judged.append(find(case, kit, met[:, case.rows], policy, today))
        if judged[-1].verdict is Verdict.UPDATE:
            brought = frozenset(candidate.items)
    digests = _digests(notes, kit, scope, policy, evidence)
    if not judged:
        return _nothing(kit, policy, today, digests)
    subject = _subject(judged)
    matter, case = subject.matter, subject.case
    moving, staying = moving_rows(matter, subject.ruling), staying_rows(case, policy)
    gates = gate_rows(matter, subject.ruling, subject.blocking)
    gain = describe(case, matter.gains, case.strict, kit.needs)
    widest = max(judged, key=lambda j: len(j.case.path)).case
    warning, pointers = _warning(widest, case, subject.verdict)
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
        watch_for=_watch_for(subject),
        reasons=reasons_of(subject, moving, staying, gates, gain, (warning, pointers)),
        moving=moving,
        staying=staying,
        gates=gates,
        gain=gain,
        changes=_changes(subject, today),
        unsure=_unsure(matter),
        recheck=touched,
        instructions=told(case, requirements=False),
        requirements=told(case, requirements=True),
        cautions=cautions(case, kit, subject.verdict, bool(touched)),
        assumptions=assumptions(case, kit, policy, evidence, today),
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
    """The newest release to move to; where there is none, the newest that can be installed."""
    for wanted in (
        [j for j in judged if j.verdict is Verdict.UPDATE],
        [j for j in judged if not j.blocking],
    ):
        if wanted:
            return wanted[-1]
    return judged[-1]


def _warning(widest: Case, case: Case, verdict: Verdict) -> tuple[str, tuple[Pointer, ...]]:
    found = do_not_fly(widest)
    if not found:
        return "", ()
    mended = {stake.item.item.ref for stake in case.stakes}
    cure = (
        ""
        if verdict is Verdict.UPDATE and all(s.item.item.ref in mended for s in found)
        else f" Only {widest.release.version or widest.release.title} mends it."
    )
    text = (
        "Do not fly the installed version until this is settled: the notes name a defect in it that"
        f" can end in the loss of the aircraft.{cure}"
        " The maker's instructions and your local rules decide."
    )
    return text, tuple(stake.pointer for stake in found)


def _watch_for(subject: Finding) -> tuple[str, ...]:
    """What holds the release back, to be looked for in reports."""
    if subject.verdict is Verdict.UPDATE or subject.blocking:
        return ()
    case, ruling = subject.case, subject.ruling
    found = []
    for at, function in enumerate(tables.functions()):
        columns = [k for k in (2 * at, 2 * at + 1) if ruling.risks.present[0, k]]
        if columns and max(ruling.risks.level[0, k] for k in columns) >= 1:
            worst = min(int(case.severity[k]) for k in columns)
            found.append((worst, f"{function.name}: {function.outcome}"))
    return tuple(text for _, text in sorted(found, key=lambda pair: pair[0]))


def _changes(subject: Finding, today: dt.date) -> tuple[Change, ...]:
    """The smallest changes of the evidence that turn the advice."""
    matter = subject.matter
    if subject.verdict is Verdict.UPDATE:
        found = trouble_users(matter)
        if found is None:
            return ()
        users, at = found
        name = tables.functions()[at].name
        text = f"trouble reported by {plural(users, 'user')} in {name} would turn this to waiting"
        return (Change(kind="looks", text=text),)
    changes = []
    by_days = subject.wait_days
    if by_days:
        day = day_text(today + dt.timedelta(days=by_days))
        text = f"by itself on {day}, if no trouble comes to notice until then"
        changes.append(Change(kind="days", text=text))
    most = float(tables.priors().search.users)
    sooner, _ = first_days(matter, more_clean=most)
    if sooner is not None and (by_days is None or sooner < by_days):
        more = clean_users(matter, sooner)
        when = "today" if not sooner else f"on {day_text(today + dt.timedelta(days=sooner))}"
        if more is not None:
            clean = plural(more, "more clean user")
            changes.append(Change(kind="looks", text=f"{when} already, with {clean} on it"))
    if by_days is None and subject.within_days is not None:
        ahead = subject.within_days
        since = "today" if not ahead else f"from {day_text(today + dt.timedelta(days=ahead))} on"
        text = f"something in it that you need: {since} moving would be within your policy"
        changes.append(Change(kind="need", text=text))
    return tuple(changes)


def _unsure(matter: Matter) -> tuple[Change, ...]:
    flips = unsure_flips(matter)
    if not flips and flips_together(matter):
        doubtful = [s for s in matter.case.stakes if s.item.unsure]
        text = f"if none of {plural(len(doubtful), 'unsure item')} bears on flight or compatibility"
        return (Change(kind="items", text=text, pointers=tuple(s.pointer for s in doubtful)),)
    return tuple(
        Change(
            kind="item",
            text=(
                f"item {matter.case.stakes[flip.row].item.item.ref}: if it "
                f"{'is' if flip.settled else 'is not'} {flip.kind.value} ({MEANING[flip.kind]})"
            ),
            pointers=(matter.case.stakes[flip.row].pointer,),
        )
        for flip in flips
    )


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
) -> Digests:
    return Digests(
        notes=notes.notes.source.sha256,
        kit=_sha(kit),
        scope=_sha(*scope),
        policy=_sha(policy),
        evidence=_sha(*sorted(evidence, key=lambda e: e.model_dump_json())),
        model=notes.model_sha256,
        vocabulary=tables.digest(),
    )


def _nothing(kit: Kit, policy: Policy, today: dt.date, digests: Digests) -> Assessment:
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
        assumptions=assumptions(None, kit, policy, (), today),
        candidates=(),
        not_weighed=(),
        digests=digests,
    )
