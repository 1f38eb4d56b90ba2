"""Bounds of the net flow into each tank: no state within them may flow more, and no corner left out may matter."""

from __future__ import annotations

import random
from functools import cache
from itertools import product
from math import inf
from typing import Any

import numpy as np
import pytest

from tests.share import share
from tests.shipped import EXAMPLES
from ullage.control.check import examine
from ullage.hydraulics.build import build
from ullage.hydraulics.network import condition_of, work_of
from ullage.hydraulics.plumbing import fluid_at
from ullage.hydraulics.solve import solve
from ullage.kernels import compiled
from ullage.plant import faults as f
from ullage.plant.bounds import OUTWARD, Bounds
from ullage.plant.corners import extremes
from ullage.plant.faults import single_faults
from ullage.plant.harmed import reach_of
from ullage.quantities import Span
from ullage.rig import shapes
from ullage.rig.model import Rig, Slope
from ullage.rig.read import read_rig

CORNERS, STATES = 30, 100
SLACK = 1e-9
"""A microlitre a second: what the solver's accuracy leaves open [m3/s]."""

AIR = 0.95
"""Part of `OUTWARD` that must be left for what lies between the corners: the breath of other tanks costs a little."""

TWO_LINES = b"""
rig: Two lines
about: One tap that hot and cold water mix in, and two pumps side by side.
scan: 500 ms
boards: {main: {link: wired}}
power: {voltage: 12 V, capacity: 100 Ah, resistance: 20 mohm, least: 10.5 V}
tanks:
  fresh:
    holds: potable
    shape: {box: {length: 800 mm, width: 400 mm, height: 300 mm}}
    floor_at: {x: 0 m, y: 0 m, z: 0.4 m}
    openings: {low: {at: 5 mm}}
    vent: {bore: 16 mm, length: 1 m}
  used:
    holds: waste
    shape: {box: {length: 800 mm, width: 400 mm, height: 300 mm}}
    floor_at: {x: 1 m, y: 0 m, z: 0.1 m}
    openings: {drain: {at: 0 mm}}
    vent: {bore: 25 mm, length: 1 m}
ports:
  outfall: {kind: discharge, at: {x: -1 m, y: 1 m, z: 0 m}, air_gap: true}
points:
  tee: {at: {x: 0.5 m, y: 0 m, z: 0.5 m}}
pipes:
  left: {bore: 13 mm, length: 1 m}
  right: {bore: 13 mm, length: 1 m}
  cold: {bore: 10 mm, length: 1 m}
  hot: {bore: 10 mm, length: 2 m}
  waste: {bore: 38 mm, length: 1 m}
valves:
  dump:
    kind: ball
    kv: 30 m3/h
    motor: {stroke: 3 s .. 6 s, feedback: none, without_power: stays, draws: 0.5 A}
    board: main
    lease: 3 s
    on_lapse: closed
pumps:
  one:
    curve: [{flow: 0 L/min, pressure: 2 bar}, {flow: 8 L/min, pressure: 0 bar}]
    draws: 5 A
    board: main
    lease: 3 s
    on_lapse: off
  two:
    curve: [{flow: 0 L/min, pressure: 2 bar}, {flow: 8 L/min, pressure: 0 bar}]
    draws: 5 A
    board: main
    lease: 3 s
    on_lapse: off
fixtures:
  basin: {flow: 6 L/min, at_pressure: 1 bar, at: {x: 1 m, y: 0 m, z: 1 m}, drains_to: used}
lines:
  - {from: fresh.low, through: [left, one], to: tee}
  - {from: fresh.low, through: [right, two], to: tee}
  - {from: tee, through: [cold], to: basin}
  - {from: tee, through: [hot], to: basin}
  - {from: used.drain, through: [dump, waste], to: outfall}
"""


RIGS = ("bothy", "crumb", "marram", "turnstone")


@cache
def bounds_of(name: str) -> Bounds:
    """Bounds of a rig that is shipped, in health."""
    path = EXAMPLES / "rigs" / f"{name}.yaml"
    found = examine(path.read_bytes(), path.name)
    assert found.rig is not None
    assert found.program is not None
    return Bounds(found.rig, found.program.names.outputs)


def fullest(site: Any) -> float:
    """Greatest head that any pump or supply of a site could fill an accumulator to [m]."""
    pumps = [point.pressure for pump in site.rig.pumps.values() for point in pump.curve]
    ports = [port.pressure.most for port in site.rig.ports.values() if port.pressure]
    return float(site.laid.head_of(max((*pumps, *ports, *site.reach.pressures.values()), default=0.0)))


def at_every_corner(
    site: Any, tank: str, passing: frozenset[str], pumps: frozenset[str], joined: frozenset[str], content: Span
) -> Span:
    """Bounds of one tank on one stand over each mix of the ends of all heads and of all that is opened by hand."""
    ends = {node: set(pair) for node, pair in site._ends(tank, content).items()}
    for name in site.rig.accumulators:
        node = site.laid.nodes["accumulator", name]
        if node in ends:
            ends[node].add(float(site.network.elevation[node]) + fullest(site))
    free = site.network.free
    rows = []
    for pick in product(*ends.values()):
        row = list(site.laid.rest[free:])
        for node, head in zip(ends, pick, strict=True):
            row[node - free] = head
        rows.append(row)
    span, nodes, links = np.array([inf, -inf]), len(site.network.elevation), len(site.network.start)
    lost = compiled(extremes)(
        site.network,
        site.condition,
        site.work,
        np.zeros(nodes),
        np.zeros(links),
        np.array(rows).reshape(-1),
        np.array(opened_every_way(site, tank, passing) * len(rows)).reshape(-1),
        site._speeds(pumps).reshape(-1),
        *site._ledger(tank, joined),
        site.tanks.index(tank),
        span,
    )
    assert lost == 0
    return Span(float(span[0]), float(span[1]))


def drawn_faults(rig: Rig, chance: random.Random) -> f.Fault | None:
    """None, or a fault that changes the flows."""
    some = [fault for fault in single_faults(rig) if reach_of(rig, fault) is not None]
    return chance.choice([None, *some]) if some else None


def drawn_content(rig: Rig, tank: str, chance: random.Random) -> Span:
    """A part of what a tank can hold."""
    whole = shapes.whole(rig.tanks[tank].shape)
    return Span(*sorted(whole * chance.random() for _ in range(2)))


def opened_every_way(site: Any, tank: str, passing: frozenset[str]) -> list[list[float]]:
    """Openings with these gates passing, and each tap, hand valve and accumulator nearby shut or open."""
    rig, laid, near = site.rig, site.laid, site._near(tank)
    free = [*rig.fixtures, *(name for name, valve in rig.valves.items() if valve.motor is None)]
    free = [name for name in free if laid.part_link[name] in near] + list(rig.accumulators)
    rows = []
    for pick in product((0.0, 1.0), repeat=len(free)):
        row = [0.0] * len(site.condition.opening)
        for name in passing & set(rig.valves):
            row[laid.throttles[name]] = 1.0
        for name, opening in zip(free, pick, strict=True):
            row[laid.throttles[name]] = opening
        rows.append(row)
    return rows


@pytest.mark.parametrize("name", RIGS)
def test_two_corners_do_for_all(name: str) -> None:
    """A rate that is too small lets a proof overlook an overflow: no other mix of heads and taps may give more."""
    chance, healthy = random.Random(name), bounds_of(name)
    rig, count = healthy.works.given, share(40 * CORNERS, CORNERS)
    for _ in range(count):
        fault = drawn_faults(rig, chance)
        reach = reach_of(rig, fault) if fault else None
        bounds = Bounds(rig, [], reach, (healthy,)) if reach else healthy
        tank = chance.choice(list(rig.tanks))
        gates = sorted(bounds.gates_of(tank))
        passing = frozenset(gate for gate in gates if chance.random() < 0.7)
        content = drawn_content(rig, tank, chance)
        pumps = passing & frozenset(rig.pumps)
        found = bounds.net(tank, passing, content)
        for site in bounds._sites:
            joined = bounds.joined(tank, passing)
            old = at_every_corner(site, tank, _whole_lines(bounds, tank, passing), pumps, joined, content)
            assert found.least <= old.least - AIR * OUTWARD * abs(old.least) + SLACK, (fault, tank, passing, content)
            assert found.most >= old.most + AIR * OUTWARD * abs(old.most) - SLACK, (fault, tank, passing, content)
    print(f"{name}: {count} sets of gates and contents")


def _whole_lines(bounds: Bounds, tank: str, passing: frozenset[str]) -> frozenset[str]:
    return frozenset[str]().union(*(line for line in bounds._lines(tank) if line <= passing))


@pytest.mark.parametrize("name", RIGS)
def test_no_state_flows_more(name: str) -> None:
    """The corners could leave out a worse state in between: states of every kind are drawn and solved."""
    chance, bounds = random.Random(name), bounds_of(name)
    rig, count = bounds.works.given, share(150 * STATES, STATES)
    for _ in range(count):
        tank = chance.choice(list(rig.tanks))
        passing = frozenset(gate for gate in sorted(bounds.gates_of(tank)) if chance.random() < 0.7)
        content = drawn_content(rig, tank, chance)
        net, kept = state_between(bounds, tank, passing, content, chance)
        found = bounds.net(tank, passing, content)
        assert found.least - SLACK <= net, (tank, passing, content)
        assert net + kept <= found.most + SLACK, (tank, passing, content)
    print(f"{name}: {count} states")


def state_between(
    bounds: Bounds, tank: str, passing: frozenset[str], content: Span, chance: random.Random
) -> tuple[float, float]:
    """Net flow of a tank in a state with only these gates passing, and what goes into accumulators [m3/s]."""
    rig = bounds.rig
    slope = Slope.model_construct(
        ahead=chance.uniform(-1, 1) * rig.slope.ahead, across=chance.uniform(-1, 1) * rig.slope.across
    )
    laid = build(rig, fluid_at(chance.uniform(rig.water.least, rig.water.most)), slope)
    network, head = laid.network, list(laid.rest)
    condition, work = condition_of(network), work_of(network)
    for name, part in rig.tanks.items():
        held = content.least + chance.random() * (content.most - content.least)
        if name != tank:
            brim = shapes.whole(part.shape) if part.overflow is None else shapes.capacity(part)
            held = chance.choice([0.0, chance.random(), 1.0]) * brim
        head[laid.nodes["face", name]] += shapes.depth(part.shape, held) - shapes.depth(
            part.shape, part.starts_with * shapes.capacity(part)
        )
    for name, port in rig.ports.items():
        if port.pressure:
            node = laid.nodes["port", name]
            head[node] = network.elevation[node] + chance.random() * laid.head_of(port.pressure.most)
    for name, part in rig.accumulators.items():
        node = laid.nodes["accumulator", name]
        head[node] = network.elevation[node] + laid.head_of(part.precharge) * chance.uniform(1.0, 2.5)
        condition.opening[laid.throttles[name]] = chance.choice([0.0, 1.0])
    for name in rig.fixtures:
        condition.opening[laid.throttles[name]] = chance.choice([0.0, chance.random(), 1.0])
    for name, valve in rig.valves.items():
        if name in passing or valve.motor is None:
            condition.opening[laid.throttles[name]] = chance.choice([0.0, chance.random(), 1.0])
    for name in passing & frozenset(rig.pumps):
        condition.speed[laid.pumps[name]] = chance.choice([0.0, chance.random(), 1.0])
    flow = [0.0] * len(network.start)
    assert solve(network, condition, head, flow, work) > 0
    drawn, led, kept = bounds._sites[0]._ledger(tank, bounds.joined(tank, passing))
    at = list(rig.tanks).index(tank)
    net = sum(q for q, to in zip(flow, led, strict=True) if to == at)
    net -= sum(q for q, of in zip(flow, drawn, strict=True) if of == at)
    return net, sum(q for q, into in zip(flow, kept, strict=True) if into)


def test_water_that_mixes_in_a_tap_is_not_overlooked() -> None:
    """A tap of two lines, and one of two pumps side by side, once were no way into a tank: its rates were nothing."""
    rig, _, _ = read_rig(TWO_LINES, "two_lines.yaml")
    assert rig is not None
    bounds = Bounds(rig, ["dump", "one", "two"])
    assert bounds.gates_of("used") == {"dump", "one", "two"}
    assert bounds.gates_of("fresh") == {"one", "two"}
    half = Span(0.03, 0.04)
    one, both = (bounds.net("used", frozenset(some), half).most for some in (["one"], ["one", "two"]))
    assert 1e-5 < one < both


def test_water_that_an_accumulator_takes_is_on_its_way_to_the_tank() -> None:
    """It comes out again when the tap is opened, faster than any pump: what went in must be in the reckoning."""
    kept = TWO_LINES + b"accumulators: {bottle: {at: tee, volume: 1 L, precharge: 0.1 bar}}\n"
    most = []
    for text in (TWO_LINES, kept):
        rig, _, _ = read_rig(text, "two_lines.yaml")
        assert rig is not None
        most.append(Bounds(rig, ["dump", "one", "two"]).net("used", frozenset({"one"}), Span(0.03, 0.04)).most)
    assert most[1] > 1.01 * most[0]


def test_a_tank_that_cannot_breathe_passes_on_the_pressure() -> None:
    """With belly's vent blocked the shore's pressure presses its water on up to loft, past a pump that stands."""
    healthy = bounds_of("marram")
    rig = healthy.works.given
    reach = reach_of(rig, f.read_fault(rig, "belly vent blocked"))
    assert reach is not None
    blocked = Bounds(rig, [], reach, (healthy,))
    way = frozenset({"shore_guard", "shore_in", "lift"})
    assert way <= blocked.gates_of("loft")
    half = Span(0.02, 0.03)
    assert healthy.net("loft", way, half).most < 1e-9
    assert blocked.net("loft", way, half).most > 2e-5


def test_an_accumulator_counts_only_while_it_is_joined_to_the_tank() -> None:
    """Counted behind a shut valve, what a welded pump presses into it would be taken for an overflow of loft."""
    bounds = bounds_of("marram")
    near = bounds.gates_of("loft")
    assert bounds.joined("loft", near) == {"accumulator"}
    assert bounds.joined("loft", near - {"lift"}) == frozenset()
    assert bounds.joined("gray", frozenset()) == {"accumulator"}, "a tap may stand open"
    assert bounds.joined("belly", bounds.gates_of("belly")) == frozenset(), "no water comes back through a pump"
    rig = bounds.works.given
    reach = reach_of(rig, f.read_fault(rig, "water_pump leaking back"))
    assert reach is not None
    assert Bounds(rig, [], reach, (bounds,)).joined("belly", frozenset()) == {"accumulator"}


def test_a_tank_that_cannot_breathe_holds_the_pressure_under_its_overflow() -> None:
    """Full it lets the pressure out by its overflow, empty its outlet is dry: in between the hose reached the taps."""
    healthy = bounds_of("crumb")
    rig = healthy.works.given
    reach = reach_of(rig, f.read_fault(rig, "drum vent blocked"))
    assert reach is not None
    blocked, way, half = Bounds(rig, [], reach, (healthy,)), frozenset({"guard", "shut"}), Span(0.03, 0.04)
    assert healthy.net("sump", way, half).most < 1e-9
    assert blocked.net("sump", way, half).most > 8.6e-5, "what a run of the simulator brought there"
