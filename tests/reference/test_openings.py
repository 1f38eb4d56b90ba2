"""Valves on their way, taps, check valves, accumulators: closed forms, fluids and scipy beside solver and plant."""

from __future__ import annotations

from itertools import pairwise
from math import sqrt

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from tests.reference.small_nets import Net, flow_under
from tests.reference.test_draining import run_out
from ullage.hydraulics.build import NECK_BORE, NECK_K
from ullage.hydraulics.fittings import (
    EQUAL_PERCENTAGE,
    LINEAR,
    passing,
    resistance_of_emitter,
    resistance_of_k,
    resistance_of_kv,
)
from ullage.hydraulics.network import FORWARD
from ullage.hydraulics.plumbing import Link, fluid_at
from ullage.plant import layout as at
from ullage.plant.works import works_of
from ullage.plant.world import world_of
from ullage.quantities import G_STANDARD, to_si
from ullage.rig.model import Rig

BAR = 1e5
M3_H, L_MIN = to_si(1.0, "m3/h", "flow"), to_si(1.0, "L/min", "flow")
COLD = fluid_at(288.15)
ATMOSPHERE = 101325.0


@pytest.mark.parametrize("opening", [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0])
def test_part_open_ball_valve(opening: float) -> None:
    """A valve half way that is reckoned as half open lets the last seconds of a fill pass four times too much.

    IEC 60534-2-4: equal steps of travel change the flow by equal parts, ``50^(x - 1)``, here brought down to zero
    at closed; the flow is ``Kv sqrt(dp)`` (IEC 60534-1). The library's curve, read off a printed one, lies above
    it by up to 0.20 of the full flow at four fifths of the travel. That small ball valves follow the law is common
    practice, no source; margins take a turning valve for open.
    """
    kv, fall = 6 * M3_H, 0.5 * BAR
    valve = Link("valve", start=0, end=1, throttles=[("valve", EQUAL_PERCENTAGE, resistance_of_kv(kv))])
    _, flow = Net([valve], [fall / (1000 * G_STANDARD), 0.0]).solve(opening=opening)
    share = flow[0] / (kv * sqrt(0.5))
    assert share == pytest.approx((50**opening - 1) / 49, rel=1e-9)
    assert share == pytest.approx(50 ** (opening - 1), abs=0.02)
    assert share == pytest.approx(fluids.control_valve.Cv_char_equal_percentage(opening), abs=0.21)
    assert share <= opening + 1e-12


@given(st.floats(0.0, 1.0), st.floats(0.0, 1.0))
def test_more_open_passes_more(one: float, other: float) -> None:
    """A valve that passed less while opening would make the level hang half way."""
    low, high = sorted((one, other))
    for kind in (LINEAR, EQUAL_PERCENTAGE):
        assert 0.0 <= passing(kind, low) <= passing(kind, high) <= 1.0


@pytest.mark.parametrize("bars", [0.05, 0.3, 1.0, 2.0, 4.0])
def test_tap_by_its_root_law(bars: float) -> None:
    """A tap rated 6 L/min at 1 bar gives half of that at a quarter of the pressure: ``q = c sqrt(p)``, an emitter."""
    tap = Link("tap", throttles=[("tap", LINEAR, resistance_of_emitter(6 * L_MIN, BAR, COLD.density))])
    flow = flow_under(bars * BAR / (COLD.density * G_STANDARD), tap)
    assert flow == pytest.approx(6 * L_MIN * sqrt(bars), rel=1e-9)


@pytest.mark.parametrize("fall", [-80.0, -5.0, -1e-3, 1e-3, 5.0, 80.0])
def test_check_valve(fall: float) -> None:
    """Waste that comes back through a check valve, or clean water that does not come through, both ruin the day."""
    check = Link("check", way=FORWARD, resistances=[("check", resistance_of_kv(2 * M3_H))])
    expected = 2 * M3_H * sqrt(fall * 1000 * G_STANDARD / BAR) if fall > 0 else 0.0
    assert flow_under(fall, check) == pytest.approx(expected, rel=1e-6, abs=1e-15)


def test_two_check_valves_against_each_other() -> None:
    """Between two sources of which one is stronger, only the stronger gives: its check valve holds the other's shut."""
    loss = resistance_of_kv(2 * M3_H)
    links = [
        Link("strong", start=1, end=0, way=FORWARD, resistances=[("", loss)]),
        Link("weak", start=2, end=0, way=FORWARD, resistances=[("", loss)]),
        Link("out", start=0, end=3, resistances=[("", loss)]),
    ]
    heads, flows = Net(links, [20.0, 5.0, 0.0], heights=(0.0,)).solve()
    assert flows == pytest.approx([sqrt(10.0 / loss), 0.0, sqrt(10.0 / loss)], rel=1e-6)
    assert heads[0] == pytest.approx(10.0)


HOLE = 0.2 * M3_H


@pytest.mark.parametrize(("litres", "precharge", "filled"), [(1.0, 1.2, 0.5), (8.0, 1.5, 0.6), (2.0, 0.0, 0.7)])
def test_accumulator_runs_out(litres: float, precharge: float, filled: float) -> None:
    """Boyle and Torricelli together: the seconds of water that an accumulator gives when the pump is off.

    ``t = integral dV / sqrt(h(V) / r)`` with ``h = (p0 + pa) V / (V - w) - pa``, by scipy, beside the plant.
    """
    volume = litres * 1e-3
    rig = Rig.model_validate(
        {
            "rig": "cushion",
            "points": {"tee": {}},
            "ports": {"out": {"kind": "discharge"}},
            "restrictors": {"hole": {"kv": f"{HOLE!r} m3/s"}},
            "accumulators": {"cushion": {"at": "tee", "volume": f"{litres} L", "precharge": f"{precharge} bar"}},
            "lines": [{"from": "tee", "through": ["hole"], "to": "out"}],
        }
    )
    world = world_of(works_of(rig, (), fluid=COLD))
    world.r[world.n[at.VOLUME]] = filled * volume
    course = run_out(world, 1e-10, 1e4)
    metre = COLD.density * G_STANDARD
    loss = resistance_of_kv(HOLE) + resistance_of_k(NECK_K, NECK_BORE)

    def slowness(held: float) -> float:
        """Seconds per m3 with this much water in."""
        head = ((precharge * BAR + ATMOSPHERE) * volume / (volume - held) - ATMOSPHERE) / metre
        return 1.0 / sqrt(head / loss)

    left = 1e-3 * volume
    (t0, v0), (t1, v1) = next((one, two) for one, two in pairwise(course) if two[1] <= left)
    time = t0 + (t1 - t0) * (v0 - left) / (v0 - v1)
    assert time == pytest.approx(quad(slowness, left, filled * volume)[0], rel=1e-3)
