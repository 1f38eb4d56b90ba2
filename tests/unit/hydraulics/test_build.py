"""A rig's parts become the right links: each figure by hand (velocity head, Kv, Darcy-Weisbach, Boyle's precharge)."""

from __future__ import annotations

from math import acos, pi, radians, sin, sqrt

import pytest

from ullage.hydraulics.build import build, pump_curve, resistance_of_vent, tilted
from ullage.hydraulics.fittings import EQUAL_PERCENTAGE, LINEAR, rim_capacity
from ullage.hydraulics.network import BACKWARD, FORWARD, NEVER_WET, condition_of, work_of
from ullage.hydraulics.plumbing import Link, Plumbing, fluid_at
from ullage.hydraulics.solve import mark_known, solve
from ullage.quantities import G_STANDARD, from_si, to_si
from ullage.rig.model import Pump, Rig, Slope
from ullage.rig.read import read_rig
from ullage.sizing.flows import Moment, flows_at

TEXT = """
rig: Works
tanks:
  low:
    holds: potable
    shape: {lying: {diameter: 400 mm, length: 1 m}}
    floor_at: {x: 2 m, y: 0.5 m, z: 0.5 m}
    openings: {top: {at: 390 mm, x: 0.3 m}, out: {at: 10 mm}}
    vent: {bore: 20 mm, length: 1 m}
    overflow: {bore: 40 mm, at: 350 mm}
    starts_with: 25 %
ports:
  shore: {kind: supply, at: {x: 3 m, z: 0.9 m}, pressure: 1 bar .. 3 bar, usual: 1.5 bar}
  outfall: {kind: discharge, at: {x: 0 m, z: 0.3 m}}
points:
  manifold: {at: {x: 1 m, z: 1.2 m}}
pipes:
  hose: {bore: 12.5 mm, length: 10 m, fittings: 2}
  suction: {bore: 13 mm, length: 1 m}
  cold: {bore: 10 mm, length: 1 m}
  hot: {bore: 10 mm, length: 2 m}
  drain: {bore: 25 mm, length: 1 m}
restrictors: {choke: {kv: 0.36 m3/h}}
checks: {flap: {kv: 2 m3/h}}
valves:
  inlet: {kind: ball, kv: 6 m3/h}
  dump: {kind: gate, kv: 20 m3/h}
pumps:
  pump:
    curve: [{flow: 0 L/min, pressure: 3 bar}, {flow: 5 L/min, pressure: 2 bar}, {flow: 9 L/min, pressure: 0 bar}]
    relief: 2 bar
accumulators: {cushion: {at: manifold, volume: 1 L, precharge: 1.2 bar}}
heaters: {boiler: {volume: 10 L, bore: 13 mm}}
meters: {meter: {error: 3 %, every: 1 s, kv: 3 m3/h}}
fixtures:
  mixer: {flow: 6 L/min, at_pressure: 1 bar, at: {z: 1.6 m}}
  tap: {flow: 4 L/min, at_pressure: 0.5 bar, at: {z: 1.5 m}}
lines:
  - {from: shore, through: [hose, flap, choke, inlet, meter], to: low.top}
  - {from: low.out, through: [suction, pump], to: manifold}
  - {from: manifold, through: [cold], to: mixer}
  - {from: manifold, through: [boiler, hot], to: mixer}
  - {from: manifold, to: tap}
  - {from: low.out, through: [dump, drain], to: outfall}
"""
M3_H, L_MIN = to_si(1.0, "m3/h", "flow"), to_si(1.0, "L/min", "flow")
COLD = fluid_at(288.15)
PASCALS = COLD.density * G_STANDARD


def rig() -> Rig:
    """The works."""
    made, findings, _ = read_rig(TEXT, "works.yaml")
    assert made is not None, findings
    return made


@pytest.fixture
def laid() -> Plumbing:
    """The works on level ground."""
    return build(rig())


def line(laid: Plumbing, name: str) -> Link:
    """A line by its ends."""
    return laid.links[laid.link_of["line", name]]


def velocity_heads(k: float, bore: float) -> float:
    """Resistance [s2/m5] of K velocity heads: ``K / (2 g A^2)``."""
    return k / (2 * 9.80665 * (pi * bore**2 / 4) ** 2)


def kv_loss(kv: float) -> float:
    """Resistance [s2/m5] of a Kv [m3/h]: 1 bar of water of 1000 kg/m3 at that flow."""
    return 1e5 / (1000 * 9.80665) / (kv / 3600) ** 2


def test_lines_come_in_the_order_of_the_file(laid: Plumbing) -> None:
    """Whoever reads flow i for line i would otherwise read another line's."""
    assert [link.name for link in laid.links[:6]] == [
        "shore to low.top", "low.out to manifold", "manifold to mixer", "manifold to mixer", "manifold to tap",
        "low.out to outfall",
    ]  # fmt: skip
    kinds = [kind for kind, _ in laid.link_of]
    assert kinds.count("line") == 5, "two lines of one name share an entry"
    assert [kind for kind in kinds if kind != "line"] == ["tap", "vent", "spill", "overflow", "neck"]
    assert len(laid.links) == 6 + 5


def test_a_line_of_pipe_check_restrictor_valve_and_meter(laid: Plumbing) -> None:
    """A part that is left out of its line costs nothing on paper, and the tank fills too fast to stop in time."""
    link = line(laid, "shore to low.top")
    assert dict(link.resistances) == pytest.approx(
        {
            "low.top": velocity_heads(1.0, 0.0125),
            "hose": velocity_heads(2.0, 0.0125),
            "flap": kv_loss(2.0),
            "choke": kv_loss(0.36),
            "meter": kv_loss(3.0),
        }
    )
    assert link.way == FORWARD
    ((part, kind, loss),) = link.throttles
    assert (part, kind) == ("inlet", EQUAL_PERCENTAGE)
    assert loss == pytest.approx(kv_loss(6.0))
    ((pipe, ratio, scale, head),) = link.sections
    assert pipe == "hose"
    assert ratio == pytest.approx(1.5e-6 / 0.0125)
    at_2000 = 2000 * COLD.viscosity / 0.0125
    assert scale == pytest.approx(1.0 / (at_2000 * pi * 0.0125**2 / 4)), "Re 2000 is x = 1"
    assert head == pytest.approx(10 / 0.0125 * at_2000**2 / (2 * 9.80665))


def test_ends_in_a_tank(laid: Plumbing) -> None:
    """An opening at the wrong height runs dry, or drowns, at the wrong level."""
    filling, drawing = line(laid, "shore to low.top"), line(laid, "low.out to manifold")
    gas, face = laid.nodes["gas", "low"], laid.nodes["face", "low"]
    assert (filling.end, filling.end_face, filling.start_face) == (gas, face, NEVER_WET)
    assert filling.end_sill == pytest.approx(0.5 + 0.39)
    assert filling.end_mouth == pytest.approx(0.0125)
    assert (drawing.start, drawing.start_face, drawing.start_sill) == (gas, face, pytest.approx(0.51))
    assert drawing.start_mouth == pytest.approx(0.013)
    assert dict(drawing.resistances)["low.out"] == pytest.approx(velocity_heads(0.5, 0.013))
    draining = line(laid, "low.out to outfall")
    outfall = laid.nodes["port", "outfall"]
    assert (draining.end, draining.end_face, draining.end_sill) == (outfall, outfall, 0.3)
    assert dict(draining.resistances)["outfall"] == pytest.approx(velocity_heads(1.0, 0.025))
    assert draining.end_mouth == 0.0, "a mouth in the open is never part covered"
    assert [kind for _, kind, _ in draining.throttles] == [LINEAR], "a gate is no ball valve"


def test_given_heads(laid: Plumbing) -> None:
    """A supply at the wrong height pushes with the wrong pressure from the first second."""
    rest = {key: laid.rest[node] for key, node in laid.nodes.items()}
    assert rest["port", "shore"] == pytest.approx(0.9 + 1.5e5 / PASCALS)
    assert rest["port", "outfall"] == 0.3
    assert rest["fixture", "tap"] == 1.5
    assert rest["accumulator", "cushion"] == pytest.approx(1.2 + 1.2e5 / PASCALS)
    assert rest["rim", "low"] == pytest.approx(0.5 + 0.35)
    assert rest["brim", "low"] == pytest.approx(0.5 + 0.40)
    free = [key for key, node in laid.nodes.items() if node < laid.network.free]
    assert sorted(free) == [("gas", "low"), ("mixer", "mixer"), ("point", "manifold")]


def test_a_tank_starts_at_a_part_of_its_content_not_of_its_depth(laid: Plumbing) -> None:
    """A round tank a quarter full is a third deep: reckoned by depth, the check looks at too little water.

    100 % is what it holds up to its overflow, as in the law and the simulation; circular segments.
    """

    def filled(deep: float) -> float:
        """Part of a lying cylinder of 400 mm that is under water."""
        cosine = 1.0 - deep / 0.2
        return (acos(cosine) - cosine * sqrt(1.0 - cosine**2)) / pi

    level = laid.rest[laid.nodes["face", "low"]]
    assert filled(level - 0.5) == pytest.approx(0.25 * filled(0.35), rel=1e-9)
    assert level - 0.5 > 0.28 * 0.4


def test_vent_spill_and_overflow(laid: Plumbing) -> None:
    """Air is 800 times lighter than the water whose metres are counted; without that a vent is a plug."""
    vent, spill, rim = (laid.links[laid.link_of[kind, "low"]] for kind in ("vent", "spill", "overflow"))
    light = 1.2250 / 999.10
    assert vent.breath == 1
    assert vent.resistances[0][1] == pytest.approx(light * velocity_heads(1.5, 0.020), rel=1e-4)
    assert spill.resistances[0][1] == pytest.approx(velocity_heads(1.5, 0.020))
    assert vent.sections[0][3] / spill.sections[0][3] == pytest.approx(
        light * (COLD.air_viscosity / COLD.viscosity) ** 2, rel=1e-4
    )
    assert (spill.way, rim.way) == (FORWARD, FORWARD)
    assert (vent.start_sill, spill.start_sill, rim.start_sill) == pytest.approx((0.9, 0.9, 0.85))
    assert rim.weir * 0.01**1.5 == pytest.approx(rim_capacity(0.040, 0.01)), "Poleni, 10 mm over the rim"
    assert rim.resistances[0][1] == pytest.approx(velocity_heads(1 / 0.61**2, 0.040))


@pytest.mark.parametrize(("length", "k"), [(0.0, 1 / 0.61**2), (0.039, 1 / 0.61**2), (0.041, 1.5), (1.0, 1.5)])
def test_a_short_vent_is_a_hole(length: float, k: float) -> None:
    """Rows DRN-10, DRN-13: 2.69 velocity heads, not 1.5, hold back the air of a hole in a lid."""
    assert resistance_of_vent(0.020, length) == pytest.approx(velocity_heads(k, 0.020))


def test_a_pump_and_its_relief(laid: Plumbing) -> None:
    """A bypass that opens exactly at a point of the curve must not make that point twice: a curve with a step."""
    link = line(laid, "low.out to manifold")
    assert (link.pump, link.way) == ("pump", FORWARD)
    network = laid.network
    points = [
        (from_si(q, "L/min"), h * PASCALS / 1e5) for q, h in zip(network.pump_flow, network.pump_head, strict=True)
    ]
    assert points == [pytest.approx(p) for p in ((0, 2), (5, 2), (9, 0))]


@pytest.mark.parametrize(
    ("relief", "expected"),
    [
        (4.0, ((0, 3), (5, 2), (9, 0))),
        (3.0, ((0, 3), (5, 2), (9, 0))),
        (2.5, ((0, 2.5), (2.5, 2.5), (5, 2), (9, 0))),
        (2.0, ((0, 2), (5, 2), (9, 0))),
        (1.0, ((0, 1), (7, 1), (9, 0))),
    ],
)
def test_relief_cuts_the_curve(relief: float, expected: tuple[tuple[float, float], ...]) -> None:
    """A relief valve that is forgotten lets the check pass pipes that the pump would burst."""
    curve = [{"flow": f"{q} L/min", "pressure": f"{p} bar"} for q, p in ((0, 3), (5, 2), (9, 0))]
    pump = Pump.model_validate({"curve": curve, "relief": f"{relief} bar"})
    found = [(from_si(q, "L/min"), h * PASCALS / 1e5) for q, h in pump_curve(pump, COLD.density)]
    assert found == [pytest.approx(point) for point in expected]


def test_a_tap_and_an_accumulator(laid: Plumbing) -> None:
    """A tap passes what is declared at the pressure that is declared, and nothing backwards into the pipes."""
    tap = line(laid, "manifold to tap")
    assert tap.way == FORWARD
    assert tap.throttles == [("tap", LINEAR, pytest.approx(0.5e5 / PASCALS / (4 * L_MIN) ** 2))]
    neck = laid.links[laid.link_of["neck", "cushion"]]
    assert neck.throttles[0][2] == pytest.approx(velocity_heads(1.5, 0.0127))
    assert neck.way == FORWARD | BACKWARD


def test_a_heater_costs_its_ports(laid: Plumbing) -> None:
    """Water that enters a vessel and leaves it again loses a velocity head and a half."""
    second = laid.links[3]
    assert dict(second.resistances)["boiler"] == pytest.approx(velocity_heads(1.5, 0.013))


def test_two_lines_that_end_at_one_tap_mix(laid: Plumbing) -> None:
    """A mixer whose lines each had the tap's opening left one of them shut for good, or gave twice the water."""
    assert [part for link in laid.links for part, _, _ in link.throttles].count("mixer") == 1
    tap = laid.links[laid.part_link["mixer"]]
    assert (tap.start, tap.end) == (laid.nodes["mixer", "mixer"], laid.nodes["fixture", "mixer"])
    flows = flows_at(rig(), Moment(open=frozenset({"mixer"}), running=frozenset({"pump"})))
    cold, hot = flows.flow[2], flows.flow[3]
    assert cold > hot > 0.3 * cold
    assert flows.through("mixer") == pytest.approx(cold + hot, rel=1e-6)
    head = flows.head[laid.nodes["mixer", "mixer"]] - 1.6
    assert flows.through("mixer") == pytest.approx(6 * L_MIN * (head * PASCALS / 1e5) ** 0.5, rel=1e-6)
    shut = flows_at(rig(), Moment(running=frozenset({"pump"})))
    assert shut.flow[2] == pytest.approx(-shut.flow[3], abs=1e-9)
    assert abs(shut.flow[2]) < 1e-8, "two lines of one point to one tap do not run in a ring"


def test_slope_moves_every_height() -> None:
    """On a slope the outlet at the low end drowns and the far one runs dry."""
    slope = Slope.model_construct(ahead=radians(3.0), across=0.0)
    level, laid = build(rig()), build(rig(), slope=slope)
    for key, x, z in ((("point", "manifold"), 1.0, 1.2), (("port", "shore"), 3.0, 0.9)):
        height = laid.network.elevation[laid.nodes[key]]
        assert height == pytest.approx(x * sin(radians(3.0)) + z * (1 - 0.5 * radians(3.0) ** 2), abs=1e-5)
    rise = laid.links[0].end_sill - level.links[0].end_sill
    assert rise == pytest.approx(2.3 * sin(radians(3.0)), abs=2e-3), "2 m for the tank and 0.3 m for the opening"
    assert tilted(Slope.model_construct(ahead=0.0, across=radians(90.0)), 0.0, 1.0, 5.0) == pytest.approx(1.0)


def test_an_isolated_point_has_no_head(laid: Plumbing) -> None:
    """Pressure read off a section that is shut off from everything is invented."""
    head, flow = list(laid.rest), [0.0] * len(laid.links)
    work, known = work_of(laid.network), [0] * len(head)
    condition = condition_of(laid.network)
    assert solve(laid.network, condition, head, flow, work) > 0
    assert mark_known(laid.network, flow, work, known) == 2
    assert not known[laid.nodes["point", "manifold"]]
    assert known[laid.nodes["gas", "low"]]
    condition.opening[laid.throttles["tap"]] = condition.speed[0] = 1.0
    assert solve(laid.network, condition, head, flow, work) > 0
    assert mark_known(laid.network, flow, work, known) == 0
