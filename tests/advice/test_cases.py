"""The worked cases of the data file, each argued in a line there."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.advice import situations_made as making
from triage.advice import Beside, assess, presets
from triage.domain.advice import Assessment, Problem

DATA = Path(__file__).parents[1] / "data" / "advice" / "cases.toml"
CASES: list[dict[str, Any]] = tomllib.loads(DATA.read_text("utf-8"))["case"]


def run(case: dict[str, Any]) -> Assessment:
    rows = [row for row in case["items"] for _ in range(row.get("times", 1))]
    items = [
        making.item(ref=str(i), line=i, **{k: v for k, v in row.items() if k != "times"})
        for i, row in enumerate(rows, start=1)
    ]
    releases = [making.release(**{"days": None, **row}) for row in case["releases"]]
    judged = making.notes(releases, items)
    scope = making.scope(
        judged,
        problems=[Problem(**row) for row in case.get("problems", [])],
        wanted_by=case.get("wanted_by", ()),
    )
    looks = [making.look(**row) for row in case.get("looks", [])]
    policy = presets()[case.get("policy", "balanced")].policy
    kit = making.kit(**case.get("kit", {}))
    beside = Beside(needs=making.met(judged, kit.needs))
    return assess(judged, kit, scope, policy, looks, today=making.DAY, beside=beside)


def said(found: Assessment) -> str:
    """All the words in which the advice gives its grounds."""
    return "\n".join(
        [
            found.headline,
            found.warning,
            *(r.text for r in found.reasons),
            *(r.text for r in found.gain.reasons),
            *(f"{g.name}: {g.why}" for g in found.gates),
            *(c.text for c in (*found.changes, *found.unsure)),
        ]
    )


def test_there_are_enough_cases() -> None:
    assert len(CASES) >= 40
    assert len({case["name"] for case in CASES}) == len(CASES)
    assert all(len(case["why"]) > 20 for case in CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_worked_case(case: dict[str, Any]) -> None:
    found = run(case)
    expect = case["expect"]
    assert found.verdict.value == expect["verdict"], said(found)
    assert expect["because"] in said(found)
    if "warning" in expect:
        assert bool(found.warning) == expect["warning"]
    if expect.get("until") == "none":
        assert found.until is None, found.headline
    elif "until" in expect:
        least, most = expect["until"]
        assert found.until is not None, found.headline
        assert dt.timedelta(least) <= found.until - making.DAY <= dt.timedelta(most)
    if "subject" in expect:
        chosen = next((c for c in found.candidates if c.release == found.subject), None)
        assert (chosen.version if chosen else "") == expect["subject"]
    if "recheck" in expect:
        assert [r.setting for r in found.recheck] == expect["recheck"]
    if "flips" in expect:
        assert {p.ref for flip in found.unsure for p in flip.pointers} == set(expect["flips"])
