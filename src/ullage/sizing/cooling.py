"""How pipes cool and freeze: one lump of water behind the insulation and the film of air around it.

The formula is that of the ASHRAE Handbook, Fundamentals, chapter 23 (insulation for mechanical
systems, time to cool to freezing): the wall of the pipe neither holds heat nor holds it back, and
the water is as warm in the middle as at the wall. Freezing starts at 0 degC and ends when all the
water's latent heat has gone. A pipe bursts when ice shuts water in, which can be before it is
frozen through.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log, pi

from ullage.hydraulics.water import CELSIUS_ZERO, air_density, air_viscosity
from ullage.rig.climate import Frost
from ullage.rig.model import Pipe, Rig

WATER_DENSITY = 1000.0
"""Density of cold water [kg/m3] (rows SAN-19 and SAN-20)."""

HEAT_CAPACITY = 4186.0
"""Heat that a kilogram of water takes for each kelvin [J/(kg K)] (row ELE-14)."""

LATENT = 333.6e3
"""Heat that a kilogram of water gives off when it freezes [J/kg] (rows SAN-19 and SAN-20)."""

STILL_AIR = 10.0
"""Film coefficient of a pipe in still air, by convection and radiation [W/(m2 K)] (rows SAN-19 and SAN-20)."""

FOAM = 0.04
"""Conductivity of foam where the file does not say [W/(m K)] (row SAN-20)."""

WALL = 0.002
"""Wall of a pipe where the file does not say [m] (small plastic pipe; common practice, no source)."""

AIR_HEAT_CAPACITY = 1005.0
"""Of dry air at constant pressure [J/(kg K)]."""

AIR_PRANDTL = 0.71
"""Prandtl number of air around 0 degC [-]."""


@dataclass(frozen=True, slots=True)
class Chill:
    """What a frost does to one pipe.

    Attributes
    ----------
    cools : float
        Time until its water is at 0 degC [s].
    freezes : float
        Time until all of it is ice, from the beginning [s].
    loses : float
        Heat that the whole pipe loses with water at 0 degC [W]: what a heating tape has to give.
    film : float
        Film coefficient [W/(m2 K)].
    """

    cools: float
    freezes: float
    loses: float
    film: float


def film_of(wind: float, diameter: float, air: float) -> float:
    """Film coefficient of a pipe across a wind [W/(m2 K)], never less than in still air.

    Churchill and Bernstein (1977): ``Nu = 0.3 + 0.62 Re^(1/2) Pr^(1/3) / (1 + (0.4 / Pr)^(2/3))^(1/4)
    (1 + (Re / 282000)^(5/8))^(4/5)``. At Re 6071 and Pr 0.7: Nu 40.64. A pipe of 15 mm in 5 m/s
    at -10 degC: 64.07 W/(m2 K).

    Parameters
    ----------
    wind : float
        Speed of the air [m/s].
    diameter : float
        Outer diameter of pipe and sleeve [m].
    air : float
        Its temperature [K], at which its properties are taken too.
    """
    viscosity = air_viscosity(air)
    number = nusselt(wind * diameter * air_density(air) / viscosity, AIR_PRANDTL)
    return max(STILL_AIR, number * viscosity * AIR_HEAT_CAPACITY / AIR_PRANDTL / diameter)


def nusselt(reynolds: float, prandtl: float) -> float:
    """Nusselt number of a cylinder across a flow [-] (Churchill and Bernstein 1977). Re 6071, Pr 0.7: 40.64."""
    slow = 0.62 * reynolds**0.5 * prandtl ** (1 / 3) / (1.0 + (0.4 / prandtl) ** (2 / 3)) ** 0.25
    return float(0.3 + slow * (1.0 + (reynolds / 282000.0) ** 0.625) ** 0.8)


def hindrance(outer: float, thickness: float, conductivity: float, film: float) -> float:
    """Thermal resistance of a metre of pipe, from its wall to the air [m K/W].

    ``ln(D3 / D2) / (2 pi k) + 1 / (h pi D3)``. 15 mm with 13 mm of foam, k 0.04, h 10: 4.7772 (row SAN-20).

    Parameters
    ----------
    outer : float
        Outer diameter of the pipe [m].
    thickness : float
        Of the insulation [m], 0 without.
    conductivity : float
        Of the insulation [W/(m K)].
    film : float
        [W/(m2 K)]; infinite where the surface is as cold as the air.
    """
    over = outer + 2.0 * thickness
    return log(over / outer) / (2.0 * pi * conductivity) + 1.0 / (film * pi * over)


def cooling_time(bore: float, hinders: float, water: float, air: float) -> float:
    """Time until the water of a pipe is at 0 degC [s]; infinite where the air is no colder.

    ``rho c pi (D1 / 2)^2 R ln((ti - ta) / (0 - ta))``. 13 mm bore, 15 mm outside, bare, from
    10 degC in air of -10 degC: 0.2270 h (row SAN-19).

    Parameters
    ----------
    bore : float
        [m]
    hinders : float
        See `hindrance` [m K/W].
    water, air : float
        Temperatures [K].
    """
    if air >= CELSIUS_ZERO:
        return inf
    if water <= CELSIUS_ZERO:
        return 0.0
    section = 0.25 * pi * bore**2
    return WATER_DENSITY * HEAT_CAPACITY * section * hinders * log((water - air) / (CELSIUS_ZERO - air))


def freezing_time(bore: float, hinders: float, air: float) -> float:
    """Time in which water of 0 degC in a pipe turns to ice [s]; infinite where the air is no colder.

    ``rho L pi (D1 / 2)^2 R / (0 - ta)``. The pipe of row SAN-19: 2.610 h.
    """
    if air >= CELSIUS_ZERO:
        return inf
    return WATER_DENSITY * LATENT * 0.25 * pi * bore**2 * hinders / (CELSIUS_ZERO - air)


def chill_of(rig: Rig, pipe: Pipe, frost: Frost) -> Chill:
    """What a frost does to a pipe of a rig that is filled with the coldest water the rig takes.

    A wall or a conductivity that is not stated is `WALL` or `FOAM`; without wind, the film of still air.
    """
    outer = pipe.bore + 2.0 * (WALL if pipe.wall is None else pipe.wall)
    sleeve = pipe.insulation
    thickness = 0.0 if sleeve is None else sleeve.thickness
    conductivity = FOAM if sleeve is None or sleeve.conductivity is None else sleeve.conductivity
    film = film_of(frost.wind or 0.0, outer + 2.0 * thickness, frost.air)
    hinders = hindrance(outer, thickness, conductivity, film)
    cools = cooling_time(pipe.bore, hinders, rig.water.least, frost.air)
    freezes = cools + freezing_time(pipe.bore, hinders, frost.air)
    return Chill(cools, freezes, pipe.length * max(CELSIUS_ZERO - frost.air, 0.0) / hinders, film)
