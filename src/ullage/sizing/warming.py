"""Hot water: heat and fuel for a shower, what a store gives before it runs cold, and how fast hot water burns skin."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from ullage.hydraulics.water import CELSIUS_ZERO
from ullage.rig.model import Heater
from ullage.sizing.cooling import HEAT_CAPACITY, WATER_DENSITY

FUEL_HEAT = {"diesel": 38.290e9, "propane": 25.456e9}
"""Gross heat of a cubic metre of fuel [J/m3] (US EIA, row NRG-02, at second hand).

The net value, without the heat in the flue's steam, is 2 to 10 % less (row NRG-03): an efficiency
that a maker states of the net value has to be brought to the gross one before it is used here."""

SCALDS = ((66.0, 2.0), (60.0, 6.0), (54.0, 30.0), (49.0, 300.0))
"""Temperature of water [degC] and the time in which it burns the skin of an adult through [s].

US CPSC, tap water scalds (Moritz and Henriques 1947; row SAN-14, at second hand). A child's skin burns sooner."""


@dataclass(frozen=True, slots=True)
class Shower:
    """One use of a fixture that gives warm water.

    Attributes
    ----------
    volume : float
        Of warm water [m3].
    hot : float
        What of it comes from the store [m3].
    heat : float
        In the warm water [J].
    fuel : float or None
        Fuel [m3]; None where it is electricity, or fuel or efficiency is not stated.
    store : float
        Hot water that the store gives before it runs cold, with what is heated meanwhile [m3].
    again : float
        Time until the store is hot again [s].
    """

    volume: float
    hot: float
    heat: float
    fuel: float | None
    store: float
    again: float


def heat_of(volume: float, rise: float) -> float:
    """Heat that warms water [J]: ``rho c V dT``. 10 L by 40 K: 0.46511 kWh (row ELE-14).

    Parameters
    ----------
    volume : float
        [m3]
    rise : float
        [K]
    """
    return WATER_DENSITY * HEAT_CAPACITY * volume * rise


def fuel_for(heat: float, efficiency: float, content: float) -> float:
    """Fuel that gives a heat [m3]. 2 kW for an hour at 0.8 from diesel: 0.23505 L (row NRG-08).

    Parameters
    ----------
    heat : float
        That reaches the water [J].
    efficiency : float
        Part of the fuel's gross heat that does [-].
    content : float
        Gross heat of the fuel [J/m3].
    """
    return heat / (efficiency * content)


def hot_share(mixed: float, hot: float, cold: float) -> float:
    """Part of mixed water that comes from the hot side [-] (balance of heat). 38 from 60 and 10 degC: 0.56.

    Parameters
    ----------
    mixed, hot, cold : float
        Temperatures [K], cold < hot.
    """
    return min(max((mixed - cold) / (hot - cold), 0.0), 1.0)


def burns_in(temperature: float) -> float:
    """Time in which water burns an adult's skin through [s]; infinite below the table. 60 degC: 6 s (row SAN-14)."""
    return next((time for limit, time in SCALDS if temperature - CELSIUS_ZERO >= limit - 1e-6), inf)


def shower(heater: Heater, keeps: float, cold: float, flow: float, mixed: float, lasts: float) -> Shower:
    """Heat and fuel of one use.

    Parameters
    ----------
    heater : Heater
        That feeds it.
    keeps : float
        Temperature of its store [K].
    cold : float
        Of the water that comes in [K].
    flow : float
        Of warm water [m3/s].
    mixed : float
        Temperature of that [K].
    lasts : float
        How long [s].

    Notes
    -----
    The store is taken as drawn off without mixing, hot to the last: a real one that mixes gives
    about a fifth less (common practice, no source).
    """
    volume = flow * lasts
    hot = volume * hot_share(mixed, keeps, cold)
    heat = heat_of(volume, mixed - cold)
    content = FUEL_HEAT.get(heater.fuel or "")
    meanwhile = heater.power * lasts / heat_of(1.0, keeps - cold)
    again = heat_of(min(hot, heater.volume), keeps - cold) / heater.power if heater.power > 0.0 else inf
    fuel = None if content is None or heater.efficiency is None else fuel_for(heat, heater.efficiency, content)
    return Shower(volume, hot, heat, fuel, heater.volume + meanwhile, again)
