"""Invented units and settings."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest

from triage.domain.snapshots import Origin, Snapshot
from triage.settings.entries import entries_from
from triage.settings.pasted_text import pairs_in

NOON = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
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
        found = entries_from(*pairs_in(text))
        assert not found.doubts
        return Snapshot(
            unit=unit, taken=at, version=version, origin=Origin.PASTED, entries=found.entries
        )

    return make
