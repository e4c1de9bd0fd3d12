"""Plots are sound SVG that loads nothing; pages carry them, terminals their words."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from tests.journal.making import DAY, WAIT, advised, case, outcome
from triage.domain.journal import Result
from triage.journal.history import PastDecision
from triage.journal.learning import stats
from triage.journal.verify import Fault, Verified
from triage.render.html import to_html
from triage.render.journal import listing, reviews_shown, verified_shown
from triage.render.journal_learnt import journal_report, learnt
from triage.render.journal_plots import days_waited, problem_shares, reliability
from triage.render.text import to_text

SVG = "{http://www.w3.org/2000/svg}"


def many() -> list[PastDecision]:
    cases = []
    for n in range(80):
        result = Result.PROBLEM if n % 5 == 0 else Result.WELL
        cases.append(
            case(n + 1, brief=advised(share=0.55 + n / 200), outcomes=(outcome(result=result),))
        )
    cases.append(case(81, brief=advised(WAIT), choice=WAIT))
    cases.append(case(82, day=DAY.replace(day=30)))
    return cases


def circles(svg: str) -> list[tuple[float, float]]:
    root = ElementTree.fromstring(svg)
    return [(float(c.attrib["cx"]), float(c.attrib["cy"])) for c in root.iter(f"{SVG}circle")]


def test_the_reliability_diagram_shows_each_group_where_it_belongs() -> None:
    found = stats(many())
    svg = reliability(found.groups)
    points = circles(svg)
    assert len(points) == len(found.groups) == 5
    for (x, y), group in zip(points, found.groups, strict=True):
        assert abs((x - 48) / 300 - group.stated) < 1e-3
        assert abs(1 - (y - 12) / 300 - group.held.share) < 1e-3


def test_plots_load_nothing_and_are_sound() -> None:
    found = stats(many())
    rows = [(f"<{n}> & more", row) for n, row in enumerate(found.rows)]
    for svg in (
        reliability(found.groups),
        problem_shares(rows),
        days_waited(((0, 3), (5, 1), (400, 2))),
        days_waited(((0, 1),)),
    ):
        root = ElementTree.fromstring(svg)
        assert root.tag == f"{SVG}svg" and root.attrib["role"] == "img"
        assert root.attrib["aria-label"]
        assert not re.search(r"href|script|url\(|style", svg)


def test_the_page_has_plots_and_the_terminal_has_not() -> None:
    found = stats(many())
    page = to_html(journal_report(found, many()[:3], 79))
    assert page.count("<svg") == 3 and page.count("<figcaption>") == 3
    assert "And 79 earlier decisions." in page
    assert not re.search(r"<script|<link|<img|src=", page)
    assert set(re.findall(r"https?://[^\s\"']+", page)) == {"http://www.w3.org/2000/svg"}
    words = to_text(learnt(found))
    assert "svg" not in words and "How well the stated certainty held" in words
    assert "In all: stated 0.75 on average" in words
    assert all(len(line) <= 80 for line in words.splitlines())


def test_too_few_to_tell() -> None:
    words = to_text(learnt(stats(many()[:9])))
    assert "too few to tell (9 of 30)" in words and "too few to tell (9" in words
    page = to_html(journal_report(stats(many()[:9]), [], 0))
    assert page.count("<svg") == 1 and "too few to tell" in page
    assert "no decision yet" in to_text(learnt(stats([])))


def test_reasons_are_shown_not_run() -> None:
    one = case(1)
    decision = one.decision.model_copy(update={"reason": "<script>alert(1)</script>"})
    page = to_html(journal_report(stats([one]), [one.model_copy(update={"decision": decision})], 0))
    assert "<script" not in page and "&lt;script&gt;" in page


def test_what_verifying_says() -> None:
    words = to_text(verified_shown(Verified(3, "ab" * 32, Fault(4, "was altered"), 9)))
    assert "NOT AS WRITTEN" in words and "Entry 4 was altered." in words
    words = to_text(verified_shown(Verified(3, "ab" * 32, None, None)))
    assert "3:" + "ab" * 32 in words and "a cut-off end would not show" in words
    assert "None is due." in to_text(reviews_shown([], DAY)) and "None." in to_text(
        listing([], "x")
    )
