"""Use case: the invented scenario that ships with the tool, on its own day."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from triage.app.gather import Wanted
from triage.app.policies import policy_named
from triage.domain.policy import Policy
from triage.reference.shipped import folder

DAY = dt.date(2026, 11, 25)  # the day the scenario was written for


def demo_folder() -> Path:
    """Where the scenario's files lie."""
    return folder("corpora") / "demo"


def demo_notes() -> Path:
    """The release notes of the scenario."""
    return demo_folder() / "heron-2-release-notes.md"


def demo_wanted(policy: Policy | None = None) -> Wanted:
    """The scenario's own kit, field reports and day; balanced without a policy."""
    place = demo_folder()
    return Wanted(
        policy=policy or policy_named("balanced"),
        kit=place / "kit.toml",
        day=DAY,
        reports=place / "reports.jsonl",
        recorded=False,
    )
