"""The tests that a release makes necessary, from the bench to the riskiest."""

from __future__ import annotations

from collections.abc import Collection
from enum import StrEnum
from functools import cache

from pydantic import Field

from triage.domain.base import Frozen
from triage.domain.judged import JudgedNotes, Standing
from triage.domain.kinds import Kind
from triage.domain.setting_changes import SettingRow
from triage.reference.loader import load_table


class FlightLevel(StrEnum):
    """How much is at stake, the least first."""

    BENCH = "bench"
    HOVER = "hover"
    MANUAL = "manual"
    AUTOMATIC = "automatic"
    LOSS = "loss"


class FlightTest(Frozen):
    """A small test: where, how low, what to watch, when to break off, what to write down."""

    id: str
    title: str
    level: FlightLevel
    settings: tuple[str, ...] = ()
    components: tuple[str, ...] = ()
    where: str = Field(min_length=1)
    watch: str = Field(min_length=1)
    stop: str = Field(min_length=1)
    ask: str = Field(min_length=1)
    reason: str = Field(min_length=1)


class FlightTests(Frozen):
    """The file test_flights.toml."""

    status: str
    test: tuple[FlightTest, ...]


@cache
def flight_tests() -> FlightTests:
    """All tests known here."""
    return load_table("test_flights.toml", FlightTests)


def flights_needed(
    settings: Collection[str], components: Collection[str]
) -> tuple[FlightTest, ...]:
    """The tests that touched settings and components call for, the riskiest last."""
    found = [
        test
        for test in flight_tests().test
        if set(test.settings) & set(settings) or set(test.components) & set(components)
    ]
    return tuple(sorted(found, key=lambda test: list(FlightLevel).index(test.level)))


_CHANGES = (Kind.FLIGHT_BEHAVIOUR, Kind.COMPATIBILITY, Kind.FEATURE)


def changed_by(
    judged: JudgedNotes, releases: Collection[int], rows: Collection[SettingRow]
) -> tuple[frozenset[str], frozenset[str]]:
    """Settings and components whose function the releases change, by vocabulary id.

    A mere fix calls for no test of its own, save where it may change how the aircraft flies.
    """
    settings = {row.setting for row in rows if row.setting}
    components: set[str] = set()
    for item in judged.items:
        may = any(item.judgement(kind).standing is not Standing.NO for kind in _CHANGES)
        if item.release in releases and may:
            settings |= {find.id for find in item.finds.settings}
            components |= {find.id for find in item.finds.components}
    return frozenset(settings), frozenset(components)
