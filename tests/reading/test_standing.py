"""How far along a release is, by its version line."""

from __future__ import annotations

import pytest

from triage.domain.notes import Status
from triage.reading.standing import status_of


@pytest.mark.parametrize(
    ("line", "version", "status"),
    [
        ("## [1.2.0] - 2026-01-02 [YANKED]", "1.2.0", Status.WITHDRAWN),  # Keep a Changelog 1.1.0
        ("4.5.0-beta3", "4.5.0-beta3", Status.BETA),
        ("Release 4.5.0 RC2", "4.5.0 RC2", Status.CANDIDATE),
        ("2.0 (beta)", "2.0", Status.BETA),
        ("Public beta 2.0", "2.0", Status.BETA),
        ("Beta 75 Pro firmware 2.0", "2.0", Status.RELEASED),  # a product's name
        ("Alpha One 1.4.2, 3 May 2026", "1.4.2", Status.RELEASED),
        ("## Unreleased", "", Status.UNRELEASED),
        ("3.1 (pulled on 4 May)", "3.1", Status.WITHDRAWN),
    ],
)
def test_status(line: str, version: str, status: Status) -> None:
    assert status_of(line, version) is status
