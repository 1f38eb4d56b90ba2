"""Floats in series with a coil: when they let go, and that nothing above them can say otherwise.

What a tank holds at a height is its area times that height (closed form), and a float falls 5 mm
lower than it rises.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.shipped import marram
from tests.unit.plant.bench import Act, Bench, changed
from ullage.plant import layout as at
from ullage.plant.senders import depth_at
from ullage.plant.wiring import add_wiring
from ullage.plant.words import P_FLOAT, P_PUMP, P_VALVE
from ullage.plant.works import works_of
from ullage.plant.world import world_of
from ullage.rig.model import Slope
from ullage.rig.sensing import FLOAT_TRAVEL

AREA = 0.5
"""Of each tank below [m2]."""

LOW, HIGH = 0.10, 0.25
"""Heights of the floats in the two tanks [m]."""

PUMP_ON: Act = ("1 s", "pump", "pump", 1.0)
OPENS: Act = ("1 s", "drive", "valve", 1.0)


TILTED = Slope.model_validate({"ahead": "3 deg", "across": "2 deg"})


def rig() -> dict[str, Any]:
    """A pump that lifts from one tank into another, whence a valve lets it fall back."""
    tank = {
        "holds": "potable",
        "shape": {"box": {"length": "1 m", "width": "0.5 m", "height": "0.4 m"}},
        "openings": {"low": {"at": "5 mm"}, "top": {"at": "390 mm"}},
        "vent": {"bore": "30 mm", "length": "0.3 m"},
    }
    curve = [{"flow": "0 L/min", "pressure": "1 bar"}, {"flow": "30 L/min", "pressure": "0 bar"}]
    motor = {"stroke": "2 s .. 2 s", "without_power": "spring closed"}
    return {
        "tanks": {
            "below": {**tank, "floor_at": {"z": "0.5 m"}, "starts_with": "40 %"},
            "above": {**tank, "floor_at": {"z": "1.5 m"}, "starts_with": "60 %"},
        },
        "valves": {"valve": {"kind": "ball", "kv": "1 m3/h", "motor": motor}},
        "pumps": {"pump": {"curve": curve}},
        "pipes": {"riser": {"bore": "13 mm", "length": "2 m"}, "fall": {"bore": "13 mm", "length": "2 m"}},
        "floats": {"bottom": {"on": "below", "at": f"{LOW} m"}, "full": {"on": "below", "at": f"{HIGH} m"}},
        "lines": [
            {"from": "below.low", "through": ["pump", "riser"], "to": "above.top"},
            {"from": "above.low", "through": ["valve", "fall"], "to": "below.top"},
        ],
    }


def kept_from_dry() -> dict[str, Any]:
    """The pump runs only while there is water over the low float."""
    return changed(rig(), pumps={"pump": {"wired": {"float": "bottom", "while": "wet"}}})


def kept_from_full() -> dict[str, Any]:
    """The valve has its supply only while the high float is dry."""
    return changed(rig(), valves={"valve": {"wired": {"float": "full", "while": "dry"}}})


@pytest.mark.parametrize("faults", [[], ["pump welded"], ["pump running on"]])
def test_a_pump_stops_where_its_float_falls(faults: list[str]) -> None:
    """A float in the wire that a welded relay can pass by is no layer of its own."""
    bench = Bench(kept_from_dry(), [PUMP_ON], faults).play("30 min")
    assert bench.volume("below") == pytest.approx(AREA * (LOW - FLOAT_TRAVEL), abs=1e-9)
    ((fell, row, value, _),) = bench.records(P_FLOAT)
    assert (row, value) == (0, 0)
    assert [(t, on) for t, _, on, _ in bench.records(P_PUMP)][-1] == (fell, 0)
    assert bench.entry(at.DRIED) == 0.0


def test_it_runs_again_when_its_float_has_risen() -> None:
    """A pump that never comes back would leave the taps dry with a full tank; one that does at a drop would chatter."""
    bench = Bench(kept_from_dry(), [PUMP_ON], ["below jerrycan 20 L from 30 min"]).play("30 min")
    assert bench.entry(at.TURNING) == 0
    bench.play("33 min")
    moves = [(t, up) for t, _, up, _ in bench.records(P_FLOAT)]
    rises = [t for t, up in moves if up]
    assert rises[0] == pytest.approx(1_800_000 + 1000 * FLOAT_TRAVEL * AREA / (20e-3 / 60), abs=1)
    assert bench.volume("below") >= AREA * (LOW - FLOAT_TRAVEL) - 1e-9
    assert len(moves) < 20, "it does not chatter"


@pytest.mark.parametrize(("fault", "runs"), [("stuck wet", True), ("stuck dry", False), ("broken", False)])
def test_a_float_that_fails_passes_what_its_place_says(fault: str, runs: bool) -> None:
    """A broken wire takes the supply away; a float that hangs wet protects nothing, and a proof must see that."""
    bench = Bench(kept_from_dry(), [PUMP_ON], [f"bottom {fault}"]).play("30 min")
    assert (bench.entry(at.TURNED) > 0.0) is runs
    assert (bench.entry(at.DRIED) > 0.0) is runs


def test_a_spring_closes_a_valve_whose_float_rises() -> None:
    """The float in the wire closes the inlet at its height, whatever the controller goes on asking for."""
    bench = Bench(kept_from_full(), [OPENS], ["valve welded"]).play("60 min")
    ((rose, row, value, _),) = bench.records(P_FLOAT)
    assert (row, value) == (1, 1)
    assert [(t, kind) for t, _, kind, _ in bench.records(P_VALVE)] == [(0, 3), (2000, 1), (rose, 3), (rose + 2000, 0)]
    assert AREA * HIGH < bench.volume("below") < AREA * HIGH + 1e-3
    assert bench.opening("valve") == 0.0


@pytest.mark.parametrize(("fault", "opening"), [("stuck wet", 0.0), ("stuck dry", 1.0), ("broken", 0.0)])
def test_a_valve_with_a_failed_float(fault: str, opening: float) -> None:
    """Its wire broken it stays shut; a float that hangs dry leaves the valve to the controller alone."""
    assert Bench(kept_from_full(), [OPENS], [f"full {fault}"]).play("60 min").opening("valve") == opening


def test_a_fault_that_ends_leaves_the_float_where_the_water_is() -> None:
    """A wire mended in the afternoon must not leave the pump as the break found it."""
    bench = Bench(kept_from_dry(), [PUMP_ON], ["bottom broken from 10 s to 20 s"])
    assert [bench.play(f"{s} s").entry(at.TURNING) for s in (5, 15, 25)] == [1, 0, 1]


def test_floats_that_no_coil_knows_of_end_no_step() -> None:
    """A rig without a float in a wire runs as it always did."""
    assert Bench(rig(), [PUMP_ON]).play("60 min").records(P_FLOAT) == []


@pytest.mark.parametrize("slope", [Slope(), TILTED, Slope.model_validate({"ahead": "-3 deg"})])
def test_on_a_slope_a_float_rises_where_its_own_depth_is(slope: Slope) -> None:
    """A float at the end of a tank rises early or late on a slope; the same depth is told by what it reads."""
    given, program = marram().rig, marram().program
    assert given is not None
    assert program is not None
    placed = {"belly_float": given.floats["belly_float"].model_copy(update={"x": 0.3, "y": -0.1})}
    works = works_of(given.model_copy(update={"floats": {**given.floats, **placed}}), program.names.outputs, (slope,))
    add_wiring(works, program, 1)
    world = world_of(works, program)
    row, signal = list(given.floats).index("belly_float"), program.signal("belly_float")
    for column, height in (("rises_at", 0.268), ("falls_at", 0.263)):
        world.r[world.n[at.VOLUME]] = world.r[world.n[at.VOLUME_END]] = works.reals[column][row]
        assert depth_at(world.n, world.r, 0, signal, 0.0) == pytest.approx(height, abs=1e-6)
