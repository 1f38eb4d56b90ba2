"""Odd little rigs, each beside a calculation by hand: backflow, suction, gravity, spilling, starving."""

from __future__ import annotations

from math import sqrt

import pytest

from tests.reference.formulas import hole_pressure
from ullage.hydraulics.fittings import resistance_of_kv, weir_of_rim
from ullage.hydraulics.plumbing import fluid_at
from ullage.quantities import G_STANDARD, from_si, to_si
from ullage.rig.model import Rig
from ullage.rig.read import read_rig
from ullage.sizing.flows import Flows, Moment, flows_at
from ullage.sizing.losses import losses
from ullage.sizing.suction import gauge_pressures

TANK = """
    holds: potable
    shape: {box: {length: 1 m, width: 1 m, height: 1 m}}
    floor_at: {z: HEIGHT}
    openings: {top: {at: 950 mm}, low: {at: 100 mm}}
    vent: {bore: VENT}
    overflow: {bore: 100 mm, at: 900 mm}
    starts_with: 50 %
"""
COLD = fluid_at(288.15)
PASCALS = COLD.density * G_STANDARD
CHOKE = to_si(1.0, "m3/h", "flow")
LOSS = resistance_of_kv(CHOKE)


def rig(parts: str, vent: str = "500 mm", other: str = "") -> Rig:
    """A tank of 1 m3 on the ground (another in the air where asked for) and what is joined to it."""
    tanks = "  butt:" + TANK.replace("HEIGHT", "0 m").replace("VENT", vent)
    if other:
        tanks += "  header:" + TANK.replace("HEIGHT", other).replace("VENT", "500 mm")
    made, findings, _ = read_rig(
        f"rig: Odd\ntanks:\n{tanks}restrictors: {{choke: {{kv: 1 m3/h}}}}\n{parts}", "odd.yaml"
    )
    assert made is not None, findings
    return made


SHORE = """
ports: {shore: {kind: supply, at: {z: 0 m}, pressure: 0 bar .. 4 bar}}
lines: [{from: shore, through: [choke], to: butt.END}]
"""


@pytest.mark.parametrize(
    ("end", "depth", "bars", "head"),
    [
        ("low", 0.5, 0.0, -0.5),
        ("low", 0.5, 1.0, 1e5 / PASCALS - 0.5),
        ("low", 0.05, 0.0, 0.0),
        ("low", 0.05, 1.0, 1e5 / PASCALS - 0.1),
        ("top", 0.5, 0.0, 0.0),
        ("top", 0.5, 1.0, 1e5 / PASCALS - 0.95),
        ("top", 0.5, 0.05, 0.0),
    ],
)
def test_back_to_the_shore(end: str, depth: float, bars: float, head: float) -> None:
    """A hose whose tap is shut draws the tank empty through a drowned inlet, and nothing through one in the air.

    By hand: ``q = sqrt(head / r)`` with the head over the surface, or over the opening where that is higher.
    """
    flows = flows_at(rig(SHORE.replace("END", end)), Moment(depths={"butt": depth}, pressures={"shore": bars * 1e5}))
    expected = sqrt(abs(head) / LOSS) * (1 if head > 0 else -1)
    assert flows.through("choke") == pytest.approx(expected, rel=1e-3, abs=1e-12)


def test_one_shore_for_two_tanks() -> None:
    """A hose that is unhooked from a shore with two lines went on feeding one of them: what is shut is the port.

    By hand: each line has its own restrictor and falls from the same head; through the port runs the sum.
    """
    parts = """
ports: {shore: {kind: supply, at: {z: 0 m}, pressure: 0 bar .. 4 bar}}
checks: {flap: {kv: 0.5 m3/h}}
lines: [{from: shore, through: [choke], to: butt.top}, {from: shore, through: [flap], to: header.top}]
"""
    flows = flows_at(rig(parts, other="2.5 m"), Moment(pressures={"shore": 1e5}))
    head, narrow = 1e5 / PASCALS, resistance_of_kv(to_si(0.5, "m3/h", "flow"))
    assert flows.through("choke") == pytest.approx(sqrt((head - 0.95) / LOSS), rel=1e-3)
    assert flows.through("flap") == pytest.approx(sqrt((head - 3.45) / narrow), rel=1e-3)
    assert flows.through("shore") == pytest.approx(flows.through("choke") + flows.through("flap"), rel=1e-6)


PUMP = """
ports: {outfall: {kind: discharge, at: {z: 0.5 m}}}
pumps: {pump: {curve: [{flow: 0 L/min, pressure: 2 bar}, {flow: 20 L/min, pressure: 0 bar}]}}
lines: [{from: butt.low, through: [choke, pump], to: outfall}]
"""


@pytest.mark.parametrize("vent", ["2 mm", "4 mm", "10 mm"])
def test_a_pump_draws_on_a_starved_vent(vent: str) -> None:
    """The tank that caves in: its vent's hole and the pump's curve decide together, and the choke takes its part."""
    flows = flows_at(rig(PUMP, vent), Moment(depths={"butt": 0.5}, running=frozenset({"pump"})))
    flow, bore = flows.through("pump"), float(vent.split()[0]) / 1e3
    under = hole_pressure(flow, bore, COLD.air_density)
    assert flows.over_pressure("butt") == pytest.approx(-under, rel=1e-3)
    lift = 2e5 / PASCALS * (1 - flow / to_si(20, "L/min", "flow"))
    assert lift == pytest.approx(LOSS * flow**2 + under / PASCALS, rel=1e-3), "level and outfall are of one height"
    if vent == "2 mm":
        assert under > 5e3, "or this rig starves nobody"
    inlet = gauge_pressures(rig(PUMP, vent), flows)["pumps", "pump"]
    assert inlet == pytest.approx(0.4 * PASCALS - under - LOSS * flow**2 * PASCALS, rel=1e-3)


def test_a_standing_pump_lets_water_fall_through() -> None:
    """A header tank empties itself through a pump that is off: its valves are check valves and open forwards."""
    fall = PUMP.replace("z: 0.5 m", "z: -3 m")
    flow = flows_at(rig(fall), Moment(depths={"butt": 0.5})).through("pump")
    steep = 2e5 / PASCALS / to_si(20, "L/min", "flow")
    assert pytest.approx(LOSS * flow**2 + steep * flow, rel=1e-3) == 3.5
    uphill = flows_at(rig(PUMP.replace("z: 0.5 m", "z: 2 m")), Moment(depths={"butt": 0.5})).through("pump")
    assert uphill == 0.0


@pytest.mark.parametrize(("depth", "flow"), [(0.5, sqrt(2.5 / LOSS)), (0.05, 0.0)])
def test_header_to_butt_by_gravity(depth: float, flow: float) -> None:
    """A header tank runs into the lower one until its outlet stands dry; then nothing, not a trickle of air."""
    parts = "lines: [{from: header.low, through: [choke], to: butt.low}]"
    moment = Moment(depths={"header": depth, "butt": 0.5})
    flows = flows_at(rig(parts, other="2.5 m"), moment)
    assert flows.through("choke") == pytest.approx(flow, rel=1e-3)
    above = flows_at(rig(parts.replace("butt.low", "butt.top"), other="2.5 m"), moment)
    assert above.through("choke") == pytest.approx(sqrt(2.05 / LOSS) if flow else 0.0, rel=1e-3), "falls from the top"


def test_the_last_water_over_the_mouth() -> None:
    """An outlet half out of the water draws less: a tank does not stop running from one second to the next."""
    parts = """
pipes: {tail: {bore: 40 mm, length: 100 mm}}
ports: {outfall: {kind: discharge, at: {z: -1 m}}}
lines: [{from: butt.low, through: [tail], to: outfall}]
"""
    made = rig(parts)
    drawn = [flows_at(made, Moment(depths={"butt": 0.1 + over})).through("tail") for over in (0.04, 0.02, 0.01, 0.001)]
    assert drawn == sorted(drawn, reverse=True)
    assert drawn[1] == pytest.approx(0.5 * drawn[0], rel=0.1)
    assert drawn[3] < 0.05 * drawn[0]


def spilling(inflow_bars: float, vent: str) -> Flows:
    """The butt, filled to 1 mm under its brim by a strong shore."""
    made = rig(SHORE.replace("END", "top"), vent)
    return flows_at(made, Moment(depths={"butt": 0.999}, pressures={"shore": inflow_bars * 1e5}))


def test_overflow_by_poleni() -> None:
    """The overflow that carries less than was told floods the floor: ``2/3 Cd sqrt(2 g) b h^1.5`` 99 mm over its rim.

    A rim of 100 mm is drowned from 3/8 of its bore on; then it is an orifice, ``Cd A sqrt(2 g h)``.
    """
    flows = spilling(1.0, "500 mm")
    plumbing = flows.plumbing
    over = flows.flow[plumbing.link_of["overflow", "butt"]]
    assert over == pytest.approx(0.61 * 0.25 * 3.14159265 * 0.1**2 * sqrt(2 * G_STANDARD * 0.099), rel=1e-3)
    low = flows_at(rig(SHORE.replace("END", "top")), Moment(depths={"butt": 0.91}, pressures={"shore": 0.0}))
    assert low.flow[low.plumbing.link_of["overflow", "butt"]] == pytest.approx(weir_of_rim(0.1) * 0.01**1.5, rel=1e-3)


def test_pressure_in_a_tank_without_enough_vent_pushes_the_overflow() -> None:
    """Air that cannot leave drives water out of the overflow instead: more than the water's own height would."""
    wide, starved = spilling(4.0, "500 mm"), spilling(4.0, "0.5 mm")
    rims = [flows.flow[flows.plumbing.link_of["overflow", "butt"]] for flows in (wide, starved)]
    assert starved.over_pressure("butt") < 0, "the overflow takes more than runs in, and air cannot follow"
    assert rims[1] == pytest.approx(starved.through("choke"), rel=1e-2), "what runs in runs out, but for a little air"
    assert rims[0] > rims[1]


def test_losses_add_up_to_the_fall() -> None:
    """A pressure told for the middle of a line is only right when what is lost before and after is the whole."""
    parts = """
pipes: {tail: {bore: 20 mm, length: 3 m, fittings: 2}}
ports: {outfall: {kind: discharge, at: {z: -1 m}}}
lines: [{from: butt.low, through: [choke, tail], to: outfall}]
"""
    flows = flows_at(rig(parts), Moment(depths={"butt": 0.5}))
    lost = losses(flows.plumbing, 0, flows.through("tail"))
    assert set(lost) == {"butt.low", "choke", "tail", "outfall"}
    assert sum(lost.values()) == pytest.approx(1.5, rel=1e-4)
    assert from_si(flows.through("tail"), "L/min") > 5
    assert lost["choke"] == pytest.approx(LOSS * flows.through("tail") ** 2)
