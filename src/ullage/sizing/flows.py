"""The flows that a rig's water can take at one moment, from its network."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import product
from math import tan

from ullage.hydraulics.build import build
from ullage.hydraulics.network import Condition, condition_of, work_of
from ullage.hydraulics.plumbing import Plumbing, fluid_at
from ullage.hydraulics.solve import mark_known, solve
from ullage.rig.model import LEVEL, Rig, Slope
from ullage.rig.shapes import spills_at
from ullage.rig.ways import Link, Ways, one_way


@dataclass(frozen=True)
class Moment:
    """A rig at one moment, before its flows are found.

    Attributes
    ----------
    open : set of str
        Valves and taps that stand open; everything else is shut.
    running : set of str
        Pumps that run.
    depths : dict of str to float
        Depth of water in each tank [m]; the others stand at what they start with.
    pressures : dict of str to float
        Gauge pressure at each supply [Pa]; the others at their usual pressure.
    slope : Slope
        How the rig stands.
    temperature : float or None
        Of the water [K]; None: 15 degC.
    """

    open: frozenset[str] = frozenset()
    running: frozenset[str] = frozenset()
    depths: dict[str, float] = field(default_factory=dict)
    pressures: dict[str, float] = field(default_factory=dict)
    slope: Slope = LEVEL
    temperature: float | None = None


@dataclass(frozen=True)
class Flows:
    """The answer for one moment.

    Attributes
    ----------
    plumbing : Plumbing
        The network with its names.
    head : list of float
        Head of every node [m].
    known : list of int
        1 for each node whose head the answer determines. What is shut off from tanks, supplies and the outer
        air has none that could be known, so it is not to be told.
    flow : list of float
        Flow of every link, positive from its start to its end [m3/s].
    """

    plumbing: Plumbing
    head: list[float]
    known: list[int]
    flow: list[float]

    def through(self, part: str) -> float:
        """Flow through a part, positive along its line [m3/s]."""
        return self.flow[self.plumbing.part_link[part]]

    def into(self, tank: str) -> float:
        """Water that runs into a tank through its openings, what runs out of others left aside [m3/s]."""
        gas = self.plumbing.nodes["gas", tank]
        total = 0.0
        for i, link in enumerate(self.plumbing.links):
            if ("line", link.name) in self.plumbing.link_of:
                total += max(self.flow[i] if link.end == gas else 0.0, -self.flow[i] if link.start == gas else 0.0)
        return total

    def over_pressure(self, tank: str) -> float:
        """Gauge pressure of the air in a tank [Pa]; below zero while it is emptied."""
        gas, face = self.plumbing.nodes["gas", tank], self.plumbing.nodes["face", tank]
        return (self.head[gas] - self.head[face]) / self.plumbing.head_of(1.0)


class NoAnswer(ArithmeticError):
    """The network has no answer within the solver's limit: our fault, never the rig's."""


def flows_at(rig: Rig, moment: Moment) -> Flows:
    """Find all flows at a moment.

    Raises
    ------
    NoAnswer
        When the solver did not settle.
    """
    fluid = fluid_at(moment.temperature) if moment.temperature is not None else None
    plumbing = build(rig, fluid, moment.slope)
    head = list(plumbing.rest)
    for tank, depth in moment.depths.items():
        head[plumbing.nodes["face", tank]] = plumbing.network.elevation[plumbing.nodes["face", tank]] + depth
    for port, pressure in moment.pressures.items():
        node = plumbing.nodes["port", port]
        head[node] = plumbing.network.elevation[node] + plumbing.head_of(pressure)
    flow, work, known = [0.0] * len(plumbing.links), work_of(plumbing.network), [0] * len(head)
    if solve(plumbing.network, _condition(plumbing, moment), head, flow, work) < 0:
        raise NoAnswer(f"no flows for {moment}")
    mark_known(plumbing.network, flow, work, known)
    return Flows(plumbing, head, known, flow)


def _condition(plumbing: Plumbing, moment: Moment) -> Condition:
    condition = condition_of(plumbing.network)
    for part, throttle in plumbing.throttles.items():
        condition.opening[throttle] = 1.0 if part in moment.open else 0.0
    for pump, index in plumbing.pumps.items():
        condition.speed[index] = 1.0 if pump in moment.running else 0.0
    return condition


def greatest_inflow(ways: Ways, tank: str) -> Flows:
    """The most water that can run into a tank at once through its lines.

    Every valve and pump on a way to it is open, every tap shut, all other tanks stand at their
    overflow, this one too, and each supply has its greatest pressure: the largest flow on any
    of these ways that the rig's own range allows.
    """
    rig, on_way = ways.rig, _on_a_way(ways, ways.openings(tank))
    return flows_at(rig, _wide_open(rig, on_way & set(rig.valves), on_way & set(rig.pumps)))


def greatest_outflow(ways: Ways, tank: str) -> Flows:
    """The most water that can run out of a tank at once: every way out of it open, pumps running.

    It stands at its overflow, all other tanks are empty, and supplies are off.
    """
    rig, downstream = ways.rig, ways.reach(ways.openings(tank))
    on_way = {link.name for link in ways.links if link.start in downstream and link.end in downstream}
    moment = Moment(
        open=frozenset((on_way & set(rig.valves)) | (downstream & set(rig.fixtures))),
        running=frozenset(on_way & set(rig.pumps)),
        depths={name: spills_at(other) if name == tank else 0.0 for name, other in rig.tanks.items()},
        pressures=dict.fromkeys((name for name, port in rig.ports.items() if port.pressure), 0.0),
        temperature=rig.water.most,
    )
    return flows_at(rig, moment)


def drained_into(ways: Ways, tank: str) -> float:
    """The most that the taps above a waste tank let run into it, all open at once [m3/s].

    Pumps run, supplies have their greatest pressure, and tanks stand at their overflow.
    """
    rig = ways.rig
    taps = [name for name, fixture in rig.fixtures.items() if fixture.drains_to == tank]
    if not taps:
        return 0.0
    on_way = _on_a_way(ways, taps)
    flows = flows_at(rig, _wide_open(rig, set(taps) | (on_way & set(rig.valves)), on_way & set(rig.pumps)))
    return sum(flows.through(tap) for tap in taps)


def _wide_open(rig: Rig, open_parts: set[str], pumps: set[str]) -> Moment:
    """Tanks at their overflow, supplies at their greatest pressure, water as thin as it gets."""
    return Moment(
        open=frozenset(open_parts),
        running=frozenset(pumps),
        depths={name: spills_at(other) for name, other in rig.tanks.items()},
        pressures={name: port.pressure.most for name, port in rig.ports.items() if port.pressure},
        temperature=rig.water.most,
    )


def _on_a_way(ways: Ways, targets: Iterable[str]) -> set[str]:
    """Parts that lie on some way from a source (a supply, an opening under water) to the targets."""

    def upstream(link: Link, forwards: bool) -> bool:
        far = link.end if forwards else link.start
        dry = ways.tank_of(far) is not None and not ways.submerged(far)
        return one_way(link, not forwards) and not dry

    ends = set(targets)
    reached = ways.reach(ends, upstream)
    links = {link for link in ways.links if link.start in reached and link.end in reached}
    while True:
        counts = Counter(joint for link in links for joint in (link.start, link.end))
        loose = {link for link in links if any(counts[j] == 1 and not ways.ends(j) for j in (link.start, link.end))}
        if not loose:
            return {link.name for link in links}
        links -= loose


def slopes(rig: Rig) -> list[tuple[float, float]]:
    """The corners of the range of slopes that the rig may stand on, as rises ahead and across [m/m]."""
    ahead, across = tan(rig.slope.ahead), tan(rig.slope.across)
    return sorted(set(product({-ahead, ahead}, {-across, across})))
