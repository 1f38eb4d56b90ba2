"""The pressure switch feels the pressure at its pump, wherever the pump's line ends."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.plant.bench import Act, Bench
from ullage.plant import layout as at
from ullage.plant.words import P_PUMP, P_SWITCH
from ullage.simulate.outcome import trapped

CUT_IN, CUT_OUT = 1.4e5, 2.8e5


def rig(end: str, through: list[str]) -> dict[str, Any]:
    """A tank, a pump with its switch, and what its line ends at."""
    tank = {
        "holds": "potable",
        "shape": {"box": {"length": "1 m", "width": "0.5 m", "height": "0.4 m"}},
        "floor_at": {"z": "0.5 m"},
        "openings": {"low": {"at": "5 mm"}, "top": {"at": "390 mm"}},
        "vent": {"bore": "30 mm", "length": "0.3 m"},
        "starts_with": "80 %",
    }
    curve = [{"flow": "0 L/min", "pressure": "3.4 bar"}, {"flow": "11 L/min", "pressure": "0 bar"}]
    return {
        "tanks": {"tank": tank, "far": {**tank, "floor_at": {"z": "1.5 m"}, "starts_with": "10 %"}},
        "pipes": {
            "suction": {"bore": "13 mm", "length": "1 m"},
            "pressure_pipe": {"bore": "13 mm", "length": "3 m"},
        },
        "checks": {"check": {"kv": "2 m3/h"}},
        "valves": {"cock": {"kind": "ball", "kv": "4 m3/h"}} if "cock" in through else {},
        "pumps": {"pump": {"curve": curve, "switch": {"cut_in": "1.4 bar", "cut_out": "2.8 bar"}}},
        "points": {"tee": {"at": {"z": "0.7 m"}}} if end == "tee" else {},
        "fixtures": {"tap": {"flow": "6 L/min", "at_pressure": "1 bar", "at": {"z": "1.0 m"}}}
        if end != "far.top"
        else {},
        "lines": [
            {"from": "tank.low", "through": ["suction", "pump", *through], "to": end},
            *([{"from": "tee", "through": [], "to": "tap"}] if end == "tee" else []),
        ],
    }


LINES = {
    "tap": ("tap", ["check", "pressure_pipe"]),
    "tap without a check": ("tap", ["pressure_pipe"]),
    "cock before a tank": ("far.top", ["pressure_pipe", "cock"]),
    "cock before a tee": ("tee", ["pressure_pipe", "cock"]),
    "tee": ("tee", ["check", "pressure_pipe"]),
}


@pytest.mark.parametrize("line", LINES)
def test_it_opens_when_all_is_closed(line: str) -> None:
    """A pump whose switch feels the far end of its line works against a closed tap until it burns out."""
    bench = Bench(rig(*LINES[line]), [("1 s", "pump", "pump", 1.0)]).play("4 h")
    moves = bench.records(P_SWITCH)
    assert [value for _, _, value, _ in moves] == [0], "it opens once, and stays open"
    assert moves[0][0] < 5_000, "the pipes' spring is filled within seconds"
    assert moves[0][3] == pytest.approx(CUT_OUT, rel=0.01)
    assert not bench.entry(at.TURNING)
    assert bench.entry(at.TURNED) < 5.0


@pytest.mark.parametrize("line", ["tap", "tap without a check", "tee"])
def test_it_closes_when_water_is_drawn(line: str) -> None:
    """A pump that stays off after the first fill leaves the taps dry."""
    acts: list[Act] = [("1 s", "pump", "pump", 1.0), ("1 min", "tap", "tap", 1.0), ("2 min", "tap", "tap", 0.0)]
    bench = Bench(rig(*LINES[line]), acts).play("70 s")
    before = bench.volume("tank")
    drawn = (before - bench.play("110 s").volume("tank")) / 40.0
    # With nothing lost on the way, 3.4 bar (1 - q / 11) = 1 bar (q / 6)^2 has the root 6.82 L/min; at its 1.29 bar
    # the switch stays closed. Pipes, and the tap's half metre over the tank, take the rest.
    assert 0.85 * 6.82e-3 / 60.0 < drawn < 6.82e-3 / 60.0
    assert bench.entry(at.TURNING)
    assert bench.records(P_SWITCH)[1][3] == pytest.approx(CUT_IN, rel=0.02)
    bench.play("10 min")
    assert not bench.entry(at.TURNING)
    assert bench.records(P_PUMP)[-1][0] < 130_000


def test_what_a_shut_line_holds_is_still_told() -> None:
    """Frost bursts the pipe between pump and tap, whatever the plant puts into the line: 3 m of 13 mm hold 0.398 L."""
    bench = Bench(rig(*LINES["tap without a check"]))
    assert len(bench.works.rig.lines) == 2
    assert trapped(bench.works.given, {}) == {"tank.low to tap": pytest.approx(0.398e-3, rel=1e-3)}


def test_the_spring_of_the_pipes_changes_no_flow() -> None:
    """50 mL of air reckoned to a millilitre showed 5 % less water at the tap than the pump gives without its switch."""
    acts: list[Act] = [("1 s", "pump", "pump", 1.0), ("1 min", "tap", "tap", 1.0)]
    bare = rig(*LINES["tap"])
    del bare["pumps"]["pump"]["switch"]
    flows = []
    for made in (rig(*LINES["tap"]), bare):
        bench = Bench(made, acts).play("70 s")
        before = bench.volume("tank")
        flows.append((before - bench.play("130 s").volume("tank")) / 60.0)
    assert flows[0] == pytest.approx(flows[1], rel=5e-3)
