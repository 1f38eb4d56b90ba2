"""Lines over a crest and air in a pump's suction, against Torricelli's law and the pump's free flow.

Through a Kv into the open, ``q = Kv sqrt(rho g h / 1 bar)``, so a prismatic tank of area A falls from h1 to h2 in
``2 A (sqrt h1 - sqrt h2) / (Kv sqrt(rho g / 1 bar))`` (Torricelli 1644; DRN rows): whatever the crest between.
"""

from __future__ import annotations

from math import pi, sqrt
from typing import Any

import pytest

from tests.unit.plant.bench import Act, Bench, changed
from ullage.plant import faults as f
from ullage.plant import layout as at
from ullage.plant.codes import CURRENT
from ullage.plant.flow import STILL_FLOW
from ullage.plant.words import P_DRY, P_HARMED, P_PRIME, P_UNCOVERED
from ullage.quantities import G_STANDARD

AREA = 0.5
PACE = 1.0 / 3600.0 * sqrt(999.1 * G_STANDARD / 1e5)
"""Kv of 1 m3/h, as flow over the root of a head [m3/s per m^0.5]."""


def tank(z: float, fill: str) -> dict[str, Any]:
    """0.5 m2, 0.4 m high, an opening 50 mm above the floor."""
    return {
        "holds": "potable",
        "shape": {"box": {"length": "1 m", "width": "0.5 m", "height": "0.4 m"}},
        "floor_at": {"z": f"{z} m"},
        "openings": {"side": {"at": "50 mm"}, "floor": {"at": "0 m"}},
        "vent": {"bore": "60 mm", "length": "0.1 m"},
        "starts_with": fill,
    }


def siphon(fill: str, crest: float | None, end: str = "out") -> dict[str, Any]:
    """A tank from 0.6 m to 1.0 m, an inlet at 0.65 m, a bend, and an end at 0.2 m in the open or under water."""
    line = {"from": "upper.side", "through": ["orifice", "cock"], "to": end}
    return {
        "tanks": {"upper": tank(0.6, fill), "lower": tank(0.2, "50 %")},
        "ports": {"out": {"kind": "discharge", "at": {"z": "0.2 m"}}} if end == "out" else {},
        "restrictors": {"orifice": {"kv": "1 m3/h"}},
        "valves": {"cock": {"kind": "gate", "kv": "1000 m3/h", "rests": "open"}},
        "lines": [line if crest is None else {**line, "crest": {"z": f"{crest} m"}}],
    }


def test_it_does_not_start_below_its_crest() -> None:
    """A drain over a bend that is taken to run by itself leaves a full waste tank."""
    assert Bench(siphon("60 %", 0.9)).play("1 h").volume("upper") == pytest.approx(0.12, abs=1e-9)
    assert Bench(siphon("60 %", None)).play("1 h").volume("upper") < 0.1


def test_it_runs_on_below_its_crest_until_air_comes_in() -> None:
    """A hose over a bend that runs on to its inlet empties what was thought to be safe behind the bend."""
    bench = Bench(siphon("80 %", 0.9)).play("1 h")
    assert bench.records(P_PRIME)[0][2] == 1
    (bare,) = [row for row in bench.records(P_UNCOVERED) if row[2] == 1]
    time = 2.0 * AREA * (sqrt(0.92 - 0.2) - sqrt(0.65 - 0.2)) / PACE
    assert bare[0] / 1000.0 == pytest.approx(time, rel=1e-3)
    assert bench.records(P_PRIME)[-1][0] == bare[0]
    assert bench.records(P_PRIME)[-1][2] == 0
    assert bench.volume("upper") == pytest.approx(0.05 * AREA, abs=1e-6)


def test_it_does_not_start_again_by_itself() -> None:
    """A broken siphon that is taken to run again would empty a tank that in truth fills up and overflows."""
    refill = ["upper jerrycan 80 L from 1 h"]  # from 0.65 m to 0.81 m
    bench = Bench(siphon("80 %", 0.9), faults=refill).play("2 h")
    assert bench.volume("upper") == pytest.approx(0.05 * AREA + 0.08, abs=1e-6)
    assert len(bench.records(P_PRIME)) == 2
    more = Bench(siphon("80 %", 0.9), faults=["upper jerrycan 130 L from 1 h"]).play("2 h")  # to 0.91 m
    assert [row[2] for row in more.records(P_PRIME)] == [1, 0, 1, 0], "over the crest it does"
    poured = 60.0 * 125.0 / 20.0  # 125 L up to the crest at 20 L/min
    assert more.records(P_PRIME)[2][0] / 1000.0 == pytest.approx(3600.0 + poured, abs=0.5)


def test_a_shut_line_loses_its_prime_to_the_open_but_not_under_water() -> None:
    """Where the water hangs in a shut line decides whether it runs when it is opened again."""
    acts: list[Act] = [("5 min", "turn", "cock", 0.0), ("10 min", "turn", "cock", 1.0)]
    into_the_open = Bench(siphon("80 %", 0.9), acts).play("20 min")
    assert [row[2] for row in into_the_open.records(P_PRIME)] == [1, 0]
    assert into_the_open.flow("cock") == 0.0
    rig = siphon("80 %", 0.9, "lower.side")
    under_water = Bench(rig, acts).play("20 min")
    assert [row[2] for row in under_water.records(P_PRIME)] == [1]
    assert under_water.flow("cock") > 1e-5


def test_levels_meet_over_a_crest() -> None:
    """Two tanks joined over a bend are one tank as long as both openings are under water."""
    rig = siphon("80 %", 0.9, "lower.side")
    rig["tanks"]["lower"] = tank(0.5, "20 %")  # from 0.92 m and 0.58 m to 0.75 m
    bench = Bench(rig).play("3 h")
    assert bench.head("face", "upper") == pytest.approx(0.75, abs=1e-4)
    assert bench.head("face", "lower") == pytest.approx(0.75, abs=1e-4)
    again = Bench(rig, faults=["upper jerrycan 20 L from 3 h"]).play("6 h")
    assert again.head("face", "lower") == pytest.approx(0.77, abs=1e-4), "it still runs full"


@pytest.mark.parametrize(("crest", "runs_on"), [(5.0, True), (11.5, False)])
def test_no_crest_higher_than_the_atmosphere_carries(crest: float, runs_on: bool) -> None:
    """A pump fills the bend; when it stops, 10.3 m of water is all that the air holds up (ISO 2533: 101325 Pa)."""
    rig = siphon("80 %", crest, "lower.side")
    rig["pumps"] = {
        "pump": {"curve": [{"flow": "0 L/min", "pressure": "3 bar"}, {"flow": "9 L/min", "pressure": "0 bar"}]}
    }
    rig["lines"][0]["through"].insert(0, "pump")
    rig["pumps"]["pump"]["curve"][1]["flow"] = "30 L/min"
    bench = Bench(rig, [("10 s", "pump", "pump", 1.0), ("40 s", "pump", "pump", 0.0)]).play("5 s")
    assert bench.flow("pump") == 0.0
    assert bench.play("30 s").flow("pump") > 1e-4
    bench.play("2 min")
    assert bool(bench.entry(at.PRIMED)) is runs_on
    assert (bench.flow("pump") > STILL_FLOW) is runs_on


# --- air in a pump's suction --------------------------------------------------------------------

FREE = 11e-3 / 60.0
"""Flow of the pump against no pressure [m3/s]."""

SUCTION = 0.25 * pi * 0.013**2 * 2.0
"""What its suction holds [m3]: 2 m of 13 mm, 0.265 L, 1.448 s of its free flow."""


def pumped(crest: float | None = None, self_priming: bool = True) -> dict[str, Any]:
    """A tank that soon runs empty, a pump and an open tap."""
    line = {"from": "upper.side", "through": ["suction", "pump", "pipe"], "to": "tap"}
    curve = [{"flow": "0 L/min", "pressure": "3.4 bar"}, {"flow": "11 L/min", "pressure": "0 bar"}]
    return {
        "power": {"voltage": "12 V", "resistance": "0 ohm", "capacity": "1000 Ah"},
        "tanks": {"upper": tank(0.6, "15 %")},
        "pipes": {"suction": {"bore": "13 mm", "length": "2 m"}, "pipe": {"bore": "13 mm", "length": "3 m"}},
        "pumps": {"pump": {"curve": curve, "self_priming": self_priming}},
        "fixtures": {"tap": {"flow": "6 L/min", "at": {"z": "0.61 m"}}},
        "lines": [line if crest is None else {**line, "crest": {"z": f"{crest} m"}}],
    }


RUNNING: list[Act] = [("0 s", "tap", "tap", 1.0), ("0 s", "pump", "pump", 1.0)]
REFILL = ["upper jerrycan 20 L from 10 min"]


def dry_spells(bench: Bench) -> list[tuple[float, int]]:
    """When the pump begins (1) and ceases (0) to run dry [s]."""
    return [(row[0] / 1000.0, row[2]) for row in bench.records(P_DRY)]


@pytest.mark.parametrize("self_priming", [True, False])
def test_a_pump_draws_the_air_out_before_it_delivers(self_priming: bool) -> None:
    """A pump that is taken to deliver at once hides the dry seconds that wear it out.

    A pump that does not prime itself is taken to stand below its tank where no crest is stated.
    """
    bench = Bench(pumped(self_priming=self_priming), RUNNING, REFILL).play("9 min")
    assert bench.flow("tap") == 0.0
    assert bench.entry(at.AIR) == pytest.approx(SUCTION)
    assert bench.volume("upper") == pytest.approx(0.05 * AREA, abs=1e-6)
    bench.play("11 min")
    (began, one), (ended, none) = dry_spells(bench)[:2]
    assert (one, none) == (1, 0)
    assert began < 120.0
    assert ended == pytest.approx(600.0 + SUCTION / FREE, abs=2e-3)
    assert bench.entry(at.DRIED) == pytest.approx(ended - began, abs=2e-3)
    assert bench.play("10.5 min").flow("tap") > 5e-3 / 60.0


def test_a_pump_that_cannot_lift_stays_dry() -> None:
    """A pump above its tank that does not prime itself runs on air until somebody fills it: all its minutes are dry."""
    rig = pumped(0.9, self_priming=False)
    bench = Bench(rig, RUNNING, REFILL).play("20 min")
    assert bench.flow("tap") == 0.0
    ((began, _),) = dry_spells(bench)
    assert bench.entry(at.DRIED) == pytest.approx(1200.0 - began, abs=2e-3)
    lifted = Bench(pumped(0.9), RUNNING, REFILL).play("11 min")
    assert dry_spells(lifted)[1][0] == pytest.approx(600.0 + SUCTION / FREE, abs=2e-3), "a self-priming one lifts"
    flooded = Bench(rig, RUNNING, ["upper jerrycan 180 L from 10 min"]).play("25 min")
    # From 0.65 m to the crest at 0.9 m are 125 L at 20 L/min; then the air goes.
    assert dry_spells(flooded)[1][0] == pytest.approx(600.0 + 375.0 + SUCTION / FREE, abs=0.5)


def test_air_stays_in_the_suction_while_the_pump_stands() -> None:
    """Switching a pump off and on does not prime it."""
    acts: list[Act] = [*RUNNING, ("9 min", "pump", "pump", 0.0), ("12 min", "pump", "pump", 1.0)]
    bench = Bench(pumped(), acts, REFILL).play("13 min")
    spells = dry_spells(bench)
    assert [value for _, value in spells] == [1, 0, 1, 0]
    assert spells[2][0] == pytest.approx(720.0)
    assert spells[3][0] == pytest.approx(720.0 + SUCTION / FREE, abs=2e-3)


def test_a_dry_pump_draws_half_its_current() -> None:
    """The interlock that stops a dry pump looks at its current (common practice, no source: half)."""
    rig = changed(pumped(), pumps={"pump": {"draws": "8 A"}})
    bench = Bench(rig, RUNNING).play("10 s")
    assert bench.entry(at.SUPPLY, CURRENT) == pytest.approx(8.0)
    assert bench.play("9 min").entry(at.SUPPLY, CURRENT) == pytest.approx(4.0)


def test_a_pump_that_could_take_more_delivers_what_comes_in() -> None:
    """A tank at its outlet while the hose runs: the half covered mouth throttles, and the balance must hold."""
    pouring = f.Fault(f.JERRYCAN, "upper", "", 0.1, 600_000)  # 20 L/min for 5 minutes
    strong = changed(pumped(), fixtures={"tap": {"flow": "60 L/min"}}, pipes={"pipe": {"bore": "25 mm"}})
    strong["pumps"]["pump"]["curve"][1]["flow"] = "40 L/min"
    bench = Bench(strong, RUNNING, [pouring]).play("14 min")
    assert bench.flow("tap") == pytest.approx(20e-3 / 60.0, rel=1e-3)
    assert 0.05 * AREA < bench.volume("upper") < (0.05 + 0.013) * AREA
    assert [value for _, value in dry_spells(bench)] == [1, 0]
    assert [value for _, value in dry_spells(bench.play("20 min"))] == [1, 0, 1], "dry again when it stops coming"


def test_a_pump_is_harmed_when_it_runs_dry_for_longer_than_it_may() -> None:
    """A run in which the pump wears out must say so: its limit is 2 minutes on end."""
    rig = changed(pumped(), pumps={"pump": {"dry_run_limit": "2 min"}})
    bench = Bench(rig, RUNNING).play("20 min")
    ((began, _),) = dry_spells(bench)
    ((harmed, _, _, on_end),) = bench.records(P_HARMED)
    assert harmed / 1000.0 == pytest.approx(began + 120.0, abs=2e-3)
    assert on_end == 120_000
    stopped: list[Act] = [*RUNNING, ("2 min", "pump", "pump", 0.0), ("4 min", "pump", "pump", 1.0)]
    spared = Bench(rig, stopped).play("5 min")
    assert spared.entry(at.DRIED) > 120.0, "in two spells, neither of them too long"
    assert spared.records(P_HARMED) == []


def test_a_pump_at_a_tee_runs_dry_when_its_tanks_are_empty() -> None:
    """A pump behind a tee of two suctions draws air too, until the other tank's cock is opened."""
    rig = pumped()
    rig["tanks"]["other"] = tank(0.6, "80 %")
    rig["points"] = {"tee": {"at": {"z": "0.6 m"}}}
    rig["valves"] = {name: {"kind": "ball", "kv": "10 m3/h"} for name in ("cock", "other_cock")}
    rig["lines"][0]["from"] = "tee"
    rig["lines"] += [
        {"from": "upper.side", "through": ["cock"], "to": "tee"},
        {"from": "other.side", "through": ["other_cock"], "to": "tee"},
    ]
    acts: list[Act] = [*RUNNING, ("0 s", "turn", "cock", 1.0), ("5 min", "turn", "other_cock", 1.0)]
    bench = Bench(rig, acts).play("4 min")
    (bare,) = bench.records(P_UNCOVERED)
    assert bare[0] / 1000.0 == pytest.approx(60.0, abs=30.0)
    assert dry_spells(bench) == [(bare[0] / 1000.0, 1)]
    assert bench.flow("tap") == pytest.approx(0.0, abs=STILL_FLOW)
    bench.play("6 min")
    _, ended = (time for time, _ in dry_spells(bench))
    assert 300.0 <= ended <= 300.0 + 2.0 * SUCTION / FREE
    assert bench.flow("tap") > 5e-3 / 60.0
