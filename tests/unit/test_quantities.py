"""Units against a reference library (pint), and texts that are no quantities."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ullage import quantities
from ullage.quantities import UNITS, QuantityError, Span, from_si, read, read_span

PINT_NAME = {
    "m3": "m**3", "m2": "m**2", "mm2": "mm**2", "cm2": "cm**2", "gal": "US_liquid_gallon", "gpm": "gallon/min",
    "kg/m3": "kg/m**3",
    "m3/s": "m**3/s", "m3/h": "m**3/h", "d": "day", "deg": "degree", "mohm": "milliohm", "t": "metric_ton",
    "%": "percent", "": "dimensionless", "um": "micrometer", "in": "inch", "ft": "foot", "lb": "pound",
    "psi": "pound_force_per_square_inch", "Ah": "A*h", "mAh": "mA*h", "L": "liter", "mL": "milliliter",
    "L/s": "liter/s", "L/min": "liter/min", "L/h": "liter/h", "mL/min": "milliliter/min",
    "kn": "knot", "W/mK": "W/(m*K)",
}  # fmt: skip
SI_NAME = {
    "length": "m", "area": "m**2", "volume": "m**3", "time": "s", "flow": "m**3/s", "pressure": "Pa", "mass": "kg",
    "density": "kg/m**3",
    "angle": "rad", "voltage": "V", "current": "A", "resistance": "ohm", "charge": "C", "power": "W",
    "energy": "J", "speed": "m/s", "conductivity": "W/(m*K)",
    "fraction": "dimensionless", "ratio": "dimensionless", "temperature": "K",
}  # fmt: skip
ALL = [(dimension, unit) for dimension, units in UNITS.items() for unit in units]


@pytest.fixture(scope="module")
def units() -> pint.UnitRegistry:
    """Pint's own definitions."""
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize(("dimension", "unit"), ALL)
def test_every_unit_is_what_pint_says(units: pint.UnitRegistry, dimension: str, unit: str) -> None:
    """A factor typed wrongly by one digit would pass through every reckoning unseen."""
    theirs = units.Quantity(12.5, PINT_NAME.get(unit, unit)).to(SI_NAME[dimension]).magnitude
    assert read(f"12.5 {unit}", dimension) == pytest.approx(theirs, rel=1e-12)


@pytest.mark.parametrize(("dimension", "unit"), ALL)
def test_from_si_undoes_read(dimension: str, unit: str) -> None:
    """A figure that is shown in other units than it was written in would be set wrong the next time."""
    if unit:
        assert from_si(read(f"7.25 {unit}", dimension), unit) == pytest.approx(7.25, rel=1e-12)


def test_no_unit_stands_for_two_dimensions() -> None:
    """A unit that could be two things would be read as the first of them."""
    units = [unit for _, unit in ALL]
    assert len(units) == len(set(units))


@pytest.mark.parametrize(
    ("text", "kelvin"),
    [("0 degC", 273.15), ("-40 degC", 233.15), ("-40 degF", 233.15), ("32 degF", 273.15), ("212 degF", 373.15)],
)
def test_temperatures_have_their_zero(text: str, kelvin: float) -> None:
    """Frost warnings rest on it (fixed points: SI brochure; Fahrenheit by definition)."""
    assert read(text, "temperature") == pytest.approx(kelvin, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "dimension", "word"),
    [
        ("12", "length", "a unit is missing"),
        ("12 mmm", "length", "did you mean 'mm'?"),
        ("12 bar", "length", "'bar' is a unit of pressure"),
        ("mm", "length", "is not a quantity"),
        ("", "length", "is not a quantity"),
        ("1 2 mm", "length", "is not a quantity"),
        ("1,5 mm", "length", "is not a quantity"),
        ("nan mm", "length", "is not a quantity"),
        ("inf mm", "length", "is not a quantity"),
        ("1e999 mm", "length", "too large"),
        ("9e99 mm", "length", "too large"),
        ("\uff11\uff12 mm", "length", "is not a quantity"),
        (True, "fraction", "is not a quantity"),
        ("0.03", "fraction", "a unit is missing"),
        ("3 %", "ratio", "'%' is a unit of fraction"),
        (None, "length", "is not a quantity"),
        (["1 mm"], "length", "is not a quantity"),
        ("9" * 100_000, "length", "is not a quantity"),
        ("12" + 77 * " " + "mm", "length", "is not a quantity"),
    ],
)
def test_what_is_no_quantity_is_refused_in_words(text: object, dimension: str, word: str) -> None:
    """A misread quantity is worse than none."""
    with pytest.raises(QuantityError) as fault:
        read(text, dimension)
    assert word in fault.value.what
    assert fault.value.expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("0.5 bar .. 4 bar", Span(0.5e5, 4e5)),
        ("50 kPa..4 bar", Span(0.5e5, 4e5)),
        ("2 bar", Span(2e5, 2e5)),
    ],
)
def test_spans(text: str, expected: Span) -> None:
    """Both ends are read, each with its own unit."""
    span = read_span(text, "pressure")
    assert (span.least, span.most) == pytest.approx((expected.least, expected.most))
    assert span.middle == pytest.approx(0.5 * (expected.least + expected.most))


@pytest.mark.parametrize("text", ["4 bar .. 0.5 bar", "1 bar .. 2", "1 bar ..", "..", "1 bar .. 2 bar .. 3 bar", 3])
def test_what_is_no_span_is_refused(text: object) -> None:
    """A range with its ends exchanged would make the worst case the best."""
    with pytest.raises(QuantityError):
        read_span(text, "pressure")


@pytest.mark.parametrize("text", ["0.8-5 bar", "0.8 bar - 5 bar", "0.8 .. 5 bar", "0.8 to 5 bar", "0.8...5 bar"])
def test_a_range_written_otherwise_is_answered_with_the_range(text: str) -> None:
    """'A number and a unit' is no help to somebody who wrote two numbers."""
    with pytest.raises(QuantityError) as fault:
        read_span(text, "pressure")
    assert fault.value.expected == "'0.8 bar .. 5 bar'"
    assert read_span(fault.value.expected.strip("'"), "pressure") == Span(0.8e5, 5e5)


@pytest.mark.parametrize(("text", "shown"), [("0.03", "'3 %'"), ("3", "'3 %'"), ("80", "'80 %'")])
def test_a_bare_number_is_no_percentage(text: str, shown: str) -> None:
    """0.03 of a span and 0.03 % differ by a hundred; the answer shows the one that is likely meant."""
    with pytest.raises(QuantityError) as fault:
        read(text, "fraction")
    assert shown in fault.value.expected


@given(st.one_of(st.text(max_size=60), st.integers(), st.floats(), st.none(), st.binary(max_size=5)))
def test_any_text_is_a_quantity_or_refused(text: object) -> None:
    """Nothing but a refusal may come out of a bad text, never a traceback."""
    for dimension in UNITS:
        try:
            value = read(text, dimension)
        except QuantityError:
            continue
        assert abs(value) <= quantities.MAGNITUDE_LIMIT * 1e5
