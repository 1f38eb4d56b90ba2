"""Valves on their way: strokes, ends that report, and what is left when the power goes, against the stated strokes."""

from __future__ import annotations

from typing import Any

import pytest

from tests.unit.plant.bench import Act, Bench
from tests.unit.plant.wired import Wired
from ullage.hydraulics.fittings import RANGEABILITY, passing
from ullage.plant import layout as at
from ullage.plant.codes import CURRENT, SOURCE_CLOSED_END, SOURCE_OPEN_END
from ullage.plant.motors import CLOSED_END, OPEN_END, seeping_opening
from ullage.plant.words import P_VALVE

STROKE = 8.0
OPENS: Act = ("10 s", "drive", "valve", 1.0)
CLOSES: Act = ("60 s", "drive", "valve", 0.0)


def rig(**motor: Any) -> dict[str, Any]:
    """A tank above an outfall, and one motor valve between."""
    motor = {"stroke": f"{STROKE} s .. {STROKE} s", "without_power": "stays", "draws": "0.5 A", **motor}
    kind = motor.pop("kind", "ball")
    rests = "open" if motor["without_power"] == "spring open" else "closed"
    return {
        "power": {"voltage": "12.8 V", "resistance": "0 ohm", "capacity": "1000 Ah"},
        "tanks": {
            "tank": {
                "holds": "waste",
                "shape": {"box": {"length": "1 m", "width": "1 m", "height": "1 m"}},
                "floor_at": {"z": "1 m"},
                "openings": {"low": {"at": "0 m"}},
                "vent": {"bore": "60 mm", "length": "0.1 m"},
                "starts_with": "90 %",
            }
        },
        "ports": {"out": {"kind": "discharge", "at": {"z": "0.5 m"}, "air_gap": True}},
        "restrictors": {"orifice": {"kv": "0.5 m3/h"}},
        "valves": {"valve": {"kind": kind, "kv": "4 m3/h", "rests": rests, "motor": motor}},
        "lines": [{"from": "tank.low", "through": ["orifice", "valve"], "to": "out"}],
    }


def openings(bench: Bench, *times: float) -> list[float]:
    """Openings at some times [s]."""
    return [bench.play(f"{time} s").opening("valve") for time in times]


def test_a_valve_turns_evenly_over_its_stroke() -> None:
    """A stroke that is shorter in the simulation than on the rig hides the litres that run meanwhile."""
    bench = Bench(rig(), [OPENS, CLOSES])
    assert openings(bench, 9.0, 10.0, 12.0, 14.0, 18.0, 30.0) == pytest.approx([0.0, 0.0, 0.25, 0.5, 1.0, 1.0])
    assert openings(bench, 62.0, 64.0, 68.0, 90.0) == pytest.approx([0.75, 0.5, 0.0, 0.0])
    moves = [(t, value, detail) for t, _, value, detail in bench.records(P_VALVE)]
    assert moves == [(10_000, 3, 0), (18_000, 1, 1000), (60_000, 3, 1000), (68_000, 0, 0)]


def test_a_valve_that_turns_round_comes_back_from_where_it_is() -> None:
    """A stop in the middle of opening closes in the time it took to open so far, not in a whole stroke."""
    bench = Bench(rig(), [OPENS, ("13 s", "drive", "valve", 0.0)]).play("1 min")
    assert [row[0] for row in bench.records(P_VALVE)] == [10_000, 13_000, 16_000]


def test_the_motor_draws_only_on_its_way() -> None:
    """A motor that draws current at rest empties the battery on paper."""
    bench = Bench(rig(), [OPENS])
    drawn = [bench.play(f"{time} s").entry(at.SUPPLY, CURRENT) for time in (5, 12, 17, 30)]
    assert drawn == [0.0, 0.5, 0.5, 0.0]


@pytest.mark.parametrize(
    ("without_power", "ends_at"),
    [("stays", 1.0), ("spring closed", 0.0), ("spring open", 1.0), ("stored charge closed", 0.0)],
)
def test_where_an_open_valve_goes_without_power(without_power: str, ends_at: float) -> None:
    """A fill valve that stays open in a power cut floods until somebody comes."""
    more = {"charge_time": "20 s"} if without_power.startswith("stored") else {}
    bench = Bench(rig(without_power=without_power, **more), [OPENS], ["power lost from 60 s"])
    assert bench.play("59 s").opening("valve") == 1.0
    assert bench.play("64 s").opening("valve") == pytest.approx(1.0 if ends_at else 0.5)
    assert bench.play("2 min").opening("valve") == ends_at


def test_a_closed_valve_with_an_opening_spring_opens_without_power() -> None:
    """A drain that opens in a power cut is a choice that must be seen."""
    bench = Bench(rig(without_power="spring open"), [("10 s", "drive", "valve", 0.0)], ["power lost from 60 s"])
    assert openings(bench, 59.0, 64.0, 90.0) == pytest.approx([0.0, 0.5, 1.0])


CUTS = {
    "the second cut comes before it is full again": ("power lost from 90 s", 1.0),
    "the second cut comes when it is full again": ("power lost from 120 s", 0.0),
}


@pytest.mark.parametrize("case", CUTS)
def test_a_stored_charge_closes_once(case: str) -> None:
    """A second cut before the charge is back leaves the valve open: 20 s from 80 s, when the power comes back."""
    again, ends_at = CUTS[case]
    motor = {"without_power": "stored charge closed", "charge_time": "20 s"}
    bench = Bench(rig(**motor), [OPENS], ["power lost from 60 s to 80 s", again])
    assert openings(bench, 70.0, 80.0, 89.0) == pytest.approx([0.0, 0.0, 1.0])
    assert openings(bench, 119.0)[0] == 1.0
    assert openings(bench, 140.0)[0] == ends_at


def test_a_charge_that_was_never_full_closes_nothing() -> None:
    """A cut right after the rig was switched on finds an empty store."""
    motor = {"without_power": "stored charge closed", "charge_time": "50 s"}
    bench = Bench(rig(**motor), [OPENS], ["power lost from 40 s"])
    assert openings(bench, 39.0, 60.0) == [1.0, 1.0]


@pytest.mark.parametrize(("sag", "goes_on"), [("9.1 V", True), ("8.9 V", False)])
def test_a_brown_out_below_the_least_voltage_stops_a_valve_midway(sag: str, goes_on: bool) -> None:
    """A half open valve that is taken for closed runs on: the motor's least voltage is 9 V."""
    bench = Bench(rig(least_voltage="9 V"), [OPENS, CLOSES], [f"brown-out {sag} from 62 s to 100 s"])
    assert openings(bench, 90.0)[0] == pytest.approx(0.0 if goes_on else 0.75)
    assert openings(bench, 107.0)[0] == pytest.approx(0.0), "6 s after the supply is back it is closed"
    stops = [(t, detail) for t, _, value, detail in bench.records(P_VALVE) if value == 2]
    assert stops == ([] if goes_on else [(62_000, 750)])


# --- what the ends report ------------------------------------------------------------------------


def test_only_the_declared_ends_report() -> None:
    """An end that does not exist and yet confirms lets a sequence go on past a stuck valve."""
    one = Wired()
    feedback = {name: valve.motor.feedback for name, valve in one.works.rig.valves.items() if valve.motor}
    assert set(feedback.values()) == {"none", "closed_end", "both_ends"}, "Marram has them mixed"
    with_closed = {f"{name}.closed_end" for name, told in feedback.items() if told in ("closed_end", "both_ends")}
    assert set(one.signals(SOURCE_CLOSED_END)) == with_closed
    assert set(one.signals(SOURCE_OPEN_END)) == {
        f"{name}.open_end" for name, told in feedback.items() if told == "both_ends"
    }


@pytest.mark.parametrize(
    ("opening", "closed", "opened"),
    [(CLOSED_END, 1, 0), (1e-6, 0, 0), (0.011, 0, 0), (0.5, 0, 0), (0.989, 0, 0), (OPEN_END, 0, 1), (1.0, 0, 1)],
)
def test_an_end_reports_only_at_its_end(opening: float, closed: int, opened: int) -> None:
    """An end switch that makes early calls a valve closed that still passes water."""
    one = Wired()
    one.set_opening("lift", opening)
    assert closed == (opening == 0.0), "what reports closed passes nothing"
    assert (one.level("lift.closed_end", 1_000), one.level("lift.open_end", 1_000)) == (closed, opened)


@pytest.mark.parametrize("part", [0.0001, 0.002, 0.1, 1.0])
@pytest.mark.parametrize("kind", ["ball", "gate"])
def test_a_seeping_valve_passes_the_part_that_is_said(kind: str, part: float) -> None:
    """2 per mille of the opening is not 2 per mille of the Kv of a ball valve (IEC 60534-2-4, rangeability 50)."""
    code = {"ball": 0, "gate": 1}[kind]
    assert passing(code, seeping_opening(code, part)) == pytest.approx(part, rel=1e-9)
    assert RANGEABILITY == 50.0
