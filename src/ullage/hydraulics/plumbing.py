"""A network with the names of the rig, both ways."""

from __future__ import annotations

from dataclasses import dataclass, field

from ullage.hydraulics import water
from ullage.hydraulics.friction import Law, colebrook
from ullage.hydraulics.network import BACKWARD, FORWARD, NEVER_WET, Network
from ullage.quantities import G_STANDARD

Node = tuple[str, str]
"""Kind and name of a node, or of a link."""


@dataclass(frozen=True, slots=True)
class Fluid:
    """What flows: water, and the air that goes through the vents.

    Attributes
    ----------
    density : float
        Of the water [kg/m3].
    viscosity : float
        Kinematic, of the water [m2/s].
    air_density, air_viscosity : float
        The same of the air.
    law : Law
        Turbulent friction.
    """

    density: float
    viscosity: float
    air_density: float
    air_viscosity: float
    law: Law = colebrook


def fluid_at(temperature: float) -> Fluid:
    """Water and air at a temperature [K] and one atmosphere."""
    air = water.air_density(temperature)
    return Fluid(
        density=water.density(temperature),
        viscosity=water.kinematic_viscosity(temperature),
        air_density=air,
        air_viscosity=water.air_viscosity(temperature) / air,
    )


@dataclass(slots=True)
class Link:
    """One link with its losses by part; see `Network` for the rest.

    Attributes
    ----------
    resistances : list of (part, quadratic resistance [s2/m5])
    sections : list of (part, relative roughness, scale [s/m3], head [m])
    throttles : list of (part, kind of throttle, quadratic resistance when open [s2/m5])
    """

    name: str
    start: int = -1
    end: int = -1
    way: int = FORWARD | BACKWARD
    resistances: list[tuple[str, float]] = field(default_factory=list)
    sections: list[tuple[str, float, float, float]] = field(default_factory=list)
    throttles: list[tuple[str, int, float]] = field(default_factory=list)
    pump: str | None = None
    weir: float = 0.0
    breath: int = 0
    start_face: int = NEVER_WET
    end_face: int = NEVER_WET
    start_sill: float = 0.0
    end_sill: float = 0.0
    start_mouth: float = 0.0
    end_mouth: float = 0.0


@dataclass(frozen=True, slots=True)
class Plumbing:
    """A network with the names of the rig.

    Attributes
    ----------
    network : Network
        The tables, as lists.
    fluid : Fluid
        What they were made for.
    links : (L,) Link
        Losses by part; ``links[i]`` for ``i < len(rig.lines)`` is line i of the rig.
    nodes : dict of (kind, name) to node
        Unknown heads: ``("gas", tank)``, ``("point", name)``, ``("mixer", name)`` where lines meet in a tap or supply.
        Given heads: ``("face", tank)`` the level, ``("rim", tank)`` and ``("brim", tank)`` the open ends
        of overflow and vent, ``("port", name)``,
        ``("fixture", name)``, ``("accumulator", name)``.
    link_of : dict of (kind, name) to link
        ``("line", "A to B")``, ``("tap", fixture)`` out of a mixer, ``("feed", port)`` into one, ``("vent", tank)``,
        ``("spill", tank)`` up the vent of a brimful tank,
        ``("overflow", tank)``, ``("neck", accumulator)``.
    part_link : dict of name to link
        Link that each part of a line sits in, its ends included.
    throttles : dict
        Index in ``Condition.opening`` of each valve, fixture and accumulator.
    pumps : dict
        Index in ``Condition.speed``.
    rest : (N,) [m]
        Heads to start from: supplies at their usual pressure, tanks as they start, all else at its height.
    """

    network: Network
    fluid: Fluid
    links: tuple[Link, ...]
    nodes: dict[Node, int]
    link_of: dict[Node, int]
    part_link: dict[str, int]
    throttles: dict[str, int]
    pumps: dict[str, int]
    rest: tuple[float, ...]

    def head_of(self, pressure: float) -> float:
        """Metres of this water for a pressure [Pa]."""
        return pressure / (self.fluid.density * G_STANDARD)

    def pressure_at(self, node: int, head: float) -> float:
        """Gauge pressure [Pa] at a node with a head [m]."""
        return (head - self.network.elevation[node]) * self.fluid.density * G_STANDARD
