"""Water hammer: the pressure that a closing valve adds.

Wave speed by Korteweg (1878) with the restraint and thick-wall factors of Wylie & Streeter
(Fluid Transients in Systems, 1993); the surge of a sudden stop by Joukowsky, of a slower
one by Michaud.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Literal

from ullage.hydraulics.water import bulk_modulus, density, sound_speed
from ullage.rig.model import Line, Pipe, Rig

POISSON = 0.46
"""Poisson's ratio of plastic pipe [-] (PEX, row WHM-05)."""

Restraint = Literal["free", "one end", "both ends"]
"""How a pipe is anchored: expansion joints throughout, at its upstream end, throughout."""


def restraint_factor(restraint: Restraint, poisson: float, bore: float, wall: float) -> float:
    """Factor z of the wave speed for a thick wall [-]; it tends to the thin-wall one as wall / bore falls.

    ``z = (2 e / D) (1 + nu) + D / (D + e) z0`` with z0 = 1, 1 - nu/2 or 1 - nu^2 (Wylie &
    Streeter). Bore 12 mm, wall 2 mm, nu 0.46, anchored throughout: 1.16244 (row WHM-05).
    """
    thin = {"free": 1.0, "one end": 1.0 - poisson / 2.0, "both ends": 1.0 - poisson**2}[restraint]
    return 2.0 * wall / bore * (1.0 + poisson) + bore / (bore + wall) * thin


def wave_speed(bulk: float, density: float, bore: float, wall: float, modulus: float, factor: float = 1.0) -> float:
    """Speed of a pressure wave in a pipe [m/s].

    ``a = sqrt(K / rho) / sqrt(1 + K / E * D / e * z)`` (Korteweg 1878). K 2.2 GPa, E 200 GPa,
    D / e 50: 1191.4 m/s (row WHM-02).

    Parameters
    ----------
    bulk, modulus : float
        Of the water and of the pipe's wall [Pa].
    density : float
        Of the water [kg/m3].
    bore, wall : float
        Inner diameter and wall thickness [m].
    factor : float
        Restraint, see `restraint_factor`.
    """
    return sqrt(bulk / density) / sqrt(1.0 + bulk / modulus * bore / wall * factor)


def surge(density: float, speed: float, length: float, velocity: float, closing: float) -> float:
    """Pressure that stopping a flow adds [Pa].

    Within ``2 L / a`` the full Joukowsky surge ``rho a v``; slower, Michaud's ``2 rho L v / t``.
    998.2 kg/m3, 5 m, 1.5 m/s in 0.05 s at 1300 m/s: 2.9946 bar (row WHM-10).

    Parameters
    ----------
    density : float
        [kg/m3]
    speed : float
        Of the wave [m/s].
    length : float
        Of the pipe whose water is stopped [m].
    velocity : float
        Before closing [m/s].
    closing : float
        Time of closing [s].
    """
    if closing <= 2.0 * length / speed:
        return density * speed * velocity
    return 2.0 * density * length * velocity / closing


def blow_of(rig: Rig, line: Line, flow: float, closing: float) -> float:
    """The greatest surge in a line when a valve stops its flow [Pa].

    The water of all its pipes is stopped. A pipe whose wall is not described is taken for rigid,
    which overstates the surge: the wave then runs at the speed of sound in water.

    Parameters
    ----------
    rig : Rig
    line : Line
        Of the rig.
    flow : float
        Before closing [m3/s].
    closing : float
        Shortest time of closing [s].
    """
    pipes = [rig.pipes[part] for part in line.through if part in rig.pipes]
    if not pipes:
        return 0.0
    temperature = rig.water.least
    bulk, rho = bulk_modulus(temperature), density(temperature)
    length = sum(pipe.length for pipe in pipes)
    return max(
        surge(rho, _speed_in(pipe, bulk, rho, temperature), length, flow / (0.25 * pi * pipe.bore**2), closing)
        for pipe in pipes
    )


def _speed_in(pipe: Pipe, bulk: float, rho: float, temperature: float) -> float:
    if pipe.wall is None or pipe.modulus is None:
        return sound_speed(temperature)
    factor = restraint_factor("both ends", POISSON, pipe.bore, pipe.wall)
    return wave_speed(bulk, rho, pipe.bore, pipe.wall, pipe.modulus, factor)
