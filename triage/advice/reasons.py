"""The headline and the three reasons that matter, in the order in which the rule decides."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence

from triage.advice.finding import Finding
from triage.advice.tell import day_text
from triage.domain.advice import Gain, Gate, Hazard, Passed, Pointer, Reason, Verdict
from triage.domain.policy import Worth

MOST = 3


def headline(subject: Finding, newest: Finding, until: dt.date | None, worth: Worth) -> str:
    """The advice in one line."""
    if subject.verdict is Verdict.UPDATE:
        later = f", wait on {newest.label}" if newest is not subject else ""
        why = (
            ": staying carries the greater risk"
            if bool(subject.ruling.presses[0])
            else ": within your policy, and it brings something"
        )
        return f"Update to {subject.label} now{later}{why}"
    if subject.blocking:
        return f"Wait and watch: {subject.label} is not to be installed, {subject.blocking}"
    if until is not None:
        return f"Wait and watch until {day_text(until)} before moving to {subject.label}"
    if subject.within_days is not None:
        risk = "little at risk in" if subject.within_days == 0 else "no haste with"
        return f"Wait and watch: {risk} {subject.label}, and {_gained(worth)}"
    return f"Wait and watch: no day in sight for {subject.label} under your policy"


def _gained(worth: Worth) -> str:
    return "nothing gained" if worth is Worth.NONE else "little gained"


def because(found: Finding) -> str:
    """The one thing that decides a candidate."""
    if found.blocking:
        return found.blocking
    if found.verdict is Verdict.UPDATE:
        if bool(found.ruling.presses[0]):
            return "a known defect of the installed version outweighs the hazards of moving"
        return "within the policy, all gates passed, something gained"
    if not bool(found.ruling.within[0]):
        return "a hazard of moving is above what the policy accepts"
    shut = [name for name, value in found.ruling.gates.items() if not bool(value[0])]
    if shut:
        return f"not yet: {', '.join(_SHUT[name] for name in shut)}"
    return "too little gained to move"


_SHUT = {
    "status": "it is a preview",
    "days": "too few days out",
    "looks": "too few looks",
    "trouble": "trouble is reported",
    "job": "a job is close",
    "way-back": "there is no way back",
}


def _row(hazard: Hazard, lead: str) -> Reason:
    text = f"{lead} {hazard.name}: {hazard.outcome} ({hazard.severity}, {hazard.level.value} risk)"
    return Reason(text=text, pointers=hazard.pointers)


def reasons_of(
    subject: Finding,
    moving: Sequence[Hazard],
    staying: Sequence[Hazard],
    gates: Sequence[Gate],
    gain: Gain,
    warning: tuple[str, tuple[Pointer, ...]],
) -> tuple[Reason, ...]:
    """The three reasons that matter first."""
    return tuple(_ordered(subject, moving, staying, gates, gain, warning))[:MOST]


def _ordered(
    subject: Finding,
    moving: Sequence[Hazard],
    staying: Sequence[Hazard],
    gates: Sequence[Gate],
    gain: Gain,
    warning: tuple[str, tuple[Pointer, ...]],
) -> Iterable[Reason]:
    if subject.blocking:
        yield Reason(text=f"{subject.label}: {subject.blocking}")
    if warning[0]:
        text = "the installed version has a defect that can end in the loss of the aircraft"
        yield Reason(text=text, pointers=warning[1])
    updates = subject.verdict is Verdict.UPDATE
    presses = bool(subject.ruling.presses[0])
    if presses and not warning[0]:
        yield from (_row(h, "staying keeps a defect of") for h in staying[:1])
    if not updates:
        over = [h for h in moving if not h.accepted]
        yield from (_row(h, "moving changes") for h in over)
        yield from (
            Reason(text=f"{g.name}: {g.why}")
            for g in gates
            if g.passed is Passed.NO and not subject.blocking
        )
    if gain.worth in (Worth.NONE, Worth.LITTLE) and not updates:
        what = f"no more than: {gain.reasons[0].text}" if gain.reasons else "nothing for you"
        pointers = gain.reasons[0].pointers if gain.reasons else ()
        yield Reason(text=f"it brings {what}", pointers=pointers)
    if updates:
        yield from (Reason(text=f"it {r.text}", pointers=r.pointers) for r in gain.reasons[:1])
        worst = moving[0]
        held = "stays within your policy" if worst.accepted else "is less than that of staying"
        text = f"the worst hazard of moving, {worst.name}, {held} ({worst.level.value} risk)"
        yield Reason(text=text, pointers=worst.pointers)
        yield Reason(text="; ".join(g.why for g in gates if g.id in ("days", "looks")))
    elif staying and not presses:
        yield _row(staying[0], "staying keeps a defect of")
