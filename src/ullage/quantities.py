"""Quantities with units: text to SI floats and back.

The rig file writes every quantity with its unit; the physics knows only SI floats.
The table below is exact by definition of each unit and is held against a reference
library of units by test; it is a table of our own because importing that library
costs more than a whole check of a rig.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from difflib import get_close_matches

G_STANDARD = 9.80665
"""Standard acceleration of gravity [m/s2] (ISO 80000-3)."""

DRIP = 1e-6
"""Less water than this is none [m3]: a millilitre."""

_INCH = 0.0254
_US_GALLON = 231 * _INCH**3
_POUND = 0.45359237
_PSI = _POUND * G_STANDARD / _INCH**2

UNITS: dict[str, dict[str, float]] = {
    "length": {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "um": 1e-6, "in": _INCH, "ft": 12 * _INCH},
    "area": {"m2": 1.0, "mm2": 1e-6, "cm2": 1e-4},
    "volume": {"m3": 1.0, "L": 1e-3, "mL": 1e-6, "gal": _US_GALLON},
    "time": {"s": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0, "d": 86400.0},
    "flow": {
        "m3/s": 1.0,
        "m3/h": 1 / 3600,
        "L/s": 1e-3,
        "L/min": 1e-3 / 60,
        "L/h": 1e-3 / 3600,
        "mL/min": 1e-6 / 60,
        "gpm": _US_GALLON / 60,
    },
    "pressure": {"Pa": 1.0, "kPa": 1e3, "mbar": 1e2, "bar": 1e5, "MPa": 1e6, "GPa": 1e9, "psi": _PSI},
    "density": {"kg/m3": 1.0, "kg/L": 1e3, "g/mL": 1e3},
    "mass": {"kg": 1.0, "g": 1e-3, "t": 1e3, "lb": _POUND},
    "angle": {"rad": 1.0, "deg": 0.017453292519943295},
    "voltage": {"V": 1.0, "mV": 1e-3},
    "current": {"A": 1.0, "mA": 1e-3, "uA": 1e-6},
    "resistance": {"ohm": 1.0, "mohm": 1e-3},
    "charge": {"C": 1.0, "Ah": 3600.0, "mAh": 3.6},
    "power": {"W": 1.0, "kW": 1e3},
    "energy": {"J": 1.0, "Wh": 3600.0, "kWh": 3.6e6},
    "speed": {"m/s": 1.0, "km/h": 1 / 3.6, "kn": 1852 / 3600},
    "conductivity": {"W/mK": 1.0},
    "fraction": {"%": 0.01},
    "ratio": {"": 1.0},
    "temperature": {"K": 1.0, "degC": 1.0, "degF": 5 / 9},
}
"""SI factor of each unit, by dimension. Temperatures also have an offset, see `OFFSETS`."""

OFFSETS: dict[str, float] = {"degC": 273.15, "degF": 273.15 - 32 * 5 / 9}
"""Kelvin at the zero of a temperature unit [K]."""

TEXT_LIMIT = 80
"""No quantity is written with more characters."""

MAGNITUDE_LIMIT = 1e12
"""No quantity of a home that moves is larger than this in SI."""

_NUMBER = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?"
_CLOCK = re.compile(r"([0-9]{1,4}):([0-5][0-9])(?::([0-5][0-9]))?")
_WORD = r"[A-Za-z%][A-Za-z0-9/]*"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*({_WORD})?\s*", re.ASCII)
_ENDS = re.compile(rf"\s*({_NUMBER})\s*({_WORD})??\s*(-|to|\.\.+|\u2013)\s*({_NUMBER})\s*({_WORD})\s*", re.ASCII)


class QuantityError(ValueError):
    """A text that is not a quantity of the wished dimension.

    Attributes
    ----------
    what : str
        What is wrong, in words for a person.
    expected : str
        What would have been right.
    """

    def __init__(self, what: str, expected: str) -> None:
        super().__init__(f"{what}; expected {expected}")
        self.what = what
        self.expected = expected


@dataclass(frozen=True, slots=True)
class Span:
    """A range of a quantity, in SI.

    Attributes
    ----------
    least, most : float
        The ends [SI unit of the dimension], ``least <= most``.
    """

    least: float
    most: float

    @property
    def middle(self) -> float:
        """Half way between the ends [SI]."""
        return 0.5 * (self.least + self.most)


def dimension_of(unit: str) -> str | None:
    """Name of the dimension that a unit belongs to, or None for an unknown unit."""
    for dimension, units in UNITS.items():
        if unit in units:
            return dimension
    return None


def split(text: str) -> tuple[float, str]:
    """Split ``"12.5 mm"`` into its number and its unit (``""`` where there is none).

    Raises
    ------
    QuantityError
        When the text is not a number followed by at most one unit.
    """
    match = _QUANTITY.fullmatch(text) if len(text) <= TEXT_LIMIT else None
    if match is None:
        raise QuantityError(f"'{text[:40]}' is not a quantity", "a number and a unit, such as '12.5 mm'")
    number = float(match[1])
    if not abs(number) <= MAGNITUDE_LIMIT:
        raise QuantityError(f"'{text[:40]}' is too large a number", f"at most {MAGNITUDE_LIMIT:g}")
    return number, match[2] or ""


def to_si(number: float, unit: str, dimension: str) -> float:
    """Convert a number with a unit to SI.

    Raises
    ------
    QuantityError
        When the unit is unknown or belongs to another dimension.
    """
    units = UNITS[dimension]
    if unit not in units:
        raise QuantityError(_unit_fault(number, unit, dimension), _example(dimension, number))
    return number * units[unit] + OFFSETS.get(unit, 0.0)


def from_si(value: float, unit: str) -> float:
    """Convert an SI value to a unit.

    Raises
    ------
    KeyError
        When the unit is not in `UNITS`.
    """
    dimension = dimension_of(unit)
    if dimension is None:
        raise KeyError(unit)
    return (value - OFFSETS.get(unit, 0.0)) / UNITS[dimension][unit]


def read(text: object, dimension: str) -> float:
    """Read one quantity of a dimension from text, as SI.

    Raises
    ------
    QuantityError
        When the text is no quantity of that dimension.
    """
    if isinstance(text, bool) or not isinstance(text, str | int | float):
        raise QuantityError(f"'{str(text)[:40]}' is not a quantity", _example(dimension))
    number, unit = split(str(text))
    return to_si(number, unit, dimension)


def read_time(text: object) -> float:
    """Read a time of a run [s]: ``90 s``, ``6 min``, or ``9:00`` and ``9:00:02`` for hours, minutes and seconds.

    Raises
    ------
    QuantityError
        When the text is no time.
    """
    clock = _CLOCK.fullmatch(str(text).strip())
    if clock is not None:
        return 3600.0 * int(clock[1]) + 60.0 * int(clock[2]) + int(clock[3] or 0)
    try:
        return read(text, "time")
    except QuantityError:
        raise QuantityError(f"'{str(text)[:40]}' is no time", "such as '90 s', '6 min', '9:00' or '9:00:02'") from None


def read_span(text: object, dimension: str) -> Span:
    """Read ``"0.5 bar .. 4 bar"`` or one quantity (both ends equal), as SI.

    Raises
    ------
    QuantityError
        When an end is no quantity of that dimension, or the ends are in the wrong order.
    """
    ends = _ENDS.fullmatch(text) if isinstance(text, str) and len(text) <= TEXT_LIMIT else None
    if ends is not None and not (ends[2] and ends[3] == ".."):
        raise QuantityError(f"'{text}' is no range", f"'{ends[1]} {ends[2] or ends[5]} .. {ends[4]} {ends[5]}'")
    if isinstance(text, str) and ".." in text:
        low, _, high = text.partition("..")
        span = Span(read(low, dimension), read(high, dimension))
        if span.least > span.most:
            raise QuantityError(f"'{text[:40]}' runs backwards", "the smaller end first")
        return span
    value = read(text, dimension)
    return Span(value, value)


def _unit_fault(number: float, unit: str, dimension: str) -> str:
    if not unit:
        return f"a unit is missing after {number:g}"
    other = dimension_of(unit)
    if other is not None:
        return f"'{unit}' is a unit of {other}, not of {dimension}"
    near = get_close_matches(unit, UNITS[dimension], n=1, cutoff=0.5)
    return f"unit '{unit}' is unknown" + (f" (did you mean '{near[0]}'?)" if near else "")


def _example(dimension: str, number: float = 0.0) -> str:
    if dimension == "ratio":
        return "a plain number"
    if dimension == "fraction":
        return f"a percentage, such as '{100 * number if abs(number) < 1 else number:g} %'"
    return f"a {dimension} in {', '.join(UNITS[dimension])}"
