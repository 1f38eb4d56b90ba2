"""Copper wires: resistance, voltage drop, the size that a drop asks for, the current that one carries.

Cross-sections come in metric steps (IEC 60228) and as American wire gauges (ASTM B258, see
`ullage.rig.gauges`). Lengths of a circuit count there and back.
"""

from __future__ import annotations

from dataclasses import dataclass

from ullage.rig.gauges import gauge_area

COPPER = 0.017241e-6
"""Resistivity of annealed copper at 20 degC [ohm m] (IACS, row ELE-09)."""

COPPER_RISE = 0.00393
"""Rise of copper's resistance for each kelvin above 20 degC [1/K] (IACS, row ELE-10)."""

ROOM = 293.15
"""Temperature for which resistivity is stated [K]."""

WARM = 323.15
"""Temperature at which wires are reckoned [K]: 50 degC, a loom behind panels in summer (common practice, no source)."""

METRIC = tuple(1e-6 * size for size in (0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240))
"""Cross-sections that are sold [m2] (IEC 60228)."""

GAUGES = (20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0, -1, -2, -3)
"""American wire gauges that are sold; 0 to -3 stand for 1/0 to 4/0."""

AMPACITY = (
    (0.75, 10.0), (1.0, 14.0), (1.5, 18.0), (2.5, 25.0), (4.0, 35.0), (6.0, 45.0), (10.0, 65.0), (16.0, 90.0),
    (25.0, 120.0), (35.0, 160.0), (50.0, 210.0), (70.0, 265.0), (95.0, 310.0), (120.0, 360.0), (150.0, 380.0),
)  # fmt: skip
"""Cross-section [mm2] and the most current [A] of a wire with insulation for 70 degC, outside of engine spaces.

ISO 10133 (now ISO 13297), annex A, table A.1: from memory, and not compared with the paid text."""

ROUNDING = 1e-6
"""A wire may be so much thinner than asked for, as a share of it, and still count as that size."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """The wires that are sold with at least some cross-section.

    Attributes
    ----------
    metric : float or None
        The least metric size [m2]; None: there is none.
    gauge : str
        The least American wire gauge, such as ``14 AWG`` ("": there is none).
    """

    metric: float | None
    gauge: str


def resistance(length: float, area: float, temperature: float = WARM) -> float:
    """Resistance of a copper wire [ohm].

    ``rho L / A (1 + alpha (T - 20 degC))`` (IACS). 1 km of 14 AWG (2.0809 mm2) at 20 degC:
    8.285 ohm (row ELE-02); at 50 degC 1.1179 times as much (row ELE-10).

    Parameters
    ----------
    length : float
        Of the copper, there and back [m].
    area : float
        Cross-section [m2].
    temperature : float
        Of the copper [K].
    """
    return COPPER * (1.0 + COPPER_RISE * (temperature - ROOM)) * length / area


def least_area(current: float, length: float, drop: float, temperature: float = WARM) -> float:
    """Cross-section at which a current loses just so much voltage [m2].

    ``rho L I / U``. 10 A over 10 m of copper at 20 degC with 0.68964 V: 2.5 mm2 (row ELE-11).

    Parameters
    ----------
    current : float
        [A]
    length : float
        Of the copper, there and back [m].
    drop : float
        Voltage that may be lost [V], above zero.
    temperature : float
        Of the copper [K].
    """
    return current * resistance(length, 1.0, temperature) / drop


def sizes_for(area: float) -> Sizes:
    """The least wires that are sold with some cross-section [m2] or more.

    10 A over 21 ft (there and back) with 10 % of 12 V: 16 AWG (row ELE-03); with 3 %: 10 AWG (row ELE-07).
    """
    least = area * (1.0 - ROUNDING)
    metric = next((size for size in METRIC if size >= least), None)
    number = next((number for number in GAUGES if gauge_area(number) >= least), None)
    return Sizes(metric, "" if number is None else gauge_words(number))


def gauge_words(number: int) -> str:
    """A gauge as it is written: 14 is ``14 AWG``, -1 is ``2/0 AWG``."""
    return f"{number} AWG" if number > 0 else f"{1 - number}/0 AWG"


def carries(area: float) -> float:
    """The most current that a wire of some cross-section [m2] may carry [A]; 0 when it is too thin for the table.

    Between two sizes that of the thinner one. 2.5 mm2: 25 A (ISO 10133 table A.1, from memory).
    """
    listed = [current for size, current in AMPACITY if 1e-6 * size * (1.0 - ROUNDING) <= area]
    return listed[-1] if listed else 0.0
