"""An invented run; the units and settings are those of the tests of settings."""

from __future__ import annotations

import pytest

from triage.domain.advice import Digests, Verdict
from triage.domain.update_run import Needs, RunPlan, Stage, Step

from ..settings.conftest import NOON, home, taken

__all__ = ["NOON", "home", "plan", "taken"]

SHA = "0" * 64
DIGESTS = Digests(
    notes=SHA, kit=SHA, scope=SHA, policy=SHA, evidence=SHA, model=SHA, vocabulary=SHA
)


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
