"""Pictures hold, say the same in words, and let nothing of the notes become markup."""

from __future__ import annotations

import datetime as dt
import re
from xml.etree import ElementTree

import pytest

from triage.advice.projection import Course
from triage.domain.advice import Certainty, Hazard, HazardKind, Verdict
from triage.domain.policy import Level
from triage.render import advice_plots
from triage.render.outline import Figure


def hazard(level: Level, *, accepted: bool) -> Hazard:
    return Hazard(
        kind=HazardKind.CHANGE,
        chance=0.001,
        function="landing",
        name="landing",
        outcome="it may land hard",
        severity="critical",
        likelihood="remote: under 1 flight in 1,000",
        level=level,
        evidence="no looks",
        known=False,
        accepted=accepted,
    )


def made(**changed: object) -> Course:
    values: dict[str, object] = {
        "released": dt.date(2026, 3, 1),
        "today": 9,
        "last": 40,
        "turns": 21,
        "reported": ((3, 2.0), (6, 7.5)),
        "users_asked": 8,
        "days_asked": 14,
        "days_instead": 21,
        "hazard": "landing <b>",
        "chance": tuple((day, 0.004 * 0.97 ** (day - 9)) for day in range(9, 41)),
        "allowed": 1e-3,
    }
    return Course.model_validate(values | changed)


EVERY = {
    "reports": advice_plots.reports(made()),
    "no reports asked": advice_plots.reports(
        made(users_asked=0, days_instead=0, reported=(), turns=None)
    ),
    "day zero": advice_plots.reports(made(today=0, reported=(), released=None)),
    "risk": advice_plots.risk_ahead(made()),
    "no hazard": advice_plots.risk_ahead(made(chance=(), hazard="")),
    "tiny chance": advice_plots.risk_ahead(made(chance=((9, 0.0), (10, 0.0)), allowed=1.0)),
    "sides": advice_plots.two_sides(
        [hazard(Level.HIGH, accepted=False)] * 9, [hazard(Level.LOW, accepted=True)]
    ),
    "no sides": advice_plots.two_sides([], []),
    "sure": advice_plots.sureness(Certainty(words="firm", share=0.93, draws=2000), Verdict.WAIT),
    "flips": advice_plots.strictness(
        [Verdict.WAIT] * 9 + [Verdict.UPDATE] * 12, 10, ("strict", "middle", "mild")
    ),
    "no flips": advice_plots.strictness([Verdict.WAIT] * 21, None, ("strict", "middle", "mild")),
}


@pytest.mark.parametrize("name", EVERY)
def test_well_formed_and_without_colour_or_script(name: str) -> None:
    figure: Figure = EVERY[name]
    root = ElementTree.fromstring(figure.svg)
    assert root.attrib["role"] == "img" and root.attrib["aria-label"] and figure.text
    assert not re.search(r"#[0-9a-f]{3}|rgb|<script|style=|href|nan|inf", figure.svg)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    for part in root.iter():
        for key in ("x", "x1", "x2", "cx"):
            assert -1 <= float(part.attrib.get(key, 0)) <= width + 1
        for key in ("y", "y1", "y2", "cy"):
            assert -1 <= float(part.attrib.get(key, 0)) <= height + 1


def test_words_say_what_the_picture_shows() -> None:
    assert "turns by itself on 2026-03-22" in EVERY["reports"].text
    assert "7.5 clean users" in EVERY["reports"].text and "14 days and 8" in EVERY["reports"].text
    assert "1 flight in 250 today" in EVERY["risk"].text
    assert "93 of 100" in EVERY["sure"].text and EVERY["sure"].svg.count('fill="none"') == 7
    assert "wait and watch from step 0 to 8; update now from step 9 to 20" in EVERY["flips"].text
    assert "throughout" in EVERY["no flips"].text
    assert "9 high" in EVERY["sides"].text and "+3" in EVERY["sides"].svg
