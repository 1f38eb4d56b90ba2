"""Tanks that drain and equalise, against Torricelli's closed forms (DRN rows of CHECKS).

The hole is a restrictor: an orifice of area a and discharge coefficient Cd passes
``Cd a sqrt(2 dp / rho)``, so its Kv at 1 bar is ``Cd a sqrt(200)`` with water of 1000 kg/m3 (IEC 60534-1).
"""

from __future__ import annotations

from itertools import pairwise
from math import pi, sqrt
from typing import Any

import pytest

from ullage.plant import layout as at
from ullage.plant.codes import AT_MARK, CHANGED, END, ERROR
from ullage.plant.events import settle
from ullage.plant.flow import commit, is_still, plan
from ullage.plant.works import works_of
from ullage.plant.world import World, world_of
from ullage.quantities import G_STANDARD
from ullage.rig.model import Rig


def kv(bore: float, discharge: float) -> str:
    """Kv of a sharp hole of a bore [m], as the rig file writes it."""
    return f"{discharge * 0.25 * pi * bore * bore * sqrt(200.0)!r} m3/s"


def tank(shape: dict[str, Any]) -> dict[str, Any]:
    """A full tank with a hole in its floor and a vent so wide that it does not count."""
    return {
        "holds": "potable",
        "shape": shape,
        "floor_at": {"x": "0 m", "y": "0 m", "z": "1 m"},
        "openings": {"low": {"at": "0 m"}},
        "vent": {"bore": "400 mm", "length": "0.01 m"},
        "starts_with": "100 %",
    }


def drained(shape: dict[str, Any], bore: float, discharge: float) -> World:
    """A full tank above a hole into the open, as plain lists."""
    rig = Rig.model_validate(
        {
            "rig": "hole",
            "tanks": {"vat": tank(shape)},
            "ports": {"out": {"kind": "discharge", "at": {"z": "1 m"}}},
            "restrictors": {"hole": {"kv": kv(bore, discharge)}},
            "lines": [{"from": "vat.low", "through": ["hole"], "to": "out"}],
        }
    )
    return world_of(works_of(rig, ()))


def run_out(world: World, error: float, until: float = 1e9) -> list[tuple[float, float]]:
    """Times [s] and volumes [m3] of the first tank at the end of each step, until nothing moves any more."""
    pipes, n, r, records = world
    r[n[at.WHOLE] + ERROR] = error
    settle(pipes, n, r, records)
    course = [(0.0, r[n[at.VOLUME]])]
    while not is_still(n, r) and r[n[at.TIME]] < until:
        plan(pipes, n, r, until)
        emptied = n[n[at.EVENT]] == AT_MARK and r[n[at.VOLUME_END]] == 0.0
        commit(n, r)
        course.append((r[n[at.TIME] + END], r[n[at.VOLUME]]))
        if emptied:
            break
    assert r[n[at.TIME] + CHANGED] == 0.0
    return course


def time_to(course: list[tuple[float, float]], part: float) -> float:
    """When a part of the first volume is left [s]: Torricelli's parabola between the two steps around it."""
    goal = part * course[0][1]
    for (t0, v0), (t1, v1) in pairwise(course):
        if v1 <= goal:
            return t0 + (t1 - t0) * (sqrt(v0) - sqrt(goal)) / (sqrt(v0) - sqrt(v1))
    raise AssertionError("it never came so far")


def whole_time(course: list[tuple[float, float]]) -> float:
    """Time to empty a prismatic tank [s], from the time to the last ten-thousandth of its volume.

    The last drops tell nothing: a volume known to 1e-10 m3 leaves their time uncertain by its root. That the
    tank does run empty in about this time is asked for here.
    """
    time = time_to(course, 1e-4) / (1.0 - 1e-2)
    assert course[-1][0] == pytest.approx(time, rel=1e-3)
    return time


def test_cylinder() -> None:
    """DRN-01 (Wolfram Demonstrations, Torricelli's law): 39909.43 s at g 9.81; ours is 9.80665.

    A tank that empties at the wrong rate makes every waste stop the wrong length.
    """
    course = run_out(drained({"upright": {"diameter": "5 m", "height": "2 m"}}, 0.02, 1.0), 1e-8)
    assert whole_time(course) * sqrt(G_STANDARD / 9.81) == pytest.approx(39909.43, rel=1e-6)


def test_root_law() -> None:
    """DRN-02 (Penney and Edwards): 9 ft to 4 ft in one hour empties in three: heads fall as squares of time left."""
    course = run_out(drained({"upright": {"diameter": "1 m", "height": "2.7432 m"}}, 0.02, 0.61), 1e-10)
    assert whole_time(course) == pytest.approx(3.0 * time_to(course, 4.0 / 9.0), rel=1e-6)


def test_box() -> None:
    """DRN-05 (closed form): 0.8 x 0.4 m, 0.35 m deep, 20 mm hole, Cd 0.62: 438.932 s."""
    shape = {"box": {"length": "0.8 m", "width": "0.4 m", "height": "0.35 m"}}
    assert whole_time(run_out(drained(shape, 0.02, 0.62), 1e-11)) == pytest.approx(438.932, rel=1.5e-6)


def test_lying_cylinder() -> None:
    """DRN-06 (closed form, computed with scipy): 0.5 m wide, 1 m long, 20 mm hole, Cd 0.61: 555.442 s."""
    shape = {"lying": {"diameter": "0.5 m", "length": "1.0 m"}}
    assert run_out(drained(shape, 0.02, 0.61), 1e-10)[-1][0] == pytest.approx(555.442, rel=2e-6)


def test_cone_by_its_strapping_table() -> None:
    """DRN-07 (closed form): a cone on its apex, 0.25 m and 0.5 m, 20 mm hole, Cd 0.61: 65.4365 s.

    The table has straight pieces; 200 of them lie above the cube of depth by so little that the time is
    good to 1e-4, not to the row's 1e-6.
    """
    depths = [0.5 * i / 199 for i in range(200)]
    rows = [[f"{depth!r} m", f"{pi * 0.25 * depth**3 / 3.0!r} m3"] for depth in depths]
    course = run_out(drained({"strapping": {"table": rows}}, 0.02, 0.61), 1e-10)
    assert course[-1][0] == pytest.approx(65.4365, rel=1e-4)


def test_half_depth() -> None:
    """DRN-08 (closed form): any prismatic tank is at half depth after 0.292893 of its time."""
    shape = {"box": {"length": "1 m", "width": "0.5 m", "height": "0.29 m", "corner": "50 mm"}}
    course = run_out(drained(shape, 0.025, 0.61), 1e-10)
    assert time_to(course, 0.5) / whole_time(course) == pytest.approx(1.0 - 1.0 / sqrt(2.0), rel=2e-6)


def test_two_tanks_equalise() -> None:
    """DRN-09 (closed form): 0.30 m2 at 0.40 m and 0.20 m2 at 0.10 m, 20 mm hole, Cd 0.61: 0.280 m in 154.888 s."""
    wide = tank({"box": {"length": "0.6 m", "width": "0.5 m", "height": "0.4 m"}})
    small = tank({"box": {"length": "0.5 m", "width": "0.4 m", "height": "0.4 m"}}) | {"starts_with": "25 %"}
    rig = Rig.model_validate(
        {
            "rig": "two",
            "tanks": {"wide": wide, "small": small},
            "restrictors": {"hole": {"kv": kv(0.02, 0.61)}},
            "lines": [{"from": "wide.low", "through": ["hole"], "to": "small.low"}],
        }
    )
    world = world_of(works_of(rig, ()))
    course = run_out(world, 1e-10, 400.0)
    assert course[-1][1] / 0.30 == pytest.approx(0.280, abs=1e-6)
    near = [t for t, volume in course if volume / 0.30 - 0.280 < 1e-9]
    assert near[0] == pytest.approx(154.888, rel=1e-4)
    ahead = next((t, v) for t, v in course if v / 0.30 - 0.280 < 0.03)
    left = 154.888 * sqrt((ahead[1] / 0.30 - 0.280) / 0.12)
    assert ahead[0] + left == pytest.approx(154.888, rel=2e-6)
