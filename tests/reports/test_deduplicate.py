from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.domain.reports import FieldReport, Seen
from triage.reports import grouped, likeness


def report(day: int = 1, **changes: Any) -> FieldReport:
    stated = {
        "day": dt.date(2026, 5, 1) + dt.timedelta(days=day - 1),
        "where": "pilots' board",
        "version": "1.4",
        "seen": Seen.PROBLEM,
        "words": "lost the live picture twice on the way home",
    }
    return FieldReport.model_validate({**stated, **changes})


# Whether two reports are one report; common practice, no source.
@pytest.mark.parametrize(
    ("changes", "one"),
    [
        ({}, True),
        ({"words": "Lost the live picture twice on the way home!"}, True),
        ({"words": "twice lost the live picture on the way home", "where": "club"}, True),
        ({"where": "club", "day": 61}, False),
        ({"day": 61}, True),
        ({"where": "Pilots board", "day": 61}, True),
        ({"words": "compass error before take-off"}, False),
        ({"words": ""}, False),
        ({"seen": Seen.CLEAN}, False),
        ({"version": "1.5"}, False),
        ({"version": "v1.4.0"}, True),
        ({"component": "goggles"}, False),
        ({"function": "video-view"}, True),
    ],
)
def test_one_report_or_two(changes: dict[str, Any], one: bool) -> None:
    assert len(grouped([report(), report(**changes)])) == (1 if one else 2)


def test_other_functions_are_other_reports() -> None:
    assert len(grouped([report(function="video-view"), report(function="landing")])) == 2


def test_reports_without_words() -> None:
    clean: dict[str, Any] = {"seen": Seen.CLEAN, "words": ""}
    again = grouped([report(users=200, **clean), report(9, users=350, **clean)])
    assert len(again) == 1 and again[0].counted.users == 350 and len(again[0].reports) == 2
    assert again[0].reason == "same place, no words"
    assert len(grouped([report(**clean), report(where="club", **clean)])) == 2
    nowhere: dict[str, Any] = {"where": "", **clean}
    assert len(grouped([report(**nowhere), report(**nowhere)])) == 1
    assert len(grouped([report(**nowhere), report(2, **nowhere)])) == 2


def test_every_figure_of_the_rule_has_its_reason() -> None:
    rule = likeness()
    assert rule.words_reason and rule.days_reason and rule.place_reason and rule.wordless_reason


some = st.builds(
    report,
    st.integers(1, 28),
    where=st.sampled_from(["", "club", "board", "boards"]),
    words=st.sampled_from(["", "lost the picture", "lost the picture!", "lost picture", "drift"]),
    seen=st.sampled_from(Seen),
    users=st.integers(1, 50),
    function=st.sampled_from(["", "landing", "video-view"]),
)


@given(st.lists(some, max_size=12), some)
def test_a_report_added_never_takes_evidence_away(
    before: list[FieldReport], added: FieldReport
) -> None:
    old, new = grouped(before), grouped([*before, added])
    assert len(old) <= len(new) <= len(old) + 1
    for was, now in zip(old, new, strict=False):
        assert (
            now.counted.users >= was.counted.users
            and now.reports[: len(was.reports)] == was.reports
        )
    for seen in Seen:
        users = [sum(g.counted.users for g in x if g.counted.seen is seen) for x in (old, new)]
        assert users[0] <= users[1]


@given(st.lists(some, max_size=12))
def test_no_report_is_lost(reports: list[FieldReport]) -> None:
    groups = grouped(reports)
    assert sorted(map(str, reports)) == sorted(str(x) for group in groups for x in group.reports)
    assert all(bool(group.reason) == (len(group.reports) > 1) for group in groups)
