"""Quantities and times for people."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ullage.report.quantity_words import (
    clock,
    duration,
    figures,
    in_unit,
    measured,
    millilitres,
    quantity,
    reworded,
    unit_of,
)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0, "0"),
        (112.3, "112"),
        (1234.5, "1234"),
        (9.996, "10.0"),
        (99.96, "100"),
        (0.456, "0.46"),
        (0.0456, "0.05"),
        (0.000264, "0.0003"),
        (1e-9, "0"),
        (-0.0, "0"),
        (-3.14159, "-3.14"),
    ],
)
def test_three_figures_and_no_exponent(value: float, text: str) -> None:
    """'1e+02 L' is read as one or two litres by somebody in a hurry."""
    assert figures(value) == text


@given(st.floats(-1e9, 1e9))
def test_figures_are_near_the_value_and_readable(value: float) -> None:
    """A rounding that moves the figure by more than its last place tells another quantity."""
    text = figures(value)
    assert "e" not in text
    assert abs(float(text) - value) <= max(5.1e-7, abs(value) * 0.00501, min(0.00501, abs(value) * 0.501))


@pytest.mark.parametrize(
    ("dimension", "si", "metric", "us"),
    [("volume", "meter**3", "liter", "gallon"), ("flow", "meter**3/second", "liter/minute", "gallon/minute"),
     ("pressure", "pascal", "bar", "psi"),
     ("length", "meter", "meter", "foot"), ("mass", "kilogram", "kilogram", "pound")],
)  # fmt: skip
def test_both_systems_agree_with_a_library_of_units(dimension: str, si: str, metric: str, us: str) -> None:
    """A tank filled by imperial gallons instead of US ones runs over. Outside reference: pint."""
    units = pint.UnitRegistry()
    value = units.Quantity(0.0123, si)
    assert in_unit(0.0123, dimension) == pytest.approx(value.to(metric).magnitude, rel=1e-9)
    assert in_unit(0.0123, dimension, "us") == pytest.approx(value.to(us).magnitude, rel=1e-7)


def test_a_quantity_always_has_its_unit() -> None:
    """A figure without a unit is guessed."""
    assert quantity(0.112, "volume") == "112 L"
    assert quantity(0.112, "volume", "us") == "29.6 gal"
    assert quantity(293.15, "temperature") == "20.0 °C"
    assert unit_of("temperature", "us") == "°F"
    assert millilitres(840) == "840 mL"
    assert millilitres(1840) == "1.84 L"
    assert millilitres(3785, "us") == "1.00 gal"


def test_times_since_the_start_sort_as_text_and_lose_no_hour() -> None:
    """A happening told an hour early is looked for in the wrong place."""
    assert clock(0) == "0:00:00"
    assert clock(26_405_999) == "7:20:05"
    assert clock(90_000_000) == "25:00:00"


@pytest.mark.parametrize(
    ("ms", "text"),
    [(400, "0.4 s"), (65_000, "1 min 5 s"), (3_600_000, "1 h"),
     (26_280_000, "7 h 18 min"), (90_061_000, "1 d 1 h"), (86_400_000, "1 d")],
)  # fmt: skip
def test_durations_are_told_by_their_two_largest_units(ms: int, text: str) -> None:
    """'26280 s' has to be divided by the reader, who divides wrongly."""
    assert duration(ms) == text


UNITS = pint.UnitRegistry()
PINT_NAMES = {"L": "liter", "mL": "milliliter", "L/min": "liter/minute", "bar": "bar", "kPa": "kilopascal",
              "mm": "millimeter", "m": "meter", "degC": "degC"}  # fmt: skip
PINT_US = {"gal": "gallon", "gpm": "gallon/minute", "psi": "psi", "in": "inch", "ft": "foot", "°F": "degF"}


@pytest.mark.parametrize("metric", PINT_NAMES)
@pytest.mark.parametrize("number", ["0.5", "3", "47.1", "280", "-12.25"])
def test_a_finished_sentence_is_reworded_as_a_library_of_units_would(metric: str, number: str) -> None:
    """A finding that tells a US reader the wrong gallons is worse than one in litres. Outside reference: pint."""
    said = reworded(f"it holds {number} {metric} at most", "us")
    text, unit = said.removeprefix("it holds ").removesuffix(" at most").split()
    true = UNITS.Quantity(float(number), PINT_NAMES[metric]).to(PINT_US[unit]).magnitude
    assert float(text) == pytest.approx(true, rel=0.0051, abs=0.0051)
    assert reworded(said, "metric") == said


def test_rewording_leaves_alone_what_is_no_quantity_or_was_written_by_a_person() -> None:
    """'belly_level > 12 L' is a line of the file: shown otherwise, nobody finds it again."""
    for text in (
        "'belly_level > 12 L' is never true",
        "no unit in 12.5; a length in m, mm, cm",
        "step 3 Listed",
        "shore2 L",
        "Kv of 2 m3/h",
        "a loss of 5 %",
    ):
        assert reworded(text, "us") == text
    assert reworded("the sender's 2.0 L and 'a 3 L' tank's 10 mm", "us") == (
        "the sender's 0.53 gal and 'a 3 L' tank's 0.39 in"
    )


@pytest.mark.parametrize(
    ("value", "dimension", "text"),
    [
        (5e-7, "volume", "0 L"),
        (2e-6, "volume", "0.002 L"),
        (0.0, "time", "0 s"),
        (65.0, "time", "1 min 5 s"),
        (6624.0, "charge", "1.84 Ah"),
        (1, "times", "once"),
        (2, "times", "twice"),
        (3, "times", "3 times"),
        (12, "count", "12"),
    ],
)
def test_what_a_run_came_to_is_told_with_its_unit(value: float, dimension: str, text: str) -> None:
    """'3.40e-5 m3' on the floor is not understood by the one who kneels beside it."""
    assert measured(value, dimension) == text
