"""Needs met by an item's words."""

from __future__ import annotations

import pytest

from triage.classify.needs import need_chances


@pytest.mark.parametrize(
    ("need", "text", "met"),
    [
        ("return home higher", "Return to home now climbs higher first", True),
        ("louder battery warnings", "A loud warning for the batery can be chosen", True),
        ("battery warning", "Warnings of a low batery are louder", True),
        ("night flight", "Gimbal points up", False),
        ("to be or not", "anything", False),
        ("no beeping at low battery", "Beeping at low battery is louder", False),
        ("no beeping at low battery", "Option without beeping at low battery", True),
    ],
)
def test_needs_meet_items_by_their_words(need: str, text: str, met: bool) -> None:
    assert bool(need_chances([need], [text])[0, 0]) is met
