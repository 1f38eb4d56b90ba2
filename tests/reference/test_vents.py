"""Vents, siphons and sharp edges: DRN rows 3, 4 and 10 to 14, with the flows found by the product's solver."""

from __future__ import annotations

from math import pi, sqrt

import fluids
import pytest

from tests.reference.formulas import hole_bore, hole_pressure, npsh_available
from tests.reference.small_nets import flow_under, water_at
from ullage.hydraulics import water
from ullage.hydraulics.fittings import ORIFICE, resistance_of_orifice
from ullage.hydraulics.plumbing import Link
from ullage.quantities import G_STANDARD, from_si, to_si
from ullage.rig.model import Rig
from ullage.rig.read import read_rig
from ullage.rig.text import Places
from ullage.rig.view import view_of
from ullage.sizing.check import VENT_LOOK, VENT_STOP, check
from ullage.sizing.flows import Flows, Moment, flows_at

L_MIN = to_si(1.0, "L/min", "flow")
AIR_20 = 1.204

TANK = """
rig: Butt
tanks:
  butt:
    holds: potable
    shape: {box: {length: 1 m, width: 1 m, height: 1 m}}
    floor_at: {x: 0 m, y: 0 m, z: 1 m}
    openings: {top: {at: 1 m}, low: {at: 0 mm}}
    vent: {bore: VENT, length: LENGTH}
    starts_with: 50 %
ports:
  shore: {kind: supply, at: {x: 0 m, y: 0 m, z: 2 m}, pressure: 0.001 bar .. MOST}
  outfall: {kind: discharge, at: {x: 0 m, y: 0 m, z: 1 m}}
points:
  crest: {at: {x: 0 m, y: 0 m, z: 1.9 m}}
pipes:
  hose: {bore: 19 mm, length: 3 m}
  up: {bore: 12.5 mm, length: 1 m}
  down: {bore: 12.5 mm, length: 2 m}
valves:
  cock: {kind: ball, kv: 1000 m3/h}
lines:
  - {from: shore, through: [hose], to: butt.top}
  - {from: butt.low, through: [up], to: crest}
  - {from: crest, through: [down, cock], to: outfall}
"""


def tank(vent: str, most: str = "0.03 bar", length: str = "1 mm") -> tuple[Rig, Places]:
    """A tank of 1 m3, half full, with a hose into its top and a siphon over its rim."""
    text = TANK.replace("VENT", vent).replace("MOST", most).replace("LENGTH", length)
    rig, findings, places = read_rig(text, "butt.yaml")
    assert rig is not None, findings
    return rig, places


def breath(flows: Flows) -> float:
    """Air that leaves the tank through its vent [m3/s]."""
    return flows.flow[flows.plumbing.link_of["vent", "butt"]]


def test_drn_03_air_moves_as_the_water_does() -> None:
    """DRN-03 (API Std 2000, 7th ed.): one volume of air for each of water, either way, or the tank bulges or caves in.

    It holds for liquids of up to 5 kPa of vapour pressure: all water that the rig file allows by default,
    up to 30 degC, is one; water above 32.9 degC is not, and breathes out twice its volume.
    """
    rig, _ = tank("12 mm")
    filling = flows_at(rig, Moment(pressures={"shore": 3e3}))
    assert filling.into("butt") > 5 * L_MIN
    assert breath(filling) == pytest.approx(filling.into("butt"), rel=1e-6)
    assert filling.over_pressure("butt") > 0
    emptying = flows_at(rig, Moment(open=frozenset({"cock"}), pressures={"shore": 0.0}))
    leaves = emptying.through("up")
    assert leaves > 5 * L_MIN
    assert breath(emptying) == pytest.approx(emptying.into("butt") - leaves, rel=1e-6)
    assert emptying.over_pressure("butt") < 0
    assert water.vapour_pressure(rig.water.most) < 5e3 < water.vapour_pressure(306.1)


def test_drn_04_vent_area() -> None:
    """DRN-04 (worked sheet to API Std 2000, ``A = Q / (K sqrt(2 g H))``, K 0.62): the hole that a flow asks for."""
    flow, head = 20 * L_MIN, 224.9 / (AIR_20 * G_STANDARD)
    area = flow / (0.62 * sqrt(2 * G_STANDARD * head))
    bore = sqrt(4 * area / pi)
    hole = Link("hole", resistances=[("hole", resistance_of_orifice(bore, 0.62))])
    assert flow_under(head, hole) == pytest.approx(flow, rel=1e-9)
    ours = hole_bore(flow, 224.9, AIR_20)
    assert ours**2 / bore**2 == pytest.approx(0.62 / ORIFICE, rel=1e-9)
    assert ours >= bore, "with the smaller coefficient the hole comes out larger, which is the safe side"


def test_drn_10_sharp_edge() -> None:
    """DRN-10 (Kirchhoff; trap): pi / (pi + 2) narrows the jet of a slot; a round sharp edge passes 0.60 to 0.62."""
    assert pytest.approx(0.61102, abs=5e-6) == pi / (pi + 2)
    assert round(pi / (pi + 2), 2) == ORIFICE
    assert 0.60 <= ORIFICE <= 0.62
    # A round plate in a wide pipe, ISO 5167: what the coefficient tends to.
    plate = fluids.C_Reader_Harris_Gallagher(D=0.5, Do=0.05, rho=998.2, mu=1.0e-3, m=5.0, taps="flange")
    assert plate == pytest.approx(ORIFICE, abs=0.015)


def test_drn_11_siphon() -> None:
    """DRN-11 (Bernoulli, Colebrook): a hose over the rim runs as fast as one through the wall, for hours."""
    rig, _ = tank("300 mm")
    flows = flows_at(
        rig, Moment(open=frozenset({"cock"}), depths={"butt": 0.5}, pressures={"shore": 0.0}, temperature=293.15)
    )
    flow, bore = flows.through("down"), 0.0125
    assert from_si(flow, "L/min") == pytest.approx(7.950, rel=5e-3)
    v = 4 * flow / (pi * bore**2)
    assert v == pytest.approx(1.07968, rel=5e-3)
    factor = ((0.5 - 1.5 * v**2 / (2 * G_STANDARD)) / (v**2 / (2 * G_STANDARD))) * bore / 3.0
    assert factor == pytest.approx(0.028803, rel=5e-3)
    # Its crest, 0.4 m above the water, stands under suction: air finds every loose joint there.
    crest = flows.plumbing.nodes["point", "crest"]
    lost = (0.5 + factor * 1.0 / bore) * v**2 / (2 * G_STANDARD)
    suction = flows.plumbing.pressure_at(crest, flows.head[crest])
    assert suction == pytest.approx(-(0.4 + lost) * water_at(20).density * G_STANDARD, rel=5e-3)


def test_drn_12_crest_of_a_siphon() -> None:
    """DRN-12 (IAPWS vapour pressure): no siphon lifts water over 10.1 m, however long one sucks."""
    vapour, density = water.vapour_pressure(293.15), water.density(293.15)
    assert vapour == pytest.approx(2339.3, rel=1e-3)
    assert npsh_available(101325.0, vapour, density, lift=0.0, loss=0.0) == pytest.approx(10.112, rel=1e-3)


@pytest.mark.parametrize(("millimetres", "pressure"), [(6, 224.9), (10, 29.1), (12.5, 11.9)])
def test_drn_13_hole_while_filling(millimetres: float, pressure: float) -> None:
    """DRN-13 (orifice equation): 20 L/min of air through a small hole in the lid."""
    flow, bore = 20 * L_MIN, millimetres / 1e3
    assert hole_pressure(flow, bore, AIR_20) == pytest.approx(pressure, rel=0.01)
    assert hole_bore(flow, hole_pressure(flow, bore, AIR_20), AIR_20) == pytest.approx(bore, rel=1e-9)
    air = water.air_density(293.15)
    assert air == pytest.approx(AIR_20, rel=1e-3)
    hole = Link("hole", resistances=[("hole", resistance_of_orifice(bore) * air / water.density(293.15))])
    fall = pressure / (water.density(293.15) * G_STANDARD)
    assert flow_under(fall, hole) == pytest.approx(flow, rel=5e-3)


@pytest.mark.parametrize(("length", "share"), [("1 mm", 1.0), ("11.9 mm", 1.0), ("12.1 mm", 0.558), ("60 mm", 0.558)])
def test_drn_13_hole_in_the_lid_of_a_rig(length: str, share: float) -> None:
    """DRN-13 in the network: a hole taken for a pipe's mouth would show 56 % of what the lid bears, and pass.

    ``1.5 * 0.61^2 = 0.558``, plus friction, which is small in a short tube.
    """
    rig, _ = tank("6 mm", length=length)
    flows = flows_at(rig, Moment(pressures={"shore": 4e3}, temperature=293.15))
    inflow = flows.into("butt")
    assert 10 * L_MIN < inflow == pytest.approx(breath(flows), rel=1e-6)
    hole = hole_pressure(inflow, 0.006, flows.plumbing.fluid.air_density)
    assert hole == pytest.approx(224.9 * (inflow / (20 * L_MIN)) ** 2, rel=2e-3)
    speed = inflow / (0.25 * pi * 0.006**2)
    metres = float(length.split()[0]) / 1e3
    at = speed * 0.006 / flows.plumbing.fluid.air_viscosity
    rubbed = fluids.friction_factor(at, 1.5e-6 / 0.006) * metres / 0.006 * 0.5 * AIR_20 * speed**2
    assert flows.over_pressure("butt") == pytest.approx(share * hole + rubbed, rel=5e-3)


@pytest.mark.parametrize(("most", "code"), [("0.02 bar", None), ("0.03 bar", "M605"), ("0.20 bar", "M604")])
def test_drn_14_flat_walls_from_memory(most: str, code: str | None) -> None:
    """DRN-14 (from memory; common practice, no source): flat plastic walls bend at 1 kPa and give way by 5 kPa."""
    assert (VENT_LOOK, VENT_STOP) == (1e3, 5e3)
    rig, places = tank("3 mm", most)
    told = {finding.code for finding in check(view_of(rig, places)[0]) if finding.code in ("M604", "M605")}
    assert told == ({code} if code else set())
