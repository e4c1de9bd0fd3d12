"""Invented units, settings and runs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest

from triage.domain.advice import Digests, Verdict
from triage.domain.snapshots import Origin, Snapshot
from triage.domain.updateday import Needs, RunPlan, Stage, Step
from triage.updateday.gather import gather
from triage.updateday.layouts import pairs_in

NOON = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
SHA = "0" * 64
DIGESTS = Digests(
    notes=SHA, kit=SHA, scope=SHA, policy=SHA, evidence=SHA, model=SHA, vocabulary=SHA
)
KIT = """\
[[unit]]
label = "heron"
component = "aircraft"
name = "Quillmere Heron 2"
version = "3.4.2"  # read on Monday

[[unit]]
label = "battery-1"
component = "battery"
name = "Quillmere Cell 40"
version = "1.9"
"""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TRIAGE_HOME", str(tmp_path))
    (tmp_path / "kit.toml").write_text(KIT)
    return tmp_path


@pytest.fixture
def taken() -> Callable[..., Snapshot]:
    """A snapshot from pasted text."""

    def make(text: str, unit: str = "heron", at: dt.datetime = NOON, version: str = "") -> Snapshot:
        found = gather(*pairs_in(text))
        assert not found.doubts
        return Snapshot(
            unit=unit, taken=at, version=version, origin=Origin.PASTED, entries=found.entries
        )

    return make


@pytest.fixture
def plan() -> RunPlan:
    """A run of six steps: charge, settings, one aircraft, one battery, settings again, hover."""
    steps = (
        Step(id="charge", stage=Stage.BEFORE, title="Charge", needs=Needs.CHARGE),
        Step(
            id="settings-heron",
            stage=Stage.BEFORE,
            title="Record",
            needs=Needs.BEFORE,
            unit="heron",
        ),
        Step(
            id="version-heron",
            stage=Stage.UNITS,
            title="Read the version of heron",
            needs=Needs.VERSION,
            unit="heron",
            installed="3.4.2",
            target="3.6.0",
            after=("charge", "settings-heron"),
            owed=True,
        ),
        Step(
            id="rotate-battery-1",
            stage=Stage.UNITS,
            title="Put in battery-1",
            needs=Needs.VERSION,
            unit="battery-1",
            installed="1.9",
            target="1.14",
            after=("version-heron",),
            owed=True,
        ),
        Step(
            id="compare-heron",
            stage=Stage.AFTER,
            title="Compare",
            needs=Needs.AFTER,
            unit="heron",
            after=("version-heron",),
        ),
        Step(id="hover", stage=Stage.AFTER, title="Hover", after=("compare-heron",)),
    )
    return RunPlan(
        unit="heron",
        title="Quillmere Heron 2 3.6.0",
        version="3.6.0",
        policy="balanced",
        min_charge=60,
        verdict=Verdict.UPDATE,
        headline="Update to 3.6.0 now",
        steps=steps,
        digests=DIGESTS,
    )
