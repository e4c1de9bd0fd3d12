from __future__ import annotations

import pytest

from triage.domain.snapshots import SettingEntry
from triage.settings.entries import checked_entry
from triage.settings.legal_limits import outside
from triage.settings.pasted_text import Pair
from triage.settings.setting_tables import field_of, fields, limits


def rules(name: str, value: str) -> list[str]:
    entry = checked_entry(Pair(name, value))
    assert isinstance(entry, SettingEntry)
    return [flag.rule for flag in outside(entry)]


# 14 CFR 107.51(a): 87 knots (100 miles per hour); (b): 400 feet above ground level.
# UAS.OPEN.010 of Regulation (EU) 2019/947: 120 metres. Delegated Regulation (EU) 2019/945, Annex,
# Parts 1 and 2 (classes C0 and C1): 19 m/s. Figures of the rules, from memory beside DESIGN.
@pytest.mark.parametrize(
    ("name", "value", "flagged"),
    [
        ("Maximum altitude", "120 m", []),
        ("Maximum altitude", "121 m", ["UAS.OPEN.010"]),
        ("Maximum altitude", "400 ft", ["UAS.OPEN.010"]),  # 121.92 m
        ("Maximum altitude", "393 ft", []),
        ("Maximum altitude", "401 ft", ["14 CFR 107.51", "UAS.OPEN.010"]),
        ("Return-to-home altitude", "130 m", ["14 CFR 107.51", "UAS.OPEN.010"]),
        ("Maximum speed", "87 kn", ["classes C0 and C1 of Delegated Regulation (EU) 2019/945"]),
        ("Maximum speed", "19 m/s", []),
        ("Maximum speed", "88 kn", None),
        ("Maximum speed", "101 mph", None),  # the 100 mph of the rule are 86.9 kn, rounded to 87
        ("Maximum descent speed", "40 m/s", []),
        ("Maximum distance", "5000 m", []),
    ],
)
def test_named_rules(name: str, value: str, flagged: list[str] | None) -> None:
    if flagged is None:
        assert "14 CFR 107.51" in rules(name, value)
    else:
        assert rules(name, value) == flagged


def test_a_flag_defers_to_the_local_rules() -> None:
    entry = checked_entry(Pair("Maximum altitude", "500 ft"))
    assert isinstance(entry, SettingEntry)
    first = outside(entry)[0].text
    assert first.startswith("500 ft is above 400 ft: check your local rules; 14 CFR 107.51")


def test_limits_are_on_known_fields_and_name_their_source() -> None:
    known = {field.id for field in fields()}
    for limit in limits():
        assert set(limit.fields) <= known
        assert limit.status.startswith("source: ")
    assert field_of("altitude-limit") is not None
