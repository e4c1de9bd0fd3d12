"""The same notes, home and day give the same bytes from every face."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from triage.app import watch as watching
from triage.app.assess import advise
from triage.app.compare import compare_policies
from triage.app.gather import Wanted, gather
from triage.app.policies import policy_named
from triage.app.read import Engine, engine, read_and_judge
from triage.cli.main import run
from triage.domain.answer import Advice
from triage.domain.kinds import Kind
from triage.domain.snapshots import Origin, Snapshot
from triage.reference.shipped import folder
from triage.settings.entries import entries_from as entries_of
from triage.settings.pasted_text import pairs_in
from triage.settings.snapshots import keep_snapshot as record_settings
from triage.watch.watch_store import watched
from triage.web.app import make_app
from triage.web.desk import Desk, PageChoice

DAY = dt.date(2026, 11, 25)
DEMO = folder("corpora") / "demo"
NOTES = DEMO / "heron-2-release-notes.md"
PORT, TOKEN = 8765, "a-token-of-the-test"


@pytest.fixture(scope="module")
def machine() -> Engine:
    return engine()


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home with all that moves an advice: kit, policy, reports, settings, a correction."""
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    for file in DEMO.glob("*.toml"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    (tmp_path / "reports.jsonl").write_bytes((DEMO / "reports.jsonl").read_bytes())
    (tmp_path / "policy.toml").write_text('preset = "eager"\nmin_days_flight = 9\n')
    from triage.classify.corrections import keep_correction

    text = (DEMO / "settings-before.txt").read_text(encoding="utf-8")
    unit = "heron"
    found = entries_of(*pairs_in(text))
    noon = dt.datetime(2026, 11, 20, 12, tzinfo=dt.UTC)
    record_settings(Snapshot(unit=unit, taken=noon, origin=Origin.PASTED, entries=found.entries))
    keep_correction("Return to home climbs first.", "", (Kind.FLIGHT_BEHAVIOUR,))
    return tmp_path


def as_bytes(advice: Advice) -> list[str]:
    return [unit.model_dump_json() for unit in advice.units]


@pytest.fixture
def expected(home: Path, machine: Engine) -> Advice:
    data = NOTES.read_bytes()
    judged = read_and_judge(data, NOTES.name, machine)
    inputs = gather(judged.notes, data, Wanted(day=DAY))
    assert inputs.evidence and inputs.reports and inputs.policy.min_days_flight == 9
    assert any(inputs.recorded.values())
    return advise(judged, inputs)


def test_the_command_line(expected: Advice, capsys: pytest.CaptureFixture[str]) -> None:
    from triage.render.output import Output, rendered

    for form in Output:
        assert run(["assess", str(NOTES), "--today", str(DAY), "--output", form.value]) == 0
        assert capsys.readouterr().out == rendered(expected, form)


def test_the_page(expected: Advice, machine: Engine) -> None:
    from triage.render.answer import outline
    from triage.render.html import to_html
    from triage.web.own_style import with_own_style

    desk = Desk(lambda: DAY)
    desk.__dict__["engine"] = machine
    key = desk.documents.add(NOTES.read_bytes(), NOTES.name).key
    assert as_bytes(desk.answer(key, PageChoice()).advice) == as_bytes(expected)
    client = TestClient(make_app(desk, PORT, TOKEN), base_url=f"http://127.0.0.1:{PORT}")
    client.get(f"/enter?token={TOKEN}")
    paper = client.get(f"/notes/{key}/paper")
    assert paper.content == with_own_style(to_html(outline(expected))).body


def test_policy_compare(expected: Advice, machine: Engine) -> None:
    data = NOTES.read_bytes()
    judged = read_and_judge(data, NOTES.name, machine)
    compared = compare_policies(judged, gather(judged.notes, data, Wanted(day=DAY)))
    own = policy_named("own").name
    found = [by_policy[own].model_dump_json() for _, by_policy in compared]
    assert found == [unit.assessment.model_dump_json() for unit in expected.units]


def test_watch(expected: Advice, machine: Engine, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[Advice] = []

    def noted(*given: Any) -> Advice:
        made.append(advise(*given))
        return made[-1]

    monkeypatch.setattr(watching, "advise", noted)
    watching.watch_notes(NOTES.read_bytes(), NOTES.name, day=DAY)
    refuse: Callable[[str], None] = pytest.fail
    rows = watching.reassess(watched().watched, machine, Wanted(day=DAY), fault=refuse)
    assert [as_bytes(one) for one in made] == [as_bytes(expected)]
    assert {row.units: row.headline for row in rows} == {
        unit.scope.labels: unit.assessment.headline for unit in expected.units
    }


def test_replay(expected: Advice, machine: Engine) -> None:
    from triage.app.decide import decide
    from triage.app.journal import replay_entry
    from triage.domain.choice import Choice as Made

    data = NOTES.read_bytes()
    inputs = gather(expected.judged.notes, data, Wanted(day=DAY))
    entry, _ = decide(expected, inputs, Made.FOLLOW, "")
    assert replay_entry(None, entry.seq, machine).same
