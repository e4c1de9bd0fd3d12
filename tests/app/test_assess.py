"""What stands between the rooms: functions by unit, a kit that is up to date, a way back."""

from __future__ import annotations

import datetime as dt
from functools import cache

import pytest

from triage.advice import presets
from triage.advice.gates import GATES
from triage.app.assess import advise
from triage.app.environment import pilot
from triage.app.read import engine, read_and_judge
from triage.domain.advice import Assessment, Passed
from triage.domain.answer import Advice, Inputs
from triage.domain.finds import Find, FoundBy
from triage.domain.judged import JudgedNotes
from triage.domain.kit import Kit, Unit
from triage.kit.kit_check import kit_remarks
from triage.reference.shipped import folder
from triage.render.answer import outline
from triage.render.note import VERDICT
from triage.render.text import to_text

DAY = dt.date(2026, 11, 25)
NOTES = folder("corpora") / "demo" / "heron-2-release-notes.md"
HERON = Unit(label="heron", component="aircraft", name="Quillmere Heron 2", version="3.4.2")
VISOR = Unit(label="visor", component="goggles", name="Quillmere Visor", version="2.2.3")


@cache
def judged() -> JudgedNotes:
    return read_and_judge(NOTES.read_bytes(), NOTES.name, engine(), settled=lambda item: None)


def without_instructions() -> JudgedNotes:
    notes = judged().notes
    quiet = tuple(r.model_copy(update={"instructions": ()}) for r in notes.releases)
    return judged().model_copy(update={"notes": notes.model_copy(update={"releases": quiet})})


def answer(*units: Unit, policy: str = "balanced", notes: JudgedNotes | None = None) -> Advice:
    chosen = presets()[policy].policy
    inputs = Inputs(data=b"", kit=Kit(units=units), policy=chosen, day=DAY)
    return advise(notes or judged(), inputs)


def advice_for(label: str, found: Advice) -> Assessment:
    return next(u.assessment for u in found.units if label in u.scope.labels)


def test_functions_relied_on_with_one_unit_do_not_weigh_for_another() -> None:
    alone = answer(HERON.model_copy(update={"functions": ("video-view",)}), VISOR)
    other = VISOR.model_copy(update={"functions": ("landing",)})
    both = answer(HERON.model_copy(update={"functions": ("video-view",)}), other)
    of_heron = [advice_for("heron", found) for found in (alone, both)]
    assert {h.function for h in of_heron[0].moving if not h.known} <= {"video-view", ""} | {
        h.function for h in of_heron[1].moving
    }
    assert of_heron[0].moving == of_heron[1].moving
    everything = advice_for("heron", answer(HERON, VISOR))
    assert len(everything.moving) > len(of_heron[0].moving)


def test_a_kit_that_is_up_to_date_has_nothing_to_do() -> None:
    text = to_text(outline(answer(HERON.model_copy(update={"version": "3.6.0"}))))
    assert text.startswith("NOTHING TO DO: ")
    assert "WAIT AND WATCH" not in text and "of 100 draws" not in text


def test_a_gate_that_fails_is_not_printed_under_its_good_name() -> None:
    found = answer(HERON.model_copy(update={"reversible": False}), policy="conservative")
    advice = advice_for("heron", found)
    failed = [gate for gate in advice.gates if gate.passed is Passed.NO]
    text = " ".join(to_text(outline(found)).split())
    good = {row.id: row.passed for row in GATES}
    assert failed and all(good.get(gate.id) != gate.name for gate in failed)
    assert all(f"Not met: {gate.name}:" in text for gate in failed)


@pytest.mark.parametrize("back", [True, False, None])
def test_kit_check_and_the_advice_agree_on_a_way_back(back: bool | None) -> None:
    unit = HERON.model_copy(update={"reversible": back, "functions": ("landing",)})
    found = answer(unit, policy="conservative", notes=without_instructions())
    gates = advice_for("heron", found).gates
    (gate,) = [gate for gate in gates if gate.id == "way-back"]
    said = [line for line in kit_remarks(Kit(units=(unit,)), DAY) if "go back" in line]
    asks_for_more_days = gate.passed is Passed.NO or "asked for are" in gate.why
    assert asks_for_more_days == (back is False)
    assert bool(said) == (back is None)
    assert all("no longer wait is asked for" in line for line in said)


def test_a_setting_that_no_word_names_is_said_to_be_read_from_the_sentence() -> None:
    found = answer(HERON)
    recheck = advice_for("heron", found).recheck
    chosen = recheck[0]
    refs = {pointer.ref for pointer in chosen.pointers}

    def guessed(notes: JudgedNotes) -> JudgedNotes:
        items = []
        for item in notes.items:
            finds = item.finds
            if item.item.ref in refs:
                guess = Find(id=chosen.setting, words="", start=0, end=0, score=70.0)
                others = tuple(f for f in finds.settings if f.id != chosen.setting)
                finds = finds.model_copy(update={"settings": (*others, guess)})
            items.append(item.model_copy(update={"finds": finds}))
        return notes.model_copy(update={"items": tuple(items)})

    told = " ".join(to_text(outline(found._replace(judged=guessed(found.judged)))).split())
    words = "The notes do not name it; it is read from what they say."
    plain = " ".join(to_text(outline(found)).split())
    assert told.count(words) == plain.count(words) + 1


def test_what_a_find_rests_on() -> None:
    assert Find(id="a", words="a", start=3, end=4).by is FoundBy.WORDS
    assert Find(id="a", words="a", start=-1, end=-1).by is FoundBy.HEADING
    assert Find(id="a", words="", start=0, end=0).by is FoundBy.MODEL


def test_a_login_without_a_name_leaves_the_pilot_unnamed(monkeypatch: pytest.MonkeyPatch) -> None:
    def nameless() -> str:
        raise KeyError("getpwuid(): uid not found: 4711")

    monkeypatch.delenv("TRIAGE_PILOT", raising=False)
    monkeypatch.setattr("getpass.getuser", nameless)
    assert pilot(shared=True) == ""
    monkeypatch.setenv("TRIAGE_PILOT", "b")
    assert (pilot(shared=True), pilot("c", shared=True)) == ("b", "c")


def test_every_verdict_has_words() -> None:
    from triage.domain.advice import Verdict

    assert set(VERDICT) == set(Verdict)
