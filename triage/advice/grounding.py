"""The word 'do not fly', wherever the notes name a grave defect of the installed version."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from triage.advice import tables
from triage.advice.evaluation import Evaluation
from triage.advice.first_questions import Said, installed_named
from triage.advice.ground import Ground
from triage.advice.hazards import Case
from triage.advice.items_matrix import Entry
from triage.domain.advice import Pointer, Verdict
from triage.domain.kinds import Kind

Warned = tuple[str, tuple[Pointer, ...]]
NO_WORD: Warned = ("", ())


def grounding(case: Case) -> tuple[Entry, ...]:
    """Fixes of a catastrophic or critical defect that the installed version has, in what the
    operator does; a fix that is in doubt counts as soon as it is nearly even."""
    least = tables.priors().doubt.grave
    found = []
    for row, entry in enumerate(case.entries):
        fix = entry.item.judgement(Kind.FIX).chance * entry.item.item.chance
        severity = entry.severity(bool(case.cautious.flight[0, row]))
        held = bool(case.strict.fix[0, row]) or fix >= least
        if held and entry.present > 0 and entry.met and severity is not None and severity <= 2:
            found.append(entry)
    return tuple(found)


def do_not_fly(judged: Sequence[Evaluation], subject: Evaluation) -> Warned:
    """The word, until when, and the statements that it rests on."""
    found = grounding(max(judged, key=lambda f: len(f.case.path)).case)
    said = installed_named(subject.matter.facts.ground)
    if not found and said is None:
        return NO_WORD
    refs = {entry.item.item.ref for entry in found}
    cures = [f for f in judged if not f.stopped and refs <= set(f.case.candidate.items)]
    if subject in cures and subject.verdict is Verdict.UPDATE:
        until = f"until the update to {subject.label} is done"
    elif cures:
        until = f"until this is settled; {cures[-1].label} is to mend it"
    else:
        until = "until this is settled; no release here that can be installed mends it"
    return _text(found, said, until), (
        *(entry.pointer for entry in found),
        *(said[1] if said else ()),
    )


def grounded_by_notes(ground: Ground) -> Warned:
    """The word where there is nothing to move to and the notes speak against what is installed."""
    said = installed_named(ground)
    if said is None:
        return NO_WORD
    return _text((), said, "until the maker has settled this"), said[1]


def _text(found: Sequence[Entry], said: Said | None, until: str) -> str:
    if found:
        worst = min(found, key=lambda e: min(e.severity(True) or 5, e.severity(False) or 5))
        at = int(np.argmin([worst.severity(True) or 5, worst.severity(False) or 5]))
        what = f"the notes name a defect in it: {tables.outcome_row(worst.outcomes[at]).name}"
    else:
        what = said[0] if said else ""
    return (
        f"Do not fly the installed version: {what}. Leave it on the ground {until}."
        " The maker's instructions and your local rules decide."
    )
