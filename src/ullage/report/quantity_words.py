"""Quantities and times as people read them, metric or US customary."""

from __future__ import annotations

import math
import re
from typing import Literal

from ullage.quantities import DRIP, UNITS, from_si, read

System = Literal["metric", "us"]
"""Which units a person reads."""

UNIT: dict[str, tuple[str, str]] = {
    "volume": ("L", "gal"),
    "flow": ("L/min", "gpm"),
    "pressure": ("bar", "psi"),
    "temperature": ("degC", "degF"),
    "length": ("m", "ft"),
    "mass": ("kg", "lb"),
    "voltage": ("V", "V"),
    "current": ("A", "A"),
}
"""Unit of each dimension in each system."""

_SHOWN = {"degC": "°C", "degF": "°F"}

_US_FOR = {"mm": "in", "m": "ft", "mL": "gal", "L": "gal", "L/min": "gpm", "bar": "psi", "kPa": "psi", "degC": "degF"}
"""What a US reader is shown for a unit of a finished sentence."""

_QUOTED_OR_QUANTITY = re.compile(rf"(?<!\w)'[^']*'|(?<![\w.])(-?\d+(?:\.\d+)?) ({'|'.join(_US_FOR)})(?![\w/])")


def unit_of(dimension: str, system: System = "metric") -> str:
    """The unit that a dimension is shown in."""
    unit = UNIT[dimension][system == "us"]
    return _SHOWN.get(unit, unit)


def in_unit(value: float, dimension: str, system: System = "metric") -> float:
    """An SI value in the unit that it is shown in."""
    return from_si(value, UNIT[dimension][system == "us"])


def quantity(value: float, dimension: str, system: System = "metric") -> str:
    """An SI value with its unit, to three figures (``112 L``, ``29.6 gal``, ``2.00 bar``)."""
    return f"{number(value, dimension, system)} {unit_of(dimension, system)}"


def number(value: float, dimension: str, system: System = "metric") -> str:
    """An SI value in the unit that it is shown in, without the unit: three figures, two decimals at most."""
    return figures(in_unit(value, dimension, system))


FITTING: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "length": (("mm", "m"), ("in", "ft")),
    "area": (("mm2",), ("mm2",)),
    "volume": (("mL", "L"), ("gal",)),
    "flow": (("L/h", "L/min"), ("gpm",)),
    "pressure": (("Pa", "kPa", "bar"), ("psi",)),
    "mass": (("g", "kg"), ("lb",)),
    "angle": (("deg",), ("deg",)),
    "voltage": (("mV", "V"), ("mV", "V")),
    "current": (("uA", "mA", "A"), ("uA", "mA", "A")),
    "resistance": (("mohm", "ohm"), ("mohm", "ohm")),
    "charge": (("mAh", "Ah"), ("mAh", "Ah")),
    "power": (("W", "kW"), ("W", "kW")),
    "energy": (("Wh", "kWh"), ("Wh", "kWh")),
    "speed": (("m/s",), ("m/s",)),
    "conductivity": (("W/mK",), ("W/mK",)),
    "fraction": (("%",), ("%",)),
    "temperature": (("degC",), ("degF",)),
}
"""Units of each dimension in each system, the smaller first, of which the fitting one is taken."""


def fitting(value: float, dimension: str, system: System = "metric") -> str:
    """An SI value with the unit that fits its size: ``230 mL``, ``1.20 L``, ``12 %``, ``7 min 20 s``."""
    if dimension == "time":
        return duration(1000.0 * value)
    units = FITTING[dimension][system == "us"]
    fits = [unit for unit in units if abs(from_si(value, unit)) >= 1.0]
    unit = fits[-1] if fits else units[0]
    return f"{figures(from_si(value, unit))} {_SHOWN.get(unit, unit)}"


def figures(value: float, count: int = 3, decimals: int = 2) -> str:
    """A number to so many significant figures, without an exponent and without a minus before zero.

    Whole numbers are never rounded to fewer places than they have: 1234 stays 1234. What is not
    zero is never shown as zero as long as six decimals show it.
    """
    if not math.isfinite(value):
        return "unknown"
    if not value:
        return "0"
    size = math.floor(math.log10(abs(value)))
    places = max(0, min(count - 1 - size, decimals))
    if abs(value) < 0.5 * 10**-places:
        places = min(6, -size)
    text = f"{value:.{places}f}"
    if float(text) == 0.0:
        return "0"
    if math.floor(math.log10(abs(float(text)))) > size and 0 < places == count - 1 - size:
        text = f"{value:.{places - 1}f}"
    return text


def measured(value: float, dimension: str, system: System = "metric") -> str:
    """A figure that a run came to, in words.

    Parameters
    ----------
    value : float
        Volume [m3], time [s], charge [C], count, or how often.
    dimension : str
        ``volume``, ``time``, ``charge``, ``count`` or ``times``.
    system : str
        Units.
    """
    if dimension == "volume":
        return quantity(some(value), "volume", system)
    if dimension == "time":
        return duration(1000 * value) if value else "0 s"
    if dimension == "charge":
        return f"{figures(from_si(value, 'Ah'))} Ah"
    if dimension == "count":
        return f"{value:.0f}"
    return {1: "once", 2: "twice"}.get(round(value), f"{value:.0f} times")


def some(volume: float) -> float:
    """A volume, none where it is less than a millilitre [m3]."""
    return volume if volume > DRIP else 0.0


def reworded(text: str, system: System) -> str:
    """A sentence of a lower floor, which speaks metric, with its quantities in the units of the reader.

    What stands in quotation marks was written by a person and stays as it is.
    """
    if system == "metric":
        return text

    def said(match: re.Match[str]) -> str:
        if match[1] is None:
            return match[0]
        dimension = next(d for d, units in UNITS.items() if match[2] in units)
        unit = _US_FOR[match[2]]
        value = from_si(read(match[0], dimension), unit)
        return f"{figures(value)} {_SHOWN.get(unit, unit)}"

    return _QUOTED_OR_QUANTITY.sub(said, text)


def millilitres(amount: int, system: System = "metric") -> str:
    """A volume of the law or the plant [mL] with its unit; small ones in millilitres where units are metric."""
    if system == "metric" and abs(amount) < 1000:
        return f"{amount} mL"
    return quantity(amount * 1e-6, "volume", system)


def clock(now_ms: int) -> str:
    """A time since the start: ``7:20:05``, whole hours first, so that columns line up by the last digits."""
    seconds = now_ms // 1000
    return f"{seconds // 3600}:{seconds % 3600 // 60:02}:{seconds % 60:02}"


def duration(ms: float) -> str:
    """How long something takes, in the two largest fitting units: ``7 min 20 s``, ``1 d 2 h``, ``0.4 s``."""
    if ms < 10_000:
        return f"{ms / 1000:.1f} s"
    seconds = round(ms / 1000)
    parts: list[str] = []
    for size, unit in ((86400, "d"), (3600, "h"), (60, "min"), (1, "s")):
        count, seconds = divmod(seconds, size)
        if count or parts:
            parts.append(f"{count} {unit}" if count else "")
        if len(parts) == 2:
            break
    return " ".join(part for part in parts if part)
