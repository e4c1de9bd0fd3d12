from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.domain.snapshots import ValueKind
from triage.reference.vocabulary import settings
from triage.settings.setting_tables import field_of, fields, units_of_measure
from triage.settings.setting_values import ValueFaultError, read_value, value_words


@pytest.mark.parametrize(
    ("text", "number", "unit"),
    [
        ("60 m", "60", "m"),
        ("60m", "60", "m"),
        ("200 feet", "200", "ft"),
        ("8 m/s", "8", "m/s"),
        ("25 MPH", "25", "mph"),
        ("30 %", "30", "%"),
        ("30%", "30", "%"),
        ("60 °/s", "60", "°/s"),
        ("0,30", "0.30", ""),
        ("1,234.5 m", "1234.5", "m"),
        ("1 500 m", "1500", "m"),
        ("-5 m", "-5", "m"),
        ("−5 m", "-5", "m"),
        (".5", "0.5", ""),
        ("2", "2", ""),
    ],
)
def test_quantities(text: str, number: str, unit: str) -> None:
    value = read_value(text)
    assert (value.kind, value.number, value.unit) == (ValueKind.QUANTITY, Decimal(number), unit)
    assert value.text == text


@pytest.mark.parametrize("text", ["On", "ENABLED", "yes", "true"])
def test_on(text: str) -> None:
    assert read_value(text).on is True


@pytest.mark.parametrize("text", ["Off", "disabled", "no", "false"])
def test_off(text: str) -> None:
    assert read_value(text).on is False


@pytest.mark.parametrize("text", ["Take-off place", "3840 x 2160, 30 fps", "Mode 2", "16:9"])
def test_choices(text: str) -> None:
    value = read_value(text)
    assert (value.kind, value_words(value)) == (ValueKind.CHOICE, text)


@pytest.mark.parametrize(
    ("field", "text", "question"),
    [
        ("rth-altitude", "60", "is it 60 m or ft?"),
        ("rth-altitude", "60 m/s", "is no length"),
        ("rth-altitude", "60 furlong", "no unit known here"),
        ("rth-altitude", "On", "is no length"),
        ("rth-altitude", "high", "is no length"),
        ("rth-altitude", "-5 m", "less than 0 m"),
        ("rth-altitude", "60000 m", "cannot be"),
        ("rth-altitude", "1,500 ft", "1500 or 1.500"),
        ("battery-warning", "130 %", "more than 100 %"),
        ("battery-warning", "30", "write it as 30 %"),
        ("landing-protection", "60 m", "neither on nor off"),
        ("rth-altitude", "", "no value"),
        ("rth-altitude", "x" * 300, "longer than"),
        ("rth-altitude", "1.2.3 m", "no number"),
    ],
)
def test_what_cannot_stand_is_a_question(field: str, text: str, question: str) -> None:
    with pytest.raises(ValueFaultError, match=question.replace("?", r"\?")):
        read_value(text, field_of(field))


def test_a_limit_may_be_off_and_a_switch_may_be_a_digit() -> None:
    assert read_value("Off", field_of("distance-limit")).on is False
    assert read_value("1", field_of("landing-protection")).on is True


def test_fields_belong_to_the_vocabulary() -> None:
    known = {setting.id for setting in settings()}
    dimensions = {measure.dimension for measure in units_of_measure()}
    names = [name for field in fields() for name in (field.name, *field.names)]
    assert {field.setting for field in fields()} <= known
    assert {field.dimension for field in fields()} <= dimensions | {""}
    assert len(names) == len(set(names))


@given(st.text(max_size=250))
def test_any_text_is_a_value_or_a_question(text: str) -> None:
    for field in (None, *fields()[:3], field_of("landing-protection")):
        try:
            value = read_value(text, field)
        except ValueFaultError as fault:
            assert "?" in str(fault) or ";" in str(fault)
        else:
            assert value_words(value)


@given(st.decimals(min_value=0, max_value=4999, places=2), st.sampled_from(["m", "ft"]))
def test_shown_is_read_back(number: Decimal, unit: str) -> None:
    value = read_value(f"{number} {unit}", field_of("rth-altitude"))
    again = read_value(value_words(value), field_of("rth-altitude"))
    assert (again.number, again.unit) == (value.number, value.unit)
