from decimal import Decimal
from typing import Any

import pint
import pytest
from scipy import constants

from triage.domain.snapshots import Value, ValueKind
from triage.settings.quantities import converted, in_unit, same_quantity
from triage.settings.setting_tables import units_of_measure
from triage.settings.setting_values import read_value

# NIST Special Publication 811 (2008), appendix B.8, exact factors; written from memory and held
# against scipy.constants below.
NIST = [
    ("ft", "m", "0.3048"),
    ("in", "cm", "2.54"),
    ("mi", "m", "1609.344"),
    ("mph", "m/s", "0.44704"),
    ("ft/s", "m/s", "0.3048"),
]


@pytest.mark.parametrize(("unit", "to", "factor"), NIST)
def test_exact_factors_of_nist_sp_811(unit: str, to: str, factor: str) -> None:
    assert converted(Decimal(1), unit, to) == Decimal(factor)


# Reference library: scipy.constants, SI values of customary units.
@pytest.mark.parametrize(
    ("unit", "to", "si"),
    [
        ("ft", "m", constants.foot),
        ("in", "cm", constants.inch * 100),
        ("mi", "m", constants.mile),
        ("mph", "m/s", constants.mph),
        ("km/h", "m/s", constants.kmh),
        ("kn", "m/s", constants.knot),
        ("°", "°", 1.0),
        ("min", "s", constants.minute),
    ],
)
def test_agrees_with_scipy(unit: str, to: str, si: float) -> None:
    assert float(converted(Decimal(1), unit, to)) == pytest.approx(si, rel=1e-12)


def test_every_measure_is_a_unit_of_pint_and_of_its_dimension() -> None:
    registry: Any = pint.UnitRegistry()
    by_dimension: dict[str, set[str]] = {}
    for measure in units_of_measure():
        found = str(registry.Quantity(1, measure.pint).dimensionality)
        by_dimension.setdefault(measure.dimension, set()).add(found)
    assert all(len(found) == 1 for found in by_dimension.values())


def test_spellings_belong_to_one_measure_each() -> None:
    spellings = [s for measure in units_of_measure() for s in measure.spellings]
    assert len(spellings) == len(set(spellings))
    assert all(s == s.casefold() for s in spellings)


@pytest.mark.parametrize(
    ("a", "b", "same"),
    [
        ("60 m", "60.0 m", True),
        ("0.30", "0.3", True),
        ("197 ft", "60 m", True),  # 60.05 m, within half a foot
        ("60 ft", "60 m", False),
        ("60 m", "61 m", False),
        ("60 m", "60.4 m", False),  # one unit: as written
        ("10 m/s", "36 km/h", True),
        ("10 m/s", "22 mph", True),  # 9.83 m/s, within half a m/s
        ("10 m/s", "25 mph", False),
        ("60 m", "60 %", False),
        ("60", "60 m", False),
    ],
)
def test_same_as_closely_as_written(a: str, b: str, same: bool) -> None:
    assert same_quantity(read_value(a), read_value(b)) is same


def test_spelled_in_another_unit() -> None:
    value = Value(kind=ValueKind.QUANTITY, text="60 ft", number=Decimal(60), unit="ft")
    assert in_unit(value, "m") == "18.29 m"
