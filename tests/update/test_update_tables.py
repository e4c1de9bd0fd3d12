"""A text of the steps may only hold slots that are filled."""

from __future__ import annotations

import pytest

from triage.errors import ConfigError
from triage.storage.toml_file import parse_toml
from triage.update.update_tables import SLOTS, Words, steps


def test_shipped_texts_hold() -> None:
    assert {"desktop", "unit"} <= SLOTS and "{desktop}" in steps().way["wired"]


@pytest.mark.parametrize("text", ["Charge {unitt}", "Charge {}", "Charge {unit"])
def test_a_slot_that_nothing_fills_is_refused_on_load(text: str) -> None:
    with pytest.raises(ConfigError, match=r"steps\.toml:1: title"):
        parse_toml(f'title = "{text}"\ndetails = []\n', Words, where="steps.toml")
