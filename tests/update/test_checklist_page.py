from __future__ import annotations

import re

from lxml import html

from triage.domain.setting_changes import Do, Said, Says, SettingRow
from triage.domain.snapshots import SettingEntry
from triage.domain.update_run import Detail, RunPlan, Stage, Step
from triage.render.checklist import to_card, to_page
from triage.render.text import to_text
from triage.render.update_run import one_step, status, summary
from triage.settings.setting_values import read_value
from triage.update.run_state import closing, failed, finished, runs_of, start

from .conftest import NOON


def test_a_box_for_each_step_and_a_line_for_each_version(plan: RunPlan) -> None:
    run = runs_of([start((), plan, NOON, against=False)])[0]
    page = to_page(run)
    tree = html.document_fromstring(page)
    assert len([s for s in tree.iter("span") if s.get("class") == "box"]) == len(plan.steps)
    asked = ["".join(map(str, p.itertext())) for p in tree.iter("p") if p.get("class") == "write"]
    assert sum("Version it shows" in text for text in asked) == 2
    assert "(shall be 1.14)" in "".join(asked)
    assert tree.get("lang") == "en"


def test_it_is_made_for_paper(plan: RunPlan) -> None:
    page = to_page(runs_of([start((), plan, NOON, against=False)])[0])
    style = page.partition("<style>")[2].partition("</style>")[0]
    assert "@page" in style and "@media print" in style and "break-inside: avoid" in style
    assert set(re.findall(r"#[0-9a-f]{3,6}", style)) == {"#000", "#fff"}  # no colour needed
    width = re.search(r"\.box \{ width: (\d+)mm", style)
    assert width is not None and int(width[1]) >= 8
    assert "<script" not in page


def test_texts_are_escaped(plan: RunPlan) -> None:
    bad = plan.steps[0].model_copy(
        update={"title": "<b>x</b>", "details": (Detail(text="<i>", source="<u>"),)}
    )
    page = to_page(
        runs_of(
            [
                start(
                    (),
                    plan.model_copy(update={"steps": (bad,), "title": "<h1>"}),
                    NOON,
                    against=False,
                )
            ]
        )[0]
    )
    assert "<b>" not in page and "<i>" not in page and "<u>" not in page


def test_state_step_and_summary_as_text(plan: RunPlan) -> None:
    begun = start((), plan, NOON, against=True)
    run = runs_of([begun])[0]
    broke = failed(run, run.steps[0], NOON, "no socket")
    run = runs_of([begun, broke])[0]
    text = to_text(status(run))
    assert "[!] 1. Charge (failed: no socket)  <- next" in text
    assert "! Begun against the advice" in text
    assert "Failed: no socket" in to_text(one_step(run, run.steps[0]))
    event = closing(run, NOON, "rain")
    assert event is not None
    words = to_text(summary(finished(runs_of([begun, broke, event])[0])))
    assert "abandoned (rain)" in words and "Left undone" in words


def test_recorded_values_targets_and_room_for_what_is_read(plan: RunPlan) -> None:
    own = SettingEntry(name="RTH altitude", value=read_value("60 m"))
    row = SettingRow(
        unit="heron",
        name="RTH altitude",
        own=own,
        said=(Said(says=Says.RESET, words="reset to 30 m", line=12),),
        expected=(read_value("30 m"),),
        do=Do.SET_AGAIN,
    )
    run = runs_of([start((), plan.model_copy(update={"changes": (row,)}), NOON, against=False)])[0]
    for paper in ("A4", "letter"):
        page = to_page(run, paper)
        assert f"size: {paper}" in page and "counter(page)" in page and "counter(pages)" in page
        assert plan.digests.notes in page
        cells = ["".join(map(str, c.itertext())) for c in html.document_fromstring(page).iter("td")]
        assert cells == ["heron", "RTH altitude", "60 m", "30 m", "set again to 60 m", ""]


def test_the_card_holds_tests_alone(plan: RunPlan) -> None:
    flight = Step(
        id="test-return", stage=Stage.FLIGHT, title="Return to home, near",
        response="as described", ask="height it climbed to, in m",
    )  # fmt: skip
    with_test = plan.model_copy(update={"steps": (*plan.steps, flight)})
    card = to_card(runs_of([start((), with_test, NOON, against=False)])[0])
    assert "Return to home, near ... as described" in card
    assert "Height it climbed to, in m" in card and "Put in battery-1" not in card
