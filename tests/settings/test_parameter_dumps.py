"""Dumps as flight controllers write them; the lines are invented in the form of open firmware."""

from __future__ import annotations

from triage.settings.entries import entries_from
from triage.settings.parameter_dumps import from_dump, is_dump
from triage.settings.read_settings import read_settings

DUMP = """\
# version
# Board 4.5.0
batch start
feature -RX_PARALLEL_PWM
feature GPS
aux 0 0 0 1700 2100 0 0
set failsafe_delay = 15
set gps_rescue_min_start_dist = 30
rateprofile 0
set roll_srate = 67
rateprofile 1
set roll_srate = 70
what is this
save
"""


def test_a_command_line_dump() -> None:
    assert is_dump(DUMP)
    pairs, others = from_dump(DUMP)
    assert [(p.name, p.value, p.line) for p in pairs] == [
        ("feature RX_PARALLEL_PWM", "off", 4), ("feature GPS", "on", 5),
        ("aux 0", "0 0 1700 2100 0 0", 6), ("failsafe_delay", "15", 7),
        ("gps_rescue_min_start_dist", "30", 8), ("rateprofile 0 roll_srate", "67", 10),
        ("rateprofile 1 roll_srate", "70", 12),
    ]  # fmt: skip
    assert [(u.line, u.heading) for u in others] == [
        (1, True), (2, True), (3, True), (9, True), (11, True), (13, False), (14, True),
    ]  # fmt: skip


def test_bare_numbers_of_a_dump_ask_for_no_unit() -> None:
    found = read_settings(DUMP.encode(), "dump.txt")
    result = entries_from(found.pairs)
    assert not result.doubts
    delay = next(e for e in result.entries if e.name == "failsafe_delay")
    assert (delay.field, delay.value.unit) == ("signal-loss-delay", "")


def test_parameter_files() -> None:
    for text in (
        "RTL_ALT,1500\nFS_THR_ENABLE,1\n",
        "RTL_ALT 1500\nFS_THR_ENABLE 1\n",
        "# ID  COMPONENT  NAME  VALUE  TYPE\n1\t1\tRTL_ALT\t1500\t6\n1\t1\tFS_THR_ENABLE\t1\t6\n",
    ):
        found = read_settings(text.encode(), "vehicle.param")
        assert [(p.name, p.value) for p in found.pairs] == [
            ("RTL_ALT", "1500"), ("FS_THR_ENABLE", "1"),
        ]  # fmt: skip


def test_an_app_list_is_no_dump() -> None:
    assert not is_dump("Return altitude = 60 m\nBeginner mode = Off\n")
