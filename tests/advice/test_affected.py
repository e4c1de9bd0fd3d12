"""Which versions a statement names as affected."""

from __future__ import annotations

import pytest

from triage.advice.affected import affected


@pytest.mark.parametrize(
    ("stated", "installed", "expected"),
    [
        ("4.2.5", "4.2.5", True),
        ("4.2.5", "4.2.4", False),
        ("4.2.x", "4.2.4", True),
        ("4.2.x", "4.3.0", False),
        ("4.2.0 to 4.2.5", "4.2.3", True),
        ("4.2.0 to 4.2.5", "4.2.6", False),
        ("4.2.0-4.2.5", "4.2.5", True),
        ("before 4.3", "4.2.9", True),
        ("before 4.3", "4.3", False),
        ("4.1 and earlier", "4.0", True),
        ("4.1 and earlier", "4.2", False),
        ("<= 4.1", "4.1", True),
        ("4.1 or later", "4.2", True),
        ("something else", "4.2", None),
    ],
)
def test_affected(stated: str, installed: str, expected: bool | None) -> None:
    assert affected((stated,), installed) is expected


def test_nothing_named_or_nothing_known_is_not_told() -> None:
    assert affected((), "4.2") is None
    assert affected(("4.2",), "") is None
    assert affected(("4.1", "4.2"), "4.2") is True
    assert affected(("4.1", "odd"), "4.2") is None
