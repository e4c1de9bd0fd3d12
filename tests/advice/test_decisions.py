"""Decisions argued by common practice, each in three wordings: verdict, what decides, grounding."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.advice import situations_made as making
from triage.advice import Beside, assess, presets
from triage.domain.advice import Assessment, Problem

DATA = Path(__file__).parents[1] / "data" / "advice" / "decisions.toml"
FILE: dict[str, Any] = tomllib.loads(DATA.read_text("utf-8"))
FACTS: dict[str, dict[str, Any]] = FILE["fact"]
CASES: list[dict[str, Any]] = FILE["case"]
OF_RELEASE = ("days", "status", "component", "told")
OF_KIT = ("jobs", "functions", "needs", "conditions", "without")


def decided(case: dict[str, Any], wording: int) -> Assessment:
    items = []
    for line, name in enumerate(case["facts"], start=1):
        fact = {k: v for k, v in FACTS[name].items() if k != "words"}
        text = FACTS[name]["words"][wording]
        items.append(making.item(ref=str(line), line=line, text=text, **fact))
    release = making.release(
        items=items,
        notices=[making.notice(**row) for row in case.get("notices", [])],
        **({"days": 30} | {k: case[k] for k in OF_RELEASE if k in case}),
    )
    issues = [making.issue(**row) for row in case.get("issues", [])]
    judged = making.notes([release], items, issues)
    scope = making.scope(
        judged,
        problems=[Problem(**row) for row in case.get("problems", [])],
        wanted_by=case.get("wanted_by", ()),
    )
    kit = making.kit(**{k: case[k] for k in OF_KIT if k in case})
    looks = [making.look(**row) for row in case.get("looks", [])]
    policy = presets()[case.get("policy", "balanced")].policy
    beside = Beside(needs=making.met(judged, kit.needs))
    return assess(judged, kit, scope, policy, looks, today=making.DAY, beside=beside)


def test_there_are_enough_cases_and_wordings() -> None:
    assert len(CASES) >= 120
    assert len({case["name"] for case in CASES}) == len(CASES)
    assert all(len(case["why"]) > 20 for case in CASES)
    assert all(len(set(fact["words"])) == 3 for fact in FACTS.values())
    assert {name for case in CASES for name in case["facts"]} == set(FACTS)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_decision_is_the_same_in_every_wording(case: dict[str, Any]) -> None:
    for wording in range(3):
        found = decided(case, wording)
        said = (found.verdict.value, found.decided_by, bool(found.warning))
        expect = case["expect"]
        grounded = expect.get("grounded", False)
        assert said == (expect["verdict"], expect["by"], grounded), found.headline
        assert found.reasons[0] == found.deciding
