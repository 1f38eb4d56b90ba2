"""From a rig to its plant: the columns of `ullage.plant.layout`, filled from the parts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf, pi, sqrt

from ullage.hydraulics.build import build, tilted
from ullage.hydraulics.fittings import ORIFICE
from ullage.hydraulics.plumbing import Fluid, Plumbing
from ullage.hydraulics.water import ATMOSPHERE
from ullage.plant.codes import (
    FILM,
    MARK_BRIM,
    MARK_CREST,
    MARK_EMPTY,
    MARK_FILM,
    MARK_FLOAT,
    MARK_OPENING,
    MARK_OVERFLOW,
    SPRING_CLOSED,
    SPRING_OPEN,
    STAYS,
    STORED_CHARGE,
)
from ullage.plant.prime import NO_CREST
from ullage.plant.tanks import Surfaces, surfaces_of
from ullage.quantities import G_STANDARD
from ullage.rig import shapes
from ullage.rig.model import LEVEL, Accumulator, Fixture, Line, Motor, Point, Pump, Rig, Slope, Valve
from ullage.rig.names import place_of
from ullage.rig.place import Position
from ullage.rig.sensing import falls_at

BAR, WATER = 1e5, 1000.0
"""Pressure at which a hole's size is stated [Pa], and density of water there [kg/m3]."""

PIPE_AIR = 5e-5
"""Air that gives the pipes behind a pump their spring when there is no accumulator [m3]: common practice,
no source. It stands under no pressure when the pipes are at rest."""

WITHOUT_POWER = {
    "stays": STAYS,
    "spring closed": SPRING_CLOSED,
    "spring open": SPRING_OPEN,
    "stored charge closed": STORED_CHARGE,
}

ABSOLUTE_ERROR = 1e-6
"""Error of one step that is let pass when nothing else is asked for [m3]: a millilitre."""

PUMP_CHAMBER = 5e-5
"""What the chambers of a small pump hold [m3]: common practice, no source."""

BARRIERS_LIMIT = 60
"""One-way parts of one line beyond this many share a bit."""

LOOSE_VOLUME = 1e-3
"""An accumulator that is smaller is reckoned finer [m3]: a millilitre is nothing in a litre of gas, and a tenth of
a bar in the spring of pipes."""

LEAST_STROKE = 0.02
"""No valve is faster [s]: a small solenoid, common practice, no source."""

SURFACE_COLUMNS = (
    "cell_depth",
    "cell_volume",
    "cell_linear",
    "cell_square",
    "cell_cube",
    "base",
    "upright_share",
    "ahead",
    "across",
)
"""Columns of `Surfaces` that are floats."""


@dataclass(frozen=True, slots=True)
class Works:
    """The plant of a rig as columns that do not change, by the names of `ullage.plant.layout`.

    Attributes
    ----------
    given : Rig
        The rig as it was given.
    rig : Rig
        The same with what the plant adds to it (the spring of its pipes, outlets of pumps).
    laid : tuple of Plumbing
        The network on each stand.
    stands : tuple of Slope
        The ways the rig stands during a run.
    counts, integers, reals : dict
        Columns.
    """

    given: Rig
    rig: Rig
    laid: tuple[Plumbing, ...]
    stands: tuple[Slope, ...]
    counts: dict[str, int]
    integers: dict[str, list[int]]
    reals: dict[str, list[float]]

    @property
    def plumbing(self) -> Plumbing:
        """The network on the first stand."""
        return self.laid[0]


def works_of(rig: Rig, outputs: Sequence[str], stands: Sequence[Slope] = (LEVEL,), fluid: Fluid | None = None) -> Works:
    """Lay out the plant of a rig.

    Parameters
    ----------
    rig : Rig
        A checked rig.
    outputs : sequence of str
        Names of the law's outputs, in its order.
    stands : sequence of Slope
        The ways the rig stands during a run; the first is how it starts.
    fluid : Fluid, optional
        Water and air; at 15 degC where none is given.
    """
    given, rig = rig, with_elastic_pipes(rig)
    laid = tuple(build(rig, fluid, slope) for slope in stands)
    works = Works(given, rig, laid, tuple(stands), _counts(rig, laid), {}, {})
    surfaces = surfaces_of(rig, stands)
    works.counts["cells"] = len(surfaces.cell_depth)
    works.integers["cell_first"] = surfaces.cell_first
    works.reals.update({name: getattr(surfaces, name) for name in SURFACE_COLUMNS})
    _add_lines(works)
    _add_floats(works, surfaces)
    _add_tanks(works, laid, surfaces)
    _add_cushions(works)
    _add_ledger(works)
    _add_pumps(works, outputs)
    _add_valves(works)
    _add_ends(works)
    first = laid[0]
    works.reals["elevation"] = [z for one in laid for z in one.network.elevation]
    works.reals["start_sill"] = [z for one in laid for z in one.network.start_sill]
    works.reals["end_sill"] = [z for one in laid for z in one.network.end_sill]
    works.reals["whole"] = [first.fluid.density * G_STANDARD, first.head_of(ATMOSPHERE), ABSOLUTE_ERROR]
    power = rig.power
    works.reals["supply"] = [power.voltage, power.voltage, power.resistance, power.capacity, power.capacity, 0.0, 0.0]
    return works


def burst_name(pipe: str) -> str:
    """Name of the place where a pipe bursts; as of all that the plant adds, one that no part of a rig can have."""
    return f"burst of {pipe}"


def with_burst(rig: Rig, pipe: str) -> Rig:
    """The rig with a place, shut in health, at which the pipe's water runs out as from its open end."""
    at = next(i for i, line in enumerate(rig.lines) if pipe in line.through)
    line = rig.lines[at]
    cut = line.through.index(pipe)
    name, joint = burst_name(pipe), f"start of {pipe}"
    place = _place_between(rig, line)
    flow = ORIFICE * 0.25 * pi * rig.pipes[pipe].bore ** 2 * sqrt(2.0 * BAR / WATER)
    hole = Fixture.model_construct(flow=flow, at_pressure=BAR, at=place, drains_to="outdoors")
    parts = (
        line.model_copy(update={"through": line.through[:cut], "end": joint, "crest": line.crest if cut else None}),
        line.model_copy(update={"start": joint, "through": line.through[cut:], "crest": None if cut else line.crest}),
        line.model_copy(update={"start": joint, "through": (), "end": name, "crest": None}),
    )
    return rig.model_copy(
        update={
            "points": {**rig.points, joint: Point(at=place)},
            "fixtures": {**rig.fixtures, name: hole},
            "lines": (*rig.lines[:at], *parts, *rig.lines[at + 1 :]),
        }
    )


def _place_between(rig: Rig, line: Line) -> Position:
    """Where a pipe bursts, or a pump stands: as high as the lower end of its line."""
    ends = [place_of(rig, line.start), place_of(rig, line.end)]
    return min(ends, key=lambda place: place.z)


def _counts(rig: Rig, laid: Sequence[Plumbing]) -> dict[str, int]:
    network = laid[0].network
    tanks, cushions, links = len(rig.tanks), len(rig.accumulators), len(network.start)
    return {
        "tanks": tanks,
        "cushions": cushions,
        "vessels": tanks + cushions,
        "links": links,
        "rows": links + 2 * tanks,
        "nodes": len(network.elevation),
        "throttles": network.throttle_first[-1],
        "pumps": len(laid[0].pumps),
        "valves": len(rig.valves),
        "fixtures": len(rig.fixtures),
        "ports": len(rig.ports),
        "stands": len(laid),
        "floats": len(rig.floats),
    }


def with_elastic_pipes(rig: Rig) -> Rig:
    """The rig with a little air at each pump that has a pressure switch but no accumulator, there or a pipe away.

    Without it such a pump would switch without end: water alone gives no way. Where something in the
    pump's own line can shut the water in behind the pump, the line is parted at the pump's outlet, so
    that the switch feels the pressure there and not beyond the closed tap.
    """
    rig = with_outlets(rig)
    cushioned = _cushioned(rig)
    added = {}
    for line in rig.lines:
        for part in line.through:
            pump = rig.pumps.get(part)
            if pump is not None and pump.switch is not None and line.end in set(rig.points) - cushioned:
                air = Accumulator.model_construct(at=line.end, volume=PIPE_AIR, precharge=0.0)
                added[f"pipes behind {part}"] = air
    return rig.model_copy(update={"accumulators": {**rig.accumulators, **added}}) if added else rig


def _cushioned(rig: Rig) -> set[str]:
    """Points with an accumulator, and those that nothing but pipes joins with one."""
    found = {accumulator.at for accumulator in rig.accumulators.values()}
    pipes = [{line.start, line.end} for line in rig.lines if all(part in rig.pipes for part in line.through)]
    while more := set().union(*(ends for ends in pipes if ends & found)) & set(rig.points) - found:
        found |= more
    return found


def with_outlets(rig: Rig) -> Rig:
    """The rig with a point at the outlet of each pump whose switch would else feel the far end of its line."""
    points, lines = dict(rig.points), list[Line]()
    for line in rig.lines:
        cut = next((i for i, part in enumerate(line.through, 1) if _is_switched(rig, part)), 0)
        if cut and (line.end not in rig.points or any(part in rig.valves for part in line.through[cut:])):
            outlet = f"outlet of {line.through[cut - 1]}"
            points[outlet] = Point(at=_place_between(rig, line))
            lines.append(line.model_copy(update={"through": line.through[:cut], "end": outlet}))
            lines.append(line.model_copy(update={"start": outlet, "through": line.through[cut:], "crest": None}))
        else:
            lines.append(line)
    return rig.model_copy(update={"points": points, "lines": tuple(lines)})


def _is_switched(rig: Rig, part: str) -> bool:
    """Whether a part is a pump with a pressure switch."""
    return part in rig.pumps and rig.pumps[part].switch is not None


def _add_tanks(works: Works, laid: Sequence[Plumbing], surfaces: Surfaces) -> None:
    """Tanks, and the volumes at which an opening comes out of the water, an overflow is reached, the brim is."""
    rig, first = works.rig, laid[0]
    works.integers["gas"] = [first.nodes["gas", name] for name in rig.tanks]
    works.integers["face"] = [first.nodes["face", name] for name in rig.tanks]
    works.integers["vent"] = [first.link_of.get(("vent", name), -1) for name in rig.tanks]
    works.integers["spill"] = [first.link_of.get(("spill", name), -1) for name in rig.tanks]
    works.integers["overflow"] = [first.link_of.get(("overflow", name), -1) for name in rig.tanks]
    works.integers["spills_indoors"] = [
        int(tank.overflow is not None and tank.overflow.to == "indoors") for tank in rig.tanks.values()
    ]
    works.reals["capacity"] = [shapes.whole(tank.shape) for tank in rig.tanks.values()]
    starts, rows = [0], []
    for t, name in enumerate(rig.tanks):
        for stand, plumbing in enumerate(laid):
            rows += _marks(works, plumbing, surfaces, t * len(laid) + stand, name)
            starts.append(len(rows))
    works.counts["marks"] = len(rows)
    works.integers["mark_first"] = starts
    works.reals["mark_volume"] = [volume for volume, _, _ in rows]
    works.integers["mark_kind"] = [kind for _, kind, _ in rows]
    works.integers["mark_row"] = [row for _, _, row in rows]


def _marks(works: Works, plumbing: Plumbing, surfaces: Surfaces, run: int, name: str) -> list[tuple[float, int, int]]:
    """Marks of one tank on one stand: volume, kind, link."""
    shape = works.rig.tanks[name].shape
    air = {plumbing.link_of.get((kind, name)) for kind in ("vent", "spill")}

    def content(height: float) -> float:
        depth = (height - surfaces.base[run]) / surfaces.upright_share[run]
        return shapes.volume(shape, depth, surfaces.ahead[run], surfaces.across[run])

    marks = [(0.0, MARK_EMPTY, -1), (shapes.whole(shape), MARK_BRIM, -1)]
    for row, link in enumerate(plumbing.links):
        for face, sill in ((link.start_face, link.start_sill), (link.end_face, link.end_sill)):
            if face == plumbing.nodes["face", name] and row not in air:
                overflow = row == plumbing.link_of.get(("overflow", name))
                marks.append((content(sill), MARK_OVERFLOW if overflow else MARK_OPENING, row))
                if overflow:
                    marks.append((content(sill + FILM), MARK_FILM, row))
        height = works.reals["crest"][run % len(works.stands) * len(plumbing.links) + row]
        if height > NO_CREST and plumbing.nodes["face", name] in (link.start_face, link.end_face):
            marks.append((content(height), MARK_CREST, row))
    for row, switch in enumerate(works.rig.floats.values()):
        if switch.on == name and works.integers["float_wired"][row]:
            at = run % len(works.stands) * len(works.rig.floats) + row
            marks += [(works.reals[column][at], MARK_FLOAT, row) for column in ("rises_at", "falls_at")]
    return sorted(marks)


def _add_floats(works: Works, surfaces: Surfaces) -> None:
    """Floats, and what the tank of each holds when it rises and when it falls, as the rig stands."""
    rig, tanks = works.rig, list(works.rig.tanks)
    coils = [part.wired for part in rig.valves.values()] + [part.wired for part in rig.pumps.values()]
    wired = {coil.switch for coil in coils if coil}
    works.integers["float_wired"] = [int(name in wired) for name in rig.floats]
    works.integers["float_tank"] = [tanks.index(switch.on) for switch in rig.floats.values()]
    works.integers["float_signal"] = [-1] * len(rig.floats)
    works.reals["rises_at"], works.reals["falls_at"] = [], []
    for stand in range(len(works.stands)):
        for switch in rig.floats.values():
            run, shape = tanks.index(switch.on) * len(works.stands) + stand, rig.tanks[switch.on].shape
            ahead, across = surfaces.ahead[run], surfaces.across[run]
            for column, height in (("rises_at", switch.at), ("falls_at", falls_at(switch))):
                middle = height - ahead * switch.x - across * switch.y
                works.reals[column].append(shapes.volume(shape, middle, ahead, across))


def _contacts(rig: Rig, parts: Iterable[Valve | Pump]) -> tuple[list[int], list[int]]:
    """The float in series with each part (-1: none), and whether its contact is made while it is wet."""
    wired, floats = [part.wired for part in parts], list(rig.floats)
    rows = [floats.index(one.switch) if one else -1 for one in wired]
    return rows, [int(one is None or one.made == "wet") for one in wired]


def _add_cushions(works: Works) -> None:
    laid, parts = works.plumbing, works.rig.accumulators
    works.integers["cushion_node"] = [laid.nodes["accumulator", name] for name in parts]
    works.integers["cushion_neck"] = [laid.link_of["neck", name] for name in parts]
    looseness = [min(1.0, part.volume / LOOSE_VOLUME) for part in parts.values()]
    works.reals["looseness"] = [1.0] * works.counts["tanks"] + looseness
    works.reals["cushion_volume"] = [part.volume for part in parts.values()]
    works.reals["cushion_precharge"] = [laid.head_of(part.precharge + ATMOSPHERE) for part in parts.values()]


def _add_ledger(works: Works) -> None:
    """Vessel at each end of each link; what runs from a fixture runs into the tank it drains to."""
    rig, laid = works.rig, works.plumbing
    tanks = list(rig.tanks)
    vessels = {laid.nodes["gas", name]: t for t, name in enumerate(tanks)}
    vessels |= {laid.nodes["accumulator", name]: len(tanks) + a for a, name in enumerate(rig.accumulators)}
    drains = {
        laid.nodes["fixture", n]: tanks.index(f.drains_to) for n, f in rig.fixtures.items() if f.drains_to in tanks
    }
    air = {link for (kind, _), link in laid.link_of.items() if kind == "vent"}
    start, end = laid.network.start, laid.network.end
    links, own, none = range(len(start)), list(range(len(tanks))), [-1] * len(tanks)
    works.integers["drawn_from"] = [-1 if i in air else vessels.get(start[i], -1) for i in links] + none + own
    works.integers["led_to"] = [-1 if i in air else {**vessels, **drains}.get(end[i], -1) for i in links] + own + none


def barriers(rig: Rig, line: Line) -> dict[str, int]:
    """The parts of a line that pass one way only, each with a bit of its own.

    A tap never leaks backward; one in which lines meet is in none of them.
    """
    parts = [part for part in (*line.through, line.end) if part in rig.checks or part in rig.pumps]
    if line.end in rig.fixtures and sum(other.end == line.end for other in rig.lines) == 1:
        parts.append(line.end)
    return {part: 1 << min(i, BARRIERS_LIMIT) for i, part in enumerate(parts)}


def _add_lines(works: Works) -> None:
    """What is to know of each line besides its losses; vents, overflows and necks have nothing of it."""
    rig, laid = works.rig, works.plumbing
    rest = works.counts["links"] - len(rig.lines)
    ports = list(rig.ports)
    works.integers["barriers"] = [sum(barriers(rig, line).values()) for line in rig.lines] + [0] * rest
    works.integers["mouth_port"] = [
        ports.index(line.start) if line.start in rig.ports else -1 for line in rig.lines
    ] + [-1] * rest
    works.integers["mouth_tap"] = [
        laid.throttles[line.end] if line.end in rig.fixtures else -1 for line in rig.lines
    ] + [-1] * rest
    works.reals["crest"] = [
        height
        for slope in works.stands
        for height in [*(_crest(line, slope) for line in rig.lines), *[NO_CREST] * rest]
    ]


def _crest(line: Line, slope: Slope) -> float:
    """Height of a line's crest on a slope [m]."""
    return tilted(slope, line.crest.x, line.crest.y, line.crest.z) if line.crest else NO_CREST


def _add_pumps(works: Works, outputs: Sequence[str]) -> None:
    laid = works.plumbing
    names = sorted(laid.pumps, key=lambda name: laid.pumps[name])
    pumps = [works.rig.pumps[name] for name in names]
    links = [laid.part_link[name] for name in names]
    works.integers["pump_link"] = links
    works.integers["pump_outlet"] = [laid.network.end[link] for link in links]
    works.integers["pump_relay"] = [int(name not in outputs) for name in names]
    works.integers["pump_float"], works.integers["pump_float_made"] = _contacts(works.rig, pumps)
    works.integers["self_priming"] = [int(pump.self_priming) for pump in pumps]
    works.reals["dry_limit"] = [pump.dry_run_limit or inf for pump in pumps]
    works.reals["suction"] = [_suction(works.rig, name) for name in names]
    works.reals["cut_in"] = [laid.head_of(pump.switch.cut_in) if pump.switch else -inf for pump in pumps]
    works.reals["cut_out"] = [laid.head_of(pump.switch.cut_out) if pump.switch else inf for pump in pumps]
    works.reals["pump_draws"] = [pump.draws for pump in pumps]
    works.reals["pump_free"] = [pump.curve[-1].flow for pump in pumps]


def _suction(rig: Rig, pump: str) -> float:
    """Volume of the pipes before a pump in its line [m3], of its own chamber at least."""
    line = next(line for line in rig.lines if pump in line.through)
    pipes = [rig.pipes[part] for part in line.through[: line.through.index(pump)] if part in rig.pipes]
    return max(sum(0.25 * pi * pipe.bore**2 * pipe.length for pipe in pipes), PUMP_CHAMBER)


def _add_valves(works: Works) -> None:
    laid, valves = works.plumbing, works.rig.valves
    motors = [valve.motor or Motor() for valve in valves.values()]
    kinds = laid.network.throttle_kind
    works.integers["valve_throttle"] = [laid.throttles[name] for name in valves]
    works.integers["throttle_kind"] = [kinds[laid.throttles[name]] for name in valves]
    works.integers["motorised"] = [int(valve.motor is not None) for valve in valves.values()]
    works.integers["without_power"] = [WITHOUT_POWER[motor.without_power or "stays"] for motor in motors]
    works.integers["valve_float"], works.integers["valve_float_made"] = _contacts(works.rig, valves.values())
    works.integers["valve_relay"] = [int(valve.rests == "open") for valve in valves.values()]
    works.reals["least_voltage"] = [motor.least_voltage for motor in motors]
    works.reals["charge_time"] = [motor.charge_time or 0.0 for motor in motors]
    works.reals["valve_draws"] = [motor.draws for motor in motors]
    works.reals["stroke"] = [max(motor.stroke.most, LEAST_STROKE) for motor in motors]


def _add_ends(works: Works) -> None:
    rig, laid = works.rig, works.plumbing
    works.integers["fixture_throttle"] = [laid.throttles[name] for name in rig.fixtures]
    works.integers["port_node"] = [laid.nodes["port", name] for name in rig.ports]
    works.integers["port_link"] = [laid.part_link[name] for name in rig.ports]
    works.integers["hose"] = [_hose(works, name) for name in rig.ports]
    works.integers["connected"] = [int(port.kind == "discharge" or port.lasting) for port in rig.ports.values()]
    works.reals["pressure"] = [laid.rest[node] - laid.network.elevation[node] for node in works.integers["port_node"]]


def _hose(works: Works, port: str) -> int:
    """Section of the first pipe behind a supply: its hose; -1 where there is none."""
    rig, laid = works.rig, works.plumbing
    for line in rig.lines:
        if line.start == port and any(part in rig.pipes for part in line.through):
            return laid.network.section_first[laid.part_link[port]]
    return -1
