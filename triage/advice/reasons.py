"""The headline, the reason that decides, and the three reasons that matter first."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from triage.advice.evaluation import Evaluation
from triage.advice.first_questions import deadline_of
from triage.advice.gates import GATES
from triage.advice.grounding import Warned
from triage.advice.words import day_text
from triage.domain.advice import Gain, Gate, Hazard, HazardKind, Passed, Reason, Verdict
from triage.domain.policy import Worth

MOST = 3


def headline(subject: Evaluation, newest: Evaluation, until: dt.date | None, worth: Worth) -> str:
    """The advice in one line."""
    if subject.verdict is Verdict.UPDATE:
        later = f", wait on {newest.label}" if newest is not subject else ""
        return f"Update to {subject.label} now{later}: {_why_now(subject)}"
    if subject.stopped:
        return f"Wait and watch: {subject.label} is not to be installed, {subject.stopped[0]}"
    if until is not None:
        return f"Wait and watch until {day_text(until)} before moving to {subject.label}"
    if subject.within_days is not None:
        risk = "little at risk in" if subject.within_days == 0 else "no haste with"
        gained = "nothing gained" if worth is Worth.NONE else "little gained"
        return f"Wait and watch: {risk} {subject.label}, and {gained}"
    return f"Wait and watch: no day in sight for {subject.label} under your policy"


def _why_now(found: Evaluation) -> str:
    ruling, case = found.ruling, found.case
    if bool(ruling.presses[0]):
        if case.candidate.pressed_by:
            return case.candidate.pressed_by[0]
        return "staying carries the greater risk"
    if bool(ruling.obliged[0]):
        return "the deadline leaves no better day"
    return "within your policy, and it brings something"


def deciding(
    found: Evaluation, gates: Sequence[Gate], gain: Gain, staying: Sequence[Hazard]
) -> tuple[str, Reason]:
    """Which question, gate or comparison decides, by its id, and the reason in words."""
    if found.stopped:
        return "stopped", Reason(text=found.stopped[0], pointers=found.stopped[1])
    ruling, case = found.ruling, found.case
    if found.verdict is Verdict.UPDATE:
        return _decides_update(found, gain, staying)
    shut = {g.id: g for g in gates if g.passed is Passed.NO}
    for id in ("loss", "status"):
        if id in shut:
            return id, Reason(text=f"{shut[id].name}: {shut[id].why}")
    known = [s for s in case.stated if s.kind in (HazardKind.KNOWN_ISSUE, HazardKind.REPORTED)]
    if known and not (bool(ruling.within[0]) and bool(ruling.proven[0])):
        worst = max(known, key=lambda s: s.real * sum(s.chances[:2]))
        return "known", Reason(text=f"{worst.name}: {worst.evidence}", pointers=worst.pointers)
    for id in ("keeps", "trouble", "job", "together", "way-back"):
        if id in shut:
            return id, Reason(text=f"{shut[id].name}: {shut[id].why}")
    gain_lacks = found.wait_days is None and found.within_days is not None
    if gain_lacks and not (case.silent and "days" in shut):
        return "gain", Reason(text=f"too little gained to move: {_brings(gain)}")
    for id in ("days", "looks"):
        if id in shut:
            silent = "the notes don't say what changed in flight; " if case.silent else ""
            return id, Reason(text=f"{silent}{shut[id].name}: {shut[id].why}")
    return "risk", Reason(text="a hazard of moving is above what the policy accepts")


def _decides_update(found: Evaluation, gain: Gain, staying: Sequence[Hazard]) -> tuple[str, Reason]:
    ruling, case = found.ruling, found.case
    if bool(ruling.presses[0]):
        if found.pressed:
            return "installed", Reason(text=found.pressed[0], pointers=found.pressed[1])
        if case.candidate.pressed_by:
            return "together", Reason(text=case.candidate.pressed_by[0])
        text = "a known defect of the installed version outweighs the hazards of moving"
        what = f": {staying[0].outcome} ({staying[0].name})" if staying else ""
        pointers = staying[0].pointers if staying else ()
        return "defect", Reason(text=text + what, pointers=pointers)
    if bool(ruling.obliged[0]):
        deadline = deadline_of(found.matter.facts.ground)
        day = f" of {day_text(deadline[0])}" if deadline else ""
        return "deadline", Reason(text=f"the deadline{day} leaves no better day")
    text = f"within the policy, all gates passed, and it brings something: {_brings(gain)}"
    return "within", Reason(text=text)


def _brings(gain: Gain) -> str:
    return gain.reasons[0].text if gain.reasons else "nothing for you"


def because(found: Evaluation) -> str:
    """The one thing that decides a candidate, short."""
    if found.stopped:
        return found.stopped[0]
    ruling = found.ruling
    if found.verdict is Verdict.UPDATE:
        return _why_now(found)
    if not bool(ruling.within[0]):
        return "a hazard of moving is above what the policy accepts"
    shut = [row.shut for row in GATES if not bool(ruling.gates[row.id][0])]
    if shut:
        return f"not yet: {', '.join(shut)}"
    if not bool(ruling.proven[0]):
        return "not yet: too little known of so much that changed"
    return "too little gained to move"


def _row(hazard: Hazard, lead: str) -> Reason:
    text = f"{lead} {hazard.name}: {hazard.outcome} ({hazard.severity}, {hazard.level.value} risk)"
    return Reason(text=text, pointers=hazard.pointers)


def reasons_of(
    found: Evaluation,
    decides: tuple[str, Reason],
    moving: Sequence[Hazard],
    staying: Sequence[Hazard],
    gates: Sequence[Gate],
    gain: Gain,
    warning: Warned,
) -> tuple[Reason, ...]:
    """The three reasons that matter first; the deciding one leads."""
    rows = [decides[1], *_further(found, decides[0], moving, staying, gates, gain, warning)]
    kept: dict[str, Reason] = {}
    for reason in rows:
        kept.setdefault(reason.text, reason)
    return tuple(kept.values())[:MOST]


def _further(
    found: Evaluation,
    decided: str,
    moving: Sequence[Hazard],
    staying: Sequence[Hazard],
    gates: Sequence[Gate],
    gain: Gain,
    warning: Warned,
) -> Iterable[Reason]:
    if warning[0]:
        text = "the installed version has a defect that can end in the loss of the aircraft"
        yield Reason(text=text, pointers=warning[1])
    updates = found.verdict is Verdict.UPDATE
    if updates:
        yield from (Reason(text=f"it {r.text}", pointers=r.pointers) for r in gain.reasons[:1])
        if moving:
            worst = moving[0]
            held = "stays within your policy" if worst.accepted else "is above your policy alone"
            text = f"the worst hazard of moving, {worst.name}, {held} ({worst.level.value} risk)"
            yield Reason(text=text, pointers=worst.pointers)
        yield Reason(text="; ".join(g.why for g in gates if g.id in ("days", "looks")))
        return
    yield from (_row(h, "moving brings") for h in moving if not h.accepted)
    if not found.stopped:
        yield from (
            Reason(text=f"{g.name}: {g.why}")
            for g in gates
            if g.passed is Passed.NO and g.id != decided
        )
    yield from (_row(h, "moving changes") for h in moving[:1] if h.function)
    if gain.worth in (Worth.NONE, Worth.LITTLE):
        pointers = gain.reasons[0].pointers if gain.reasons else ()
        yield Reason(text=f"it brings no more than: {_brings(gain)}", pointers=pointers)
    elif staying:
        yield _row(staying[0], "staying keeps a defect of")
