"""The plant's own integrator beside scipy's: the same hydraulic solver, another right-hand side and another method.

The plant takes steps of Bogacki and Shampine's pair with a local error of 1 mL, tables of cells for its
surfaces and a cubic between its steps. Beside it `scipy.integrate.solve_ivp` (DOP853, relative error 1e-9)
integrates volumes whose surfaces come from the shapes themselves and whose ledger is written here anew.
"""

from __future__ import annotations

from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from ullage.hydraulics.build import build
from ullage.hydraulics.network import condition_of, work_of
from ullage.hydraulics.solve import solve
from ullage.plant import layout as at
from ullage.plant.codes import CHANGED, ERROR
from ullage.plant.events import advance
from ullage.plant.flow import volume_at
from ullage.plant.works import works_of
from ullage.plant.world import World, world_of
from ullage.quantities import G_STANDARD
from ullage.rig import shapes
from ullage.rig.model import Rig
from ullage.rig.read import read_rig

MARRAM = Path(__file__).parents[2] / "examples" / "rigs" / "marram.yaml"

STEP_ERROR = 1e-6
"""Local error that the plant lets pass [m3]: a millilitre."""

AGREE = 5e-6
"""How near the two must be [m3]: what five steps may err if all err the same way. It is 5 mL in 140 L, where the
resolution of a level sender, 0.5 %, hides 700 mL."""


def marram(starts: dict[str, float]) -> Rig:
    """Marram, its tanks filled as asked for (parts of what they hold up to their overflow)."""
    rig, findings, _ = read_rig(MARRAM.read_bytes(), MARRAM.name)
    assert rig is not None, findings
    tanks = {name: tank.model_copy(update={"starts_with": starts[name]}) for name, tank in rig.tanks.items()}
    return rig.model_copy(update={"tanks": tanks})


def plant(rig: Rig, opened: tuple[str, ...], pumping: bool, pressure: float) -> World:
    """The plant with some valves open, the pump on or off, and a hose under pressure [Pa]."""
    works = works_of(rig, (*rig.valves, *rig.pumps))
    world = world_of(works)
    n, r = world.n, world.r
    for valve in opened:
        r[n[at.OPENING] + list(rig.valves).index(valve)] = 1.0
        n[n[at.VALVE_RELAY] + list(rig.valves).index(valve)] = 1
    n[n[at.PUMP_RELAY]] = int(pumping)
    n[n[at.CONNECTED] + list(rig.ports).index("shore")] = 1
    r[n[at.PRESSURE] + list(rig.ports).index("shore")] = works.plumbing.head_of(pressure)
    return world


class Beside:
    """The rates of all tanks from the rig alone, with the hydraulic solver and nothing else of the plant.

    Parameters
    ----------
    rig, opened, pumping, pressure
        As of `plant`.
    voltage : float
        At the pump, over its full one.
    """

    def __init__(self, rig: Rig, opened: tuple[str, ...], pumping: bool, pressure: float, voltage: float) -> None:
        self.rig, self.laid = rig, build(rig)
        self.condition, self.work = condition_of(self.laid.network), work_of(self.laid.network)
        for valve in opened:
            self.condition.opening[self.laid.throttles[valve]] = 1.0
        for cushion in rig.accumulators:
            self.condition.opening[self.laid.throttles[cushion]] = 1.0
            # An empty cushion takes no water below its precharge.
            self.condition.way[self.laid.link_of["neck", cushion]] = 1
        self.condition.speed[0] = voltage if pumping else 0.0
        self.head, self.flow = list(self.laid.rest), [0.0] * len(self.laid.network.start)
        port = self.laid.nodes["port", "shore"]
        self.head[port] = self.laid.network.elevation[port] + self.laid.head_of(pressure)
        air = {self.laid.link_of[kind] for kind in self.laid.link_of if kind[0] == "vent"}
        self.water = [link for link in range(len(self.flow)) if link not in air]

    def __call__(self, time: float, volumes: Any) -> list[float]:
        """Rates [m3/s] at some volumes [m3]."""
        gas = []
        for (name, tank), volume in zip(self.rig.tanks.items(), volumes, strict=True):
            face = self.laid.nodes["face", name]
            self.head[face] = tank.floor_at.z + shapes.depth(tank.shape, float(volume))
            gas.append(self.laid.nodes["gas", name])
        assert solve(self.laid.network, self.condition, self.head, self.flow, self.work) > 0
        network, rates = self.laid.network, [0.0] * len(gas)
        for link in self.water:
            for row, node in enumerate(gas):
                rates[row] += self.flow[link] * ((network.end[link] == node) - (network.start[link] == node))
        return rates


CASES = {
    "fill": (("shore_guard", "shore_in"), False, 600.0),
    "fill, drop and dump at once": (("shore_guard", "shore_in", "loft_return", "gray_dump"), False, 240.0),
    "lift": (("lift",), True, 90.0),
}


@pytest.mark.parametrize("case", CASES)
def test_volumes_over_time(case: str) -> None:
    """An integrator that gains or loses a little at each step stops a fill at the wrong litre."""
    opened, pumping, end = CASES[case]
    rig = marram({"belly": 0.25, "loft": 0.2 if pumping else 0.9, "gray": 0.9})
    pipes, n, r, records = plant(rig, opened, pumping, 2e5)
    advance(pipes, n, r, records, 0.0, 0.0)
    assert r[n[at.TIME] + CHANGED] == 0.0
    voltage = r[n[at.SUPPLY]] / rig.power.voltage
    times = np.linspace(0.0, end, 61)
    ours = []
    for time in times:
        advance(pipes, n, r, records, float(time), end)
        ours.append([volume_at(n, r, tank, float(time)) for tank in range(len(rig.tanks))])
    start = [tank.starts_with * shapes.capacity(tank) for tank in rig.tanks.values()]
    beside = Beside(rig, opened, pumping, 2e5, voltage)
    theirs = solve_ivp(beside, (0.0, end), start, "DOP853", t_eval=times, rtol=1e-9, atol=1e-9)
    assert theirs.success
    apart = np.abs(np.array(ours) - theirs.y.T)
    moved = np.abs(theirs.y[:, -1] - theirs.y[:, 0])
    print(f"{case}: moved {1e3 * moved} L, apart at most {1e6 * apart.max(axis=0)} mL")
    assert moved.max() > 5e-3, "something is to be compared"
    assert apart.max() < AGREE


@pytest.mark.parametrize(("step_error", "agree"), [(STEP_ERROR, 20e-6), (1e-8, 1e-6)])
def test_a_tank_drains_as_torricelli_says(step_error: float, agree: float) -> None:
    """A box over a hole of Kv 2 m3/h: the root of its depth falls on a straight line until it is empty (DRN-05 ff.).

    ``sqrt h = sqrt h0 - Kv sqrt(1000 g / 1 bar) t / (2 A)`` (a Kv is for 1000 kg/m3, and the density of the
    flowing water drops out); with 0.3 m and 1 m2: 6297 s. Some twenty steps of a millilitre add up to 17 mL of
    the 300 L, all to one side; a hundredth of that error is what a hundredth of the step's error gives.
    """
    area, depth, kv = 1.0, 0.3, 2.0 / 3600.0
    rig = Rig.model_validate(
        {
            "rig": "drain",
            "tanks": {
                "tank": {
                    "holds": "waste",
                    "shape": {"box": {"length": "1 m", "width": "1 m", "height": "0.3 m"}},
                    "floor_at": {"z": "1 m"},
                    "openings": {"low": {"at": "0 m"}},
                    "vent": {"bore": "400 mm", "length": "0.01 m"},
                    "starts_with": "100 %",
                }
            },
            "ports": {"out": {"kind": "discharge", "at": {"z": "1 m"}}},
            "restrictors": {"hole": {"kv": "2 m3/h"}},
            "lines": [{"from": "tank.low", "through": ["hole"], "to": "out"}],
        }
    )
    pipes, n, r, records = world_of(works_of(rig, ()))
    r[n[at.WHOLE] + ERROR] = step_error
    pace = kv * sqrt(1000.0 * G_STANDARD / 1e5) / (2.0 * area)
    empty = sqrt(depth) / pace
    assert empty == pytest.approx(6297.0, abs=1.0)
    worst = 0.0
    for time in np.linspace(0.0, 1.1 * empty, 45):
        advance(pipes, n, r, records, float(time), 2.0 * empty)
        wanted = area * max(sqrt(depth) - pace * float(time), 0.0) ** 2
        worst = max(worst, abs(volume_at(n, r, 0, float(time)) - wanted))
    print(f"at most {1e6 * worst:.1f} mL apart")
    assert worst < agree
