"""From a rig to its network.

Each line of the rig becomes one link, in the order of the file; then come the taps and supplies at which
more than one line ends (a mixer of hot and cold, a shore that fills two tanks); tank by tank a vent, the
spill up the vent of a brimful tank, and the overflow; then the necks of the accumulators.
The rig must have passed its check: names that do not resolve are our fault here.

Pipes that open into a tank or the open get the loss of entrance or exit by themselves; the
``fittings`` of a pipe are what comes on top.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import cached_property
from math import cos, sin

from ullage.hydraulics.elimination import least_degree_order
from ullage.hydraulics.fittings import (
    EQUAL_PERCENTAGE,
    INLET_SHARP,
    LINEAR,
    OUTLET,
    resistance_of_emitter,
    resistance_of_k,
    resistance_of_kv,
    resistance_of_orifice,
    weir_of_rim,
)
from ullage.hydraulics.friction import section
from ullage.hydraulics.network import FORWARD, NEVER_WET
from ullage.hydraulics.plumbing import Fluid, Link, Node, Plumbing, fluid_at
from ullage.hydraulics.tables import tables
from ullage.quantities import G_STANDARD
from ullage.rig.model import LEVEL, Accumulator, Line, Pump, Rig, Slope, Tank
from ullage.rig.place import Position
from ullage.rig.shapes import capacity, depth, height

USUAL_TEMPERATURE = 288.15
"""Temperature of water and air where none is asked for: 15 degC [K]."""

ACCURACY = 1e-6
"""Accuracy of the solver where none is asked for."""

NECK_BORE = 0.0127
"""Bore of an accumulator's neck [m]: half an inch, common practice, no source."""

NECK_K = INLET_SHARP + OUTLET
"""Loss of an accumulator's neck [velocity heads]."""

HEATER_K = INLET_SHARP + OUTLET
"""Loss of the ports of a heater [velocity heads]: into the vessel and out of it."""

VENT_ROUGH = 1.5e-6
"""Roughness of vents [m]: drawn plastic, as the usual roughness of pipes."""

HOLE_LENGTH = 2.0
"""A vent of fewer bores than this is a hole in a lid: its jet may not touch the walls (a short tube is known to
flow full from 2.5 bores on, King & Brater, Handbook of Hydraulics; from memory)."""


def build(rig: Rig, fluid: Fluid | None = None, slope: Slope = LEVEL, accuracy: float = ACCURACY) -> Plumbing:
    """Lay out the network of a rig.

    Parameters
    ----------
    rig : Rig
        A rig that passed its check.
    fluid : Fluid, optional
        Water and air; at 15 degC where none is given.
    slope : Slope
        How the rig stands: nose up, left side up [rad].
    accuracy : float
        Of the solver: sum of flow changes over sum of flows.
    """
    fluid = fluid or fluid_at(USUAL_TEMPERATURE)
    site = _Site(rig, fluid, slope)
    for line in rig.lines:
        site.lay(line)
    for name in site.mixers:
        site.join(name)
    for name, tank in rig.tanks.items():
        site.breathe(name, tank)
    for name, accumulator in rig.accumulators.items():
        site.hang(name, accumulator)
    return site.finish(accuracy)


def tilted(slope: Slope, x: float, y: float, z: float) -> float:
    """Height [m] of a place of the rig when it stands on a slope, turned about the datum's origin."""
    return x * sin(slope.ahead) + (y * sin(slope.across) + z * cos(slope.across)) * cos(slope.ahead)


@dataclass
class _Site:
    """The network while it is being laid out: a node is its kind and its name until all are known."""

    rig: Rig
    fluid: Fluid
    slope: Slope
    heights: dict[Node, float] = field(default_factory=dict)
    given: dict[Node, float] = field(default_factory=dict)
    links: list[Link] = field(default_factory=list)
    ends: list[tuple[Node, Node]] = field(default_factory=list)
    faces: list[tuple[Node | None, Node | None]] = field(default_factory=list)
    link_of: dict[Node, int] = field(default_factory=dict)
    part_link: dict[str, int] = field(default_factory=dict)

    @cached_property
    def mixers(self) -> list[str]:
        """Taps and supplies at which more than one line ends: their lines meet before the one opening."""
        lines = Counter(end for line in self.rig.lines for end in (line.start, line.end))
        supplies = [name for name, port in self.rig.ports.items() if port.kind == "supply"]
        return [name for name in (*self.rig.fixtures, *supplies) if lines[name] > 1]

    def tank_height(self, name: str, at: float, x: float = 0.0, y: float = 0.0) -> float:
        """Height [m] of a place in a tank, ``at`` above its floor and x, y from the middle of it."""
        floor = self.rig.tanks[name].floor_at
        return tilted(self.slope, floor.x + x, floor.y + y, floor.z + at)

    def place(self, at: Position) -> float:
        """Height of a place on this slope [m]."""
        return tilted(self.slope, at.x, at.y, at.z)

    def node(self, kind: str, name: str, height: float, head: float | None = None) -> Node:
        """Enter a node; a head makes it a given one."""
        node = (kind, name)
        self.heights[node] = height
        if head is not None:
            self.given[node] = head
        return node

    def add(self, kind: str, link: Link, ends: tuple[Node, Node], faces: tuple[Node | None, Node | None]) -> None:
        """Enter a link between two nodes, with the faces its openings may stand out of."""
        self.link_of[kind, link.name] = len(self.links)
        self.links.append(link)
        self.ends.append(ends)
        self.faces.append(faces)

    def lay(self, line: Line) -> None:
        """Lay one line of the rig."""
        link = Link(f"{line.start} to {line.end}")
        pipes = [self.rig.pipes[part] for part in line.through if part in self.rig.pipes]
        first, last = (pipes[0].bore, pipes[-1].bore) if pipes else (0.0, 0.0)
        start, start_face, link.start_sill = self._end(line.start)
        end, end_face, link.end_sill = self._end(line.end)
        if start_face and first:
            link.resistances.append((line.start, resistance_of_k(INLET_SHARP, first)))
            link.start_mouth = first
        if end_face and last:
            link.resistances.append((line.end, resistance_of_k(OUTLET, last)))
            link.end_mouth = last if line.end.partition(".")[0] in self.rig.tanks else 0.0
        for part in (*line.through, line.start, line.end):
            if part not in self.mixers:
                self.part_link[part] = len(self.links)
                self._fit(link, part)
        self.add("line", link, (start, end), (start_face, end_face))

    def _end(self, name: str) -> tuple[Node, Node | None, float]:
        """Node that a line ends at, the face its opening may stand out of, and the opening's height."""
        rig = self.rig
        tank, _, opening = name.partition(".")
        if tank in rig.tanks:
            at = rig.tanks[tank].openings[opening]
            return ("gas", tank), ("face", tank), self.tank_height(tank, at.at, at.x, at.y)
        if name in rig.points:
            return self.node("point", name, self.place(rig.points[name].at)), None, 0.0
        mouth = self.place(rig.fixtures[name].at if name in rig.fixtures else rig.ports[name].at)
        if name in self.mixers:
            return self.node("mixer", name, mouth), None, 0.0
        outlet = self._outlet(name, mouth)
        drowns = name in rig.ports and rig.ports[name].kind == "discharge"
        return (outlet, outlet, mouth) if drowns else (outlet, None, 0.0)

    def _outlet(self, name: str, mouth: float) -> Node:
        """The given node of a tap or a port whose mouth is at this height [m]; a supply at its usual pressure."""
        if name in self.rig.fixtures:
            return self.node("fixture", name, mouth, mouth)
        port, usual = self.rig.ports[name], 0.0
        if port.kind == "supply":
            usual = port.usual if port.usual is not None else (port.pressure.middle if port.pressure else 0.0)
        return self.node("port", name, mouth, mouth + usual / (self.fluid.density * G_STANDARD))

    def _fit(self, link: Link, part: str) -> None:
        """Add the loss of one part of a line."""
        rig, fluid = self.rig, self.fluid
        if part in rig.pipes:
            pipe = rig.pipes[part]
            link.sections.append((part, pipe.rough / pipe.bore, *section(pipe.bore, pipe.length, fluid.viscosity)))
            link.resistances.append((part, resistance_of_k(pipe.fittings, pipe.bore)))
        elif part in rig.restrictors or part in rig.meters:
            kv = rig.restrictors[part].kv if part in rig.restrictors else rig.meters[part].kv
            link.resistances.append((part, resistance_of_kv(kv)))
        elif part in rig.checks:
            link.resistances.append((part, resistance_of_kv(rig.checks[part].kv)))
            link.way = FORWARD
        elif part in rig.heaters:
            link.resistances.append((part, resistance_of_k(HEATER_K, rig.heaters[part].bore)))
        elif part in rig.valves:
            valve = rig.valves[part]
            kind = EQUAL_PERCENTAGE if valve.kind in ("ball", "butterfly") else LINEAR
            link.throttles.append((part, kind, resistance_of_kv(valve.kv)))
        elif part in rig.fixtures:
            tap = rig.fixtures[part]
            link.throttles.append((part, LINEAR, resistance_of_emitter(tap.flow, tap.at_pressure, fluid.density)))
            link.way = FORWARD
        elif part in rig.pumps:
            link.pump, link.way = part, FORWARD

    def join(self, name: str) -> None:
        """Let the lines that meet in a tap run out of it, and those that begin at a supply be fed by it."""
        tap, mixed = Link(name), ("mixer", name)
        outlet = self._outlet(name, self.heights[mixed])
        self.part_link[name] = len(self.links)
        self._fit(tap, name)
        if name in self.rig.fixtures:
            self.add("tap", tap, (mixed, outlet), (None, None))
        else:
            self.add("feed", tap, (outlet, mixed), (None, None))

    def breathe(self, name: str, tank: Tank) -> None:
        """Give a tank its gas, its surface, its vent and its overflow."""
        floor, top = self.tank_height(name, 0.0), self.tank_height(name, height(tank.shape))
        starts = self.tank_height(name, depth(tank.shape, tank.starts_with * capacity(tank)))
        gas = self.node("gas", name, floor)
        face = self.node("face", name, floor, starts)
        if tank.vent:
            bore, length, fluid = tank.vent.bore, tank.vent.length, self.fluid
            light = fluid.air_density / fluid.density
            loss = resistance_of_vent(bore, length)
            air = Link(name, breath=1, start_sill=top)
            air.sections.append((name, VENT_ROUGH / bore, *section(bore, length, fluid.air_viscosity, light)))
            air.resistances.append((name, loss * light))
            self.add("vent", air, (gas, face), (face, None))
            spill = Link(name, way=FORWARD, start_sill=top)
            spill.sections.append((name, VENT_ROUGH / bore, *section(bore, length, fluid.viscosity)))
            spill.resistances.append((name, loss))
            self.add("spill", spill, (gas, self.node("brim", name, top, top)), (face, None))
        if tank.overflow:
            sill = self.tank_height(name, tank.overflow.at)
            rim = Link(name, way=FORWARD, start_sill=sill, weir=weir_of_rim(tank.overflow.bore))
            rim.resistances.append((name, resistance_of_orifice(tank.overflow.bore)))
            self.add("overflow", rim, (gas, self.node("rim", name, sill, sill)), (face, None))

    def hang(self, name: str, accumulator: Accumulator) -> None:
        """Hang an accumulator on its point; it starts at its precharge."""
        point = ("point", accumulator.at)
        at = self.heights[point]
        head = at + accumulator.precharge / (self.fluid.density * G_STANDARD)
        neck = Link(name)
        neck.throttles.append((name, LINEAR, resistance_of_k(NECK_K, NECK_BORE)))
        self.add("neck", neck, (point, self.node("accumulator", name, at, head)), (None, None))

    def finish(self, accuracy: float) -> Plumbing:
        """Number the nodes in order of elimination and write the tables."""
        unknown = [node for node in self.heights if node not in self.given]
        at = {node: i for i, node in enumerate(unknown)}
        order = least_degree_order(len(unknown), [(at[a], at[b]) for a, b in self.ends if a in at and b in at])
        nodes = [unknown[i] for i in order] + list(self.given)
        index = {node: i for i, node in enumerate(nodes)}
        for link, (start, end), (start_face, end_face) in zip(self.links, self.ends, self.faces, strict=True):
            link.start, link.end = index[start], index[end]
            link.start_face = index[start_face] if start_face else NEVER_WET
            link.end_face = index[end_face] if end_face else NEVER_WET
        pumps = [link.pump for link in self.links if link.pump]
        return Plumbing(
            network=tables(
                self.links,
                len(unknown),
                [self.heights[node] for node in nodes],
                [pump_curve(self.rig.pumps[name], self.fluid.density) for name in pumps],
                self.fluid.law,
                accuracy,
            ),
            fluid=self.fluid,
            links=tuple(self.links),
            nodes=index,
            link_of=self.link_of,
            part_link=self.part_link,
            throttles={t[0]: i for i, t in enumerate(t for link in self.links for t in link.throttles)},
            pumps={name: i for i, name in enumerate(pumps)},
            rest=tuple(self.given.get(node, self.heights[node]) for node in nodes),
        )


def resistance_of_vent(bore: float, length: float) -> float:
    """Quadratic resistance [s2/m5] of a vent's two ends, for air in metres of air.

    A pipe loses 0.5 and 1 velocity heads (rows HYD-09, DRN-11). The jet of a mere hole narrows to
    Cd 0.61 of it, which is 2.69 velocity heads (rows DRN-10, DRN-13): taken for a pipe, it would
    show 56 % of the pressure that the lid has to bear.

    Parameters
    ----------
    bore, length : float
        [m]; a length under `HOLE_LENGTH` bores is a hole.
    """
    return resistance_of_orifice(bore) if length < HOLE_LENGTH * bore else resistance_of_k(INLET_SHARP + OUTLET, bore)


def pump_curve(pump: Pump, density: float) -> list[tuple[float, float]]:
    """Points (flow [m3/s], head [m]) of a pump's curve, cut flat at its relief pressure.

    A bypass that opens at the relief pressure holds the outlet there until the flow taken
    is what the curve gives at that pressure. A checked rig's curve falls from no flow to no pressure.
    """
    points = [(p.flow, p.pressure) for p in pump.curve]
    relief = pump.relief
    if relief is not None and relief < points[0][1]:
        past = next(i for i, (_, p) in enumerate(points) if p <= relief)
        (q0, p0), (q1, p1) = points[past - 1], points[past]
        flat_to = q0 + (p0 - relief) / (p0 - p1) * (q1 - q0)
        points = [(0.0, relief), (flat_to, relief), *points[past + 1 if p1 == relief else past :]]
    return [(q, p / (density * G_STANDARD)) for q, p in points]
