"""A decision on real notes, kept and computed once more: the same, or what differs and why."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from triage.advice import presets
from triage.app.assess import advise
from triage.app.journal import advise_again as computed
from triage.app.read import Engine, engine, read_and_judge
from triage.domain.advice import Evidence, Verdict
from triage.domain.answer import Advice, Inputs
from triage.domain.choice import Choice
from triage.domain.journal import Opener, RecordedDecision
from triage.domain.judged import JudgedNotes, Standing
from triage.domain.kinds import Kind
from triage.domain.kit import Job, Kit, Unit
from triage.domain.notes import Item
from triage.errors import StoreError
from triage.journal.followups import add_later
from triage.journal.record_decision import record_decision
from triage.journal.replay import Replay, replay
from triage.journal.store import Journal
from triage.journal.verify import verify

NOTES = Path(__file__).parents[2] / "corpora" / "demo" / "heron-2-release-notes.md"
DAY = dt.date(2026, 11, 25)
KIT = Kit(
    units=(
        Unit(label="heron", component="aircraft", name="Quillmere Heron 2", version="3.4.2"),
        Unit(label="visor", component="goggles", name="Quillmere Visor", version="2.2.3"),
        Unit(label="battery-1", component="battery", name="Quillmere Cell 40", version="1.9"),
    ),
    jobs=(Job(day=dt.date(2026, 11, 30), what="slate roof"),),
    needs=("fly exactly the same path",),
)
INPUTS = Inputs(
    data=NOTES.read_bytes(),
    kit=KIT,
    policy=presets()["balanced"].policy,
    day=DAY,
    evidence=(Evidence(release=0, day=DAY, users=3, clean=False, function="landing"),),
    recorded={"heron": {"rth-altitude": "40"}},
)


@pytest.fixture(scope="module")
def machine() -> Engine:
    return engine()


def settled(item: Item) -> frozenset[Kind] | None:
    return frozenset({Kind.FIX}) if item.ref == "1" else None


@pytest.fixture(scope="module")
def judged(machine: Engine) -> JudgedNotes:
    return read_and_judge(INPUTS.data, NOTES.name, machine, settled=settled)


@pytest.fixture
def answer(judged: JudgedNotes) -> Advice:
    return advise(judged, INPUTS)


def test_an_entry_holds_all_that_the_advice_rested_on(in_file: Journal, answer: Advice) -> None:
    entry = record_decision(in_file, answer, INPUTS, Choice.FOLLOW, "frost", pilot="b")
    kept = in_file.entry(entry.seq).record.payload
    assert isinstance(kept, RecordedDecision)
    assert in_file.attachment(kept.notes.sha256) == INPUTS.data
    assert (kept.kit, kept.policy, kept.evidence) == (KIT, INPUTS.policy, INPUTS.evidence)
    assert kept.recorded == INPUTS.recorded and kept.day == DAY
    assert kept.model_sha256 == answer.judged.model_sha256
    subjects = {u.scope.labels: u.assessment for u in answer.units}
    for brief in kept.advised:
        assessment = subjects[brief.units]
        assert (brief.verdict, brief.until) == (assessment.verdict, assessment.until)
        assert kept.notes.sha256 == assessment.digests.notes
    heron = next(a for a in kept.advised if a.units == ("heron",))
    assert heron.opened[Opener.CHANGE] and any(a.withdrawn for a in heron.ahead)
    assert next(a for a in heron.ahead if a.version == "3.6.0").trouble == 3
    assert kept.due is not None and kept.due > DAY
    assert [e.seq for e in in_file.search("ridge hold", 5)] == [entry.seq]
    assert verify(in_file).fault is None


def test_decisions_apart(in_file: Journal, answer: Advice) -> None:
    labels = [u.scope.labels for u in answer.units if u.assessment.subject is not None]
    verdicts = {u.scope.labels: u.assessment.verdict for u in answer.units}
    first = labels[0][0]
    against = Choice.WAIT if verdicts[labels[0]] is Verdict.UPDATE else Choice.UPDATE
    with pytest.raises(StoreError, match="to overrule the advice takes a reason"):
        record_decision(in_file, answer, INPUTS, Choice.FOLLOW, " ", apart={first: against})
    with pytest.raises(StoreError, match="no decision is open for 'tiller'; units are: "):
        record_decision(in_file, answer, INPUTS, Choice.FOLLOW, "", apart={"tiller": Choice.WAIT})
    entry = record_decision(in_file, answer, INPUTS, Choice.FOLLOW, "a job", apart={first: against})
    kept = entry.record.payload
    assert isinstance(kept, RecordedDecision)
    assert [d.units for d in kept.decisions] == labels
    followed = [d.choice is verdicts[d.units] for d in kept.decisions]
    assert followed == [False] + [True] * (len(labels) - 1)


def test_nothing_to_decide(in_file: Journal, judged: JudgedNotes) -> None:
    newest = Kit(units=(KIT.units[0].model_copy(update={"version": "3.6.0"}),))
    nothing = advise(judged, INPUTS._replace(kit=newest, evidence=()))
    with pytest.raises(StoreError, match="nothing to decide"):
        record_decision(in_file, nothing, INPUTS, Choice.FOLLOW, "")


def again(journal: Journal, machine: Engine, advise: Any = computed, read: Any = None) -> Replay:
    return replay(journal, 1, read or partial(read_and_judge, engine=machine), advise)


def test_the_same_advice(in_file: Journal, answer: Advice, machine: Engine) -> None:
    """Also with what the operator had settled, which only the entry still knows."""
    record_decision(in_file, answer, INPUTS, Choice.FOLLOW, "")
    found = again(in_file, machine)
    assert found.same and found.why == () and len(found.units) == len(answer.units)


def test_another_model(in_file: Journal, answer: Advice, machine: Engine) -> None:
    """A model that holds every item for flight behaviour, under another digest."""
    record_decision(in_file, answer, INPUTS, Choice.FOLLOW, "")

    def read(data: bytes, name: str, **options: Any) -> JudgedNotes:
        notes = read_and_judge(data, name, machine, **options)
        items = []
        for item in notes.items:
            judgements = tuple(
                j.model_copy(update={"chance": 0.99, "standing": Standing.YES})
                if j.kind is Kind.FLIGHT_BEHAVIOUR
                else j
                for j in item.judgements
            )
            items.append(item.model_copy(update={"judgements": judgements}))
        return notes.model_copy(update={"items": tuple(items), "model_sha256": "f" * 64})

    found = again(in_file, machine, read=read)
    assert not found.same
    assert any("the model has changed" in why and "ffffffffffff now" in why for why in found.why)
    assert any("the reading differs, not the rules" in why for why in found.why)
    assert any("was fix; is fix, flight-behaviour" in item for item in found.items)
    names = {name for unit in found.units for name, _, _ in unit.fields}
    assert "moving" in names and "digests" not in names


def test_other_rules(in_file: Journal, answer: Advice, machine: Engine) -> None:
    record_decision(in_file, answer, INPUTS, Choice.FOLLOW, "")

    def stricter(judged: JudgedNotes, stored: RecordedDecision) -> Advice:
        policy = stored.policy.model_copy(update={"min_days_flight": 300})
        return computed(judged, stored.model_copy(update={"policy": policy}))

    found = again(in_file, machine, stricter)
    assert not found.same and found.items == ()
    assert any("the rules or their numbers" in why for why in found.why)
    gates: Mapping[str, tuple[str, str, str]] = {f[0]: f for u in found.units for f in u.fields}
    assert "gates" in gates


def test_only_decisions_are_replayed(in_file: Journal, answer: Advice, machine: Engine) -> None:
    from tests.journal.making import outcome

    record_decision(in_file, answer, INPUTS, Choice.FOLLOW, "")
    add_later(in_file, outcome(1))
    with pytest.raises(StoreError, match="entry 2 is no decision; name entry 1"):
        replay(in_file, 2, partial(read_and_judge, engine=machine), computed)
