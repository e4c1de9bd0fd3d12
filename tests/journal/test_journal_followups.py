"""Outcomes, reviews and corrections fit their decision, and the last word stands."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from tests.journal import making
from tests.journal.making import DAY, UPDATE, WAIT, outcome
from triage.domain.journal import Correction, Decision, Result, Review
from triage.errors import StoreError
from triage.journal.followups import add_later
from triage.journal.history import PastDecision, cases
from triage.journal.store import Journal


def only(journal: Journal) -> PastDecision:
    (found,) = cases(journal)
    return found


def test_the_last_outcome_stands_and_a_problem_is_not_undone(in_file: Journal) -> None:
    making.add(in_file)
    assert only(in_file).outcome is None
    problem = outcome(1, Result.PROBLEM, function="landing", severity=3, flights=4)
    seq = add_later(in_file, problem).seq
    add_later(in_file, outcome(1, flights=30))
    found = only(in_file)
    assert found.outcome == problem and found.flights == 30
    mended = outcome(1, Result.PROBLEM, function="gimbal", corrects=seq)
    add_later(in_file, mended)
    assert only(in_file).problems == (mended,)


def test_a_correction_changes_what_counts_not_what_was_written(in_file: Journal) -> None:
    making.add(in_file)
    before = in_file.entry(1)
    assert only(in_file).followed and only(in_file).updated
    decision = Decision(units=("heron",), choice=WAIT, reason="typed the wrong word")
    add_later(in_file, Correction(about=1, day=DAY, decisions=(decision,), words="slip"))
    assert not only(in_file).followed and only(in_file).decision == decision
    back = decision.model_copy(update={"choice": UPDATE})
    add_later(in_file, Correction(about=1, corrects=2, day=DAY, decisions=(back,)))
    assert only(in_file).updated and in_file.entry(1) == before


def test_a_correction_leaves_the_review_due(in_file: Journal) -> None:
    making.add(in_file, due=DAY)
    decision = Decision(units=("heron",), choice=WAIT)
    add_later(in_file, Correction(about=1, day=DAY, decisions=(decision,)))
    assert [e.seq for e in in_file.due(DAY)] == [2]
    seq = add_later(in_file, outcome(1)).seq
    assert in_file.due(DAY) == ()
    add_later(in_file, outcome(1, due=DAY, corrects=seq))
    add_later(in_file, outcome(1, corrects=4))
    assert [e.seq for e in in_file.due(DAY)] == [5]


def test_what_does_not_fit_is_refused(in_file: Journal) -> None:
    making.add(in_file)
    add_later(in_file, Review(about=1, day=DAY))
    bad = [
        (outcome(9), "no entry 9"),
        (outcome(2), "entry 2 is no decision; name entry 1"),
        (outcome(1, units=("visor",)), "decides nothing about 'visor'; units are: heron"),
        (outcome(1, severity=2), "tell of a problem"),
        (outcome(1, went_back=True), "tell of a problem"),
        (outcome(1, corrects=2), "entry 2 is no outcome about entry 1"),
        (Review(about=1, day=DAY, corrects=1), "entry 1 is no review about entry 1"),
        (Correction(about=1, day=DAY, decisions=(Decision(units=("x",), choice=WAIT),)), "'x'"),
    ]
    for payload, words in bad:
        with pytest.raises(StoreError, match=words):
            add_later(in_file, payload)  # type: ignore[arg-type]
    assert in_file.tail()[0] == 2
    for wrong in ({"severity": 5}, {"flights": -1}, {"word": "x"}):
        with pytest.raises(ValidationError):
            outcome(1, Result.PROBLEM, **wrong)
