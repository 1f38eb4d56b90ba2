"""The catalogue of faults, one test a kind: what each does to the water, with a figure from outside.

The figures are closed forms: ``q = Kv sqrt(dp / 1 bar)`` through parts of a Kv (IEC 60534-1, water of
1000 kg/m3), hydrostatics ``dp = rho g dz``, and the stated strokes, leases and curves. Where a fault has an
amount, the amount that is none must leave the plant exactly as it is in health.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from math import pi, sqrt
from typing import Any

import pytest

from tests.unit.plant.bench import Act, Bench, changed
from tests.unit.plant.wired import Wired, on_first_part, played
from ullage.control import codes as law
from ullage.hydraulics.fittings import ORIFICE
from ullage.plant import faults as f
from ullage.plant import layout as at
from ullage.plant.events import change
from ullage.plant.flow import STILL_FLOW
from ullage.plant.harm import inflict
from ullage.plant.senders import JUMP_MS
from ullage.plant.words import P_CONTROLLER, P_LAPSE, P_POWER, P_VALVE
from ullage.quantities import G_STANDARD
from ullage.rig.shapes import capacity

M3_PER_H = 1.0 / 3600.0
LITRE = 1e-3


def tank(z: float, fill: str, **more: Any) -> dict[str, Any]:
    """A box of 0.5 m2 and 0.4 m with an opening in the floor and one near the brim, and a wide vent."""
    return {
        "holds": "potable",
        "shape": {"box": {"length": "1 m", "width": "0.5 m", "height": "0.4 m"}},
        "floor_at": {"z": f"{z} m"},
        "openings": {"low": {"at": "0 m"}, "top": {"at": "395 mm"}, "back": {"at": "395 mm"}},
        "vent": {"bore": "60 mm", "length": "0.1 m"},
        "starts_with": fill,
        **more,
    }


def ball(stroke: float = 4.0, **motor: Any) -> dict[str, Any]:
    """A motor ball valve of Kv 4 m3/h."""
    motor = {"without_power": "stays", **motor}
    return {"kind": "ball", "kv": "4 m3/h", "motor": {"stroke": f"{stroke} s .. {stroke} s", **motor}}


RIG: dict[str, Any] = {
    "power": {"voltage": "12.8 V", "resistance": "0 ohm", "capacity": "1000 Ah"},
    "tanks": {"high": tank(2.0, "50 %"), "low": tank(0.5, "25 %"), "gray": tank(0.5, "25 %", holds="waste")},
    "ports": {
        "shore": {"kind": "supply", "at": {"z": "0.9 m"}, "pressure": "0.5 bar .. 4 bar", "usual": "2 bar"},
        "mains": {"kind": "supply", "at": {"z": "0.7 m"}, "pressure": "0.5 bar .. 4 bar", "usual": "2 bar"},
        "outfall": {"kind": "discharge", "at": {"z": "0.3 m"}, "air_gap": True},
    },
    "points": {"manifold": {"at": {"z": "0.7 m"}}},
    "pipes": {"hose": {"bore": "12.5 mm", "length": "30 m"}},
    "restrictors": {
        "fill_orifice": {"kv": "0.5 m3/h"},
        "suction_orifice": {"kv": "1 m3/h"},
        "drain_orifice": {"kv": "2 m3/h"},
    },
    "checks": {"mains_check": {"kv": "1 m3/h"}},
    "valves": {
        "guard": {
            "kind": "solenoid",
            "kv": "2 m3/h",
            "motor": {"stroke": "0.1 s .. 0.1 s", "without_power": "spring closed"},
        },
        "inlet": ball(),
        "lift": ball(),
        "drop": ball(without_power="stored charge closed", charge_time="20 s"),
        "dump": ball(),
        "cock": {"kind": "ball", "kv": "4 m3/h"},
    },
    "pumps": {
        "pump": {
            "curve": [
                {"flow": "0 L/min", "pressure": "3.4 bar"},
                {"flow": "6 L/min", "pressure": "2.6 bar"},
                {"flow": "11 L/min", "pressure": "0 bar"},
            ],
            "switch": {"cut_in": "1.4 bar", "cut_out": "2.8 bar"},
        }
    },
    "accumulators": {"cushion": {"at": "manifold", "volume": "1 L", "precharge": "1.2 bar"}},
    "fixtures": {"tap": {"flow": "6 L/min", "at": {"z": "1.2 m"}, "drains_to": "gray"}},
    "lines": [
        {"from": "shore", "through": ["guard", "fill_orifice", "inlet"], "to": "low.top"},
        {"from": "mains", "through": ["hose", "mains_check"], "to": "manifold"},
        {"from": "low.low", "through": ["suction_orifice", "pump"], "to": "manifold"},
        {"from": "manifold", "through": ["lift"], "to": "high.top"},
        {"from": "high.low", "through": ["drop"], "to": "low.back"},
        {"from": "manifold", "through": ["cock"], "to": "tap"},
        {"from": "gray.low", "through": ["drain_orifice", "dump"], "to": "outfall"},
    ],
}
"""A plant in which every fault but those of signals and boards can show: all losses but the hose's are Kv."""

COCK_OPEN: Act = ("0 s", "turn", "cock", 1.0)
PUMP_ON: Act = ("0 s", "pump", "pump", 1.0)
FILLING: list[Act] = [
    ("0 s", "hose", "shore", 2e5),
    ("0 s", "drive", "guard", 1.0),
    ("0 s", "drive", "inlet", 1.0),
]
DUMPING: list[Act] = [("0 s", "drive", "dump", 1.0)]


def bench(acts: Iterable[Act], *faults: str | f.Fault, **parts: Any) -> Bench:
    """The plant with some acts, faults and changed parts."""
    return Bench(changed(RIG, **parts), acts, faults)


def series(*kv: float) -> float:
    """Kv of parts in a row."""
    return 1.0 / sqrt(sum(1.0 / one**2 for one in kv))


def through(kv: float, pressure: float) -> float:
    """Flow [m3/s] through a Kv [m3/h] at a pressure [Pa]."""
    return kv * M3_PER_H * sqrt(pressure / 1e5)


def column(metres: float) -> float:
    """Pressure of a column of water of 15 degC [Pa] (999.1 kg/m3, row WAT-02)."""
    return 999.1 * G_STANDARD * metres


def surface(one: Bench, name: str) -> float:
    """Height of a tank's surface [m]."""
    return float(RIG["tanks"][name]["floor_at"]["z"].split()[0]) + one.volume(name) / 0.5


SHOWN: dict[int, Callable[[], None]] = {}


def shows(kind: int) -> Callable[[Callable[[], None]], Callable[[], None]]:
    """Enter a test of a kind."""

    def enter(test: Callable[[], None]) -> Callable[[], None]:
        assert kind not in SHOWN
        SHOWN[kind] = test
        return test

    return enter


@pytest.mark.parametrize("kind", f.KINDS, ids=lambda kind: f"{kind.of}-{kind.word}")
def test_every_fault_does_what_it_says(kind: f.Kind) -> None:
    """A fault that changes nothing lets a rig pass every trial by fault."""
    assert kind.code in SHOWN, "a kind of the catalogue without a test"
    SHOWN[kind.code]()


# --- senders, floats, meters ------------------------------------------------------------------


@shows(f.SENDER_STUCK)
def _() -> None:
    one = Wired("belly_level stuck from 10 s")
    before = one.level("belly_level", 9_000)
    one.pour("belly", 0.05)
    assert one.level("belly_level", 20_000) == before
    assert Wired().poured("belly", 0.05).level("belly_level", 20_000) == pytest.approx(before + 3125, abs=150)


@shows(f.SENDER_OFFSET)
def _() -> None:
    healthy = Wired().level("belly_level", 20_000)
    assert Wired("belly_level offset -12 %").level("belly_level", 20_000) == healthy - 1200


@shows(f.SENDER_NOISY)
def _() -> None:
    """Its own 0.3 % and 4 % more: 401 hundredths of a percent, over 2000 readings good to 5 % at three sigma.

    It jumps now and then and stays there: a reading that is wrong for long does more harm than one that trembles.
    """
    assert Wired(resolution=0.0).spread("belly_level", 2000) == pytest.approx(30.0, rel=0.05)
    noisy = Wired("belly_level noisy 4 %", resolution=0.0)
    assert noisy.spread("belly_level", 2000, JUMP_MS) == pytest.approx(401.1, rel=0.05)
    assert noisy.spread("belly_level", JUMP_MS // 2_000) == pytest.approx(30.0, rel=0.2)


@shows(f.SENDER_DEAD)
def _() -> None:
    one = Wired("belly_level dead from 10 s")
    one.read("belly_level", range(0, 40_000, 2_000))
    assert one.heard_ms("belly_level", 40_000) == 8_000
    assert one.quality("belly_level", 14_000) == law.GOOD
    assert one.quality("belly_level", 14_500) == law.STALE, "it goes stale after its 6 s"


@shows(f.SENDER_SWAPPED)
def _() -> None:
    one = Wired("belly_level swapped loft_level")
    assert one.level("belly_level", 20_000) == pytest.approx(Wired().level("loft_level", 20_000), abs=100)
    assert one.level("loft_level", 20_000) == pytest.approx(Wired().level("belly_level", 20_000), abs=100)
    assert abs(one.level("belly_level", 20_000) - one.level("loft_level", 20_000)) > 200


@shows(f.FLOAT_STUCK_WET)
def _() -> None:
    assert Wired().level("belly_float", 1_000) == 0
    assert Wired("belly_float stuck wet").level("belly_float", 1_000) == 1


@shows(f.FLOAT_STUCK_DRY)
def _() -> None:
    assert Wired().poured("belly", 0.12).level("belly_float", 1_000) == 1
    assert Wired("belly_float stuck dry").poured("belly", 0.12).level("belly_float", 1_000) == 0


@shows(f.FLOAT_WIRE_BROKEN)
def _() -> None:
    assert Wired("belly_float broken").level("belly_float", 1_000) == 1, "a broken wire reads full"
    assert Wired("belly_float broken", broken_reads=0).level("belly_float", 1_000) == 0


@shows(f.METER_JAMMED)
def _() -> None:
    healthy, jammed = Wired(), Wired("shore_meter jammed")
    for one in (healthy, jammed):
        one.flow("shore_meter", 10e-3 / 60.0)
    assert healthy.level("shore_meter", 1_000) == pytest.approx(10_000, rel=0.03)
    assert jammed.level("shore_meter", 1_000) == 0


# --- valves -----------------------------------------------------------------------------------


@shows(f.VALVE_STUCK)
def _() -> None:
    acts: list[Act] = [("0 s", "drive", "inlet", 1.0), ("20 s", "drive", "inlet", 0.0)]
    assert bench(acts).play("1 min").opening("inlet") == 0.0
    assert bench(acts, "inlet stuck from 10 s").play("1 min").opening("inlet") == 1.0
    assert bench(acts, "inlet stuck from 1 s").play("1 min").opening("inlet") == pytest.approx(1.0 / 4.0)
    assert bench(acts, "inlet stuck from 10 s to 40 s").play("1 min").opening("inlet") == 0.0


@shows(f.VALVE_SLOW)
def _() -> None:
    one = bench([("1 s", "drive", "inlet", 1.0)], "inlet slow 3").play("1 min")
    assert [row[0] for row in one.records(P_VALVE)] == [1_000, 1_000 + 3 * 4_000]


@shows(f.VALVE_SEEPING)
def _() -> None:
    """From 2.2 m to the open mouth at 0.895 m: 0.2 % of 4 m3/h passes 2.9 L in an hour."""
    one = bench([], "drop seeping 0.2 %").play("1 h")
    passed = 0.1 - one.volume("high")
    head = 2.2 - 0.5 * passed / 0.5 - 0.895
    assert passed == pytest.approx(3600.0 * through(0.002 * 4.0, column(head)), rel=2e-3)
    assert passed == pytest.approx(2.86 * LITRE, abs=0.02 * LITRE)
    assert one.volume("low") == pytest.approx(0.05 + passed, abs=1e-6)


@shows(f.VALVE_NOT_CONFIRMING)
def _() -> None:
    for wrong, seen in (((), 1), (("lift not confirming",), 0)):
        one = Wired(*wrong)
        one.set_opening("lift", 1.0)
        assert one.level("lift.open_end", 1_000) == seen


@shows(f.VALVES_CROSSED)
def _() -> None:
    one = bench([("1 s", "drive", "inlet", 1.0)], "inlet crossed dump").play("1 min")
    assert (one.opening("inlet"), one.opening("dump")) == (0.0, 1.0)
    one = bench([("1 s", "drive", "dump", 1.0)], "inlet crossed dump").play("1 min")
    assert (one.opening("inlet"), one.opening("dump")) == (1.0, 0.0)


@shows(f.VALVE_RELAY_WELDED)
def _() -> None:
    acts: list[Act] = [("1 s", "drive", "inlet", 0.0)]
    assert bench(acts, "inlet welded").play("1 min").opening("inlet") == 1.0
    assert bench(acts, "guard welded", "power lost from 10 s").play("1 min").opening("guard") == 0.0, "a spring wins"


# --- pumps and checks -------------------------------------------------------------------------


@shows(f.PUMP_RELAY_WELDED)
def _() -> None:
    acts: list[Act] = [COCK_OPEN, ("0 s", "tap", "tap", 1.0), ("0 s", "pump", "pump", 0.0)]
    assert bench(acts).play("1 min").flow("tap") == pytest.approx(0.0, abs=STILL_FLOW)
    one = bench(acts, "pump welded").play("1 min")
    assert one.entry(at.TURNING)
    assert one.flow("tap") > 5.0 * LITRE / 60.0


@shows(f.PUMP_FAILED)
def _() -> None:
    acts: list[Act] = [COCK_OPEN, PUMP_ON, ("0 s", "tap", "tap", 1.0)]
    one = bench(acts, "pump failed from 1 min").play("50 s")
    assert one.flow("tap") > 5.0 * LITRE / 60.0
    one.play("5 min")
    assert not one.entry(at.TURNING)
    # What the cushion held is drawn; low stands below the tap, and nothing comes.
    assert one.flow("tap") == pytest.approx(0.0, abs=STILL_FLOW)


@shows(f.PUMP_RUNNING_ON)
def _() -> None:
    """All closed: the pressure rises past the switch's 2.8 bar to the curve's 3.4 bar at no flow."""
    healthy, wrong = bench([PUMP_ON]).play("10 min"), bench([PUMP_ON], "pump running on").play("10 min")
    assert not healthy.entry(at.TURNING)
    assert column(healthy.head("point", "manifold") - 0.7) == pytest.approx(2.8e5, rel=0.01)
    assert wrong.entry(at.TURNING)
    lift = column(wrong.head("point", "manifold") - surface(wrong, "low"))
    assert lift == pytest.approx(3.4e5, rel=2e-3)


@shows(f.PUMP_LEAKING_BACK)
def _() -> None:
    """Shore pressure at the manifold fills a tank backwards through the standing pump: 30 % of its way's Kv."""
    acts: list[Act] = [("0 s", "hose", "mains", 2e5)]
    assert bench(acts).play("10 min").volume("low") == pytest.approx(0.05, abs=1e-9)
    one = bench(acts, "pump leaking back 30 %").play("10 min")
    pressure = column(one.head("point", "manifold") - surface(one, "low"))
    back = -one.flow("pump")
    assert back == pytest.approx(through(0.3 * 1.0, pressure), rel=2e-3)
    assert one.volume("low") > 0.05 + 50 * LITRE
    guarded = changed(RIG, checks={"foot_check": {"kv": "2 m3/h"}})
    guarded["lines"][2]["through"].append("foot_check")
    held = Bench(guarded, acts, ["pump leaking back 30 %"]).play("10 min")
    assert held.volume("low") == pytest.approx(0.05, abs=1e-9), "a sound check valve behind it holds"
    both = Bench(guarded, acts, ["pump leaking back 30 %", "foot_check leaking 20 %"]).play("10 min")
    pressure = column(both.head("point", "manifold") - surface(both, "low"))
    assert -both.flow("pump") == pytest.approx(through(0.2 * series(1.0, 2.0), pressure), rel=2e-3)


@shows(f.CHECK_LEAKING)
def _() -> None:
    """Drinking water runs back into the mains, whose pressure has gone: through hose and 30 % of Kv 1 m3/h."""
    acts: list[Act] = [PUMP_ON, ("1 min", "hose", "mains", 0.0)]
    assert bench(acts).play("2 min").flow("mains_check") == 0.0
    one = bench(acts, "mains_check leaking 30 %", pipes={"hose": {"length": "1 mm"}}).play("2 min")
    # Mains and manifold are equally high.
    pressure = column(one.head("point", "manifold") - 0.7)
    assert -one.flow("mains_check") == pytest.approx(through(0.3, pressure), rel=0.02)
    tap = bench([COCK_OPEN, ("0 s", "tap", "tap", 1.0)], "pump leaking back 30 %").play("1 min")
    assert tap.flow("tap") == 0.0, "no water comes out of an open tap into the pipes"


# --- ports ------------------------------------------------------------------------------------


@shows(f.REGULATOR_FAILED)
def _() -> None:
    """6 bar in place of 2 bar: 1.73 times the flow, less the static head."""
    kv = series(2.0, 0.5, 4.0)
    for faults, pressure in (
        ((), 2e5),
        (("shore regulator failed 6 bar",), 6e5),
        (("shore regulator failed 1 bar",), 2e5),
    ):
        one = bench(FILLING, *faults).play("30 s")
        assert one.flow("shore") == pytest.approx(through(kv, pressure + column(0.9 - 0.895)), rel=2e-3)


@shows(f.WRONG_HOSE)
def _() -> None:
    """The same as a rig that has that hose; and only the port's own."""
    acts: list[Act] = [("0 s", "hose", "mains", 2e5), ("0 s", "drive", "lift", 1.0), *FILLING]
    narrow = {"pipes": {"hose": {"bore": "12.5 mm"}}}
    wide = {"pipes": {"hose": {"bore": "20 mm"}}}
    healthy, wrong = bench(acts, **narrow).play("30 s"), bench(acts, "mains wrong hose 1.6", **narrow).play("30 s")
    assert wrong.flow("hose") == pytest.approx(bench(acts, **wide).play("30 s").flow("hose"), rel=5e-3)
    assert wrong.flow("hose") > 1.4 * healthy.flow("hose")
    assert wrong.flow("shore") == pytest.approx(healthy.flow("shore"), rel=1e-6)
    assert bench(acts, "shore wrong hose 1.6", **narrow).play("30 s").flow("hose") == pytest.approx(
        healthy.flow("hose"), rel=1e-6
    )


@shows(f.OUTFALL_BLOCKED)
def _() -> None:
    """From 0.6 m to the outfall at 0.3 m: half the passage, half the flow; none when it is plugged."""
    kv = series(2.0, 4.0)
    for part in (1.0, 0.5, 0.0):
        one = bench(DUMPING, f"outfall blocked {100 * part} %").play("10 s")
        head = column(surface(one, "gray") - 0.3)
        assert one.flow("outfall") == pytest.approx(part * through(kv, head), rel=2e-3)


@shows(f.OUTFALL_BACK_PRESSURE)
def _() -> None:
    """5 kPa at 0.3 m stand 0.510 m higher, at 0.810 m: waste runs back into gray from 0.6 m up to there."""
    one = bench(DUMPING, "outfall back-pressure 5 kPa").play("10 s")
    level = 0.3 + 5e3 / column(1.0)
    assert one.flow("outfall") == pytest.approx(
        -through(series(2.0, 4.0), column(level - surface(one, "gray"))), rel=2e-3
    )
    one.play("1 h")
    assert surface(one, "gray") == pytest.approx(level, abs=1e-4)


# --- links and boards (Marram, its own sequences) -----------------------------------------------


@shows(f.LINK_LOST)
def _() -> None:
    """The lease is 3 s, the longest stroke 8 s, a call at most 0.5 s + 0.4 s old: closed within 11.9 s."""
    lost = played("port_board lost from 300 s")
    lapses = lost.rows(P_LAPSE, value=1, after=300_000)
    assert lapses
    assert 301_000 <= lapses[0] <= 303_000
    assert lost.opening("shore_in", 299) == 1.0
    assert lost.opening("shore_in", 312) == 0.0
    assert lost.opening("shore_guard", 304) == 0.0


@shows(f.LINK_DELAYED)
def _() -> None:
    """A delay of 4 s outlives every lease of 3 s: the board never drives anything for longer than none."""
    late = played("port_board delayed 4 s from 300 s")
    assert late.opening("shore_in", 320) == 0.0
    some = played("port_board delayed 1 s from 300 s")
    assert some.opening("shore_in", 320) == 1.0, "a delay within the lease does no harm"
    assert not some.rows(P_LAPSE, value=1, after=300_000)


@shows(f.LINK_DUPLICATED)
def _() -> None:
    """The second copy is older than what is in hand, and is dropped: the fill goes on as in health."""
    one = Wired("port_board duplicated 2 s")
    one.read("shore_meter", range(0, 6_000, 1_000))
    arrivals = one.arrivals("shore_meter")
    assert len(arrivals) == 2 * 6
    assert arrivals[1] - arrivals[0] == 2_000
    assert one.heard_ms("shore_meter", 8_000) == 5_000
    assert played("port_board duplicated 2 s from 300 s").end("belly") == pytest.approx(
        played().end("belly"), abs=0.5e-3
    )


@shows(f.POWER_LOST)
def _() -> None:
    one = bench([*FILLING, PUMP_ON, COCK_OPEN, ("0 s", "tap", "tap", 1.0)], "power lost from 20 s").play("30 s")
    assert one.opening("guard") == 0.0, "the spring closes"
    assert one.opening("inlet") == 1.0, "what stays, stays"
    assert not one.entry(at.TURNING)
    dark = played("power lost from 300 s")
    assert dark.rows(P_POWER, value=0) == [300_000]
    assert dark.opening("shore_guard", 301) == 0.0
    assert dark.at("flow.shore to belly.top", 310) == 0.0


@shows(f.POWER_CUT_TWICE)
def _() -> None:
    """3 s dark, 5 s light, dark again: the charge of 20 s went at the first cut, and the valve stays open."""
    acts: list[Act] = [("0 s", "drive", "drop", 1.0)]
    once = bench(acts, "power lost from 60 s").play("70 s")
    assert once.opening("drop") == 0.0
    twice = bench(acts, "power cut twice from 60 s").play("62 s")
    assert twice.opening("drop") == pytest.approx(1.0 - 2.0 / 4.0)
    assert twice.play("67.5 s").opening("drop") == 1.0
    assert twice.play("2 min").opening("drop") == 1.0


@shows(f.BROWN_OUT)
def _() -> None:
    """Below the motor's 9 V it stops midway; a pump at 8 V of 12.8 V gives its curve at that speed (affinity laws)."""
    one = bench([("1 s", "drive", "inlet", 1.0)], "brown-out 8 V from 3 s").play("1 min")
    assert one.opening("inlet") == pytest.approx(2.0 / 4.0)
    assert bench([("1 s", "drive", "inlet", 1.0)], "brown-out 9.5 V from 3 s").play("1 min").opening("inlet") == 1.0
    weak = bench([PUMP_ON], "brown-out 8 V").play("10 min")
    lift = column(weak.head("point", "manifold") - surface(weak, "low"))
    # The cushion is filled to 2 mL, which its gas shows as 0.5 kPa.
    assert lift == pytest.approx(3.4e5 * (8.0 / 12.8) ** 2, rel=5e-3)
    both = bench([PUMP_ON], "brown-out 6 V", "brown-out 8 V").play("1 min")
    assert both.entry(at.SPEED) == pytest.approx(6.0 / 12.8), "the worse of two counts"


@shows(f.CONTROLLER_RESTARTED)
def _() -> None:
    """The fill is forgotten, its valves close, and it waits for a person."""
    one = played("controller restarted from 300 s")
    assert one.rows(P_CONTROLLER, value=0) == [300_000]
    assert one.rows(P_CONTROLLER, value=1) == [300_000]
    assert one.opening("shore_in", 315) == 0.0
    assert one.end("belly") < played().end("belly") - 10 * LITRE


@shows(f.SUPERVISOR_GONE)
def _() -> None:
    one = played("supervisor gone from 300 s")
    lapses = one.rows(P_LAPSE, value=1, after=300_000)
    assert 301_000 <= lapses[0] <= 303_000
    assert one.opening("shore_in", 312) == 0.0
    assert one.rows(P_CONTROLLER, value=1, after=300_001) == []


# --- tanks and pipes --------------------------------------------------------------------------


@shows(f.VENT_BLOCKED)
def _() -> None:
    """What cannot breathe neither fills nor drains; a vent half as clear has four times the loss."""
    assert bench(DUMPING).play("1 min").flow("outfall") > 0.05 * LITRE
    assert bench(DUMPING, "gray vent blocked").play("1 min").flow("outfall") == pytest.approx(0.0, abs=1e-9)
    assert bench(FILLING).play("1 min").flow("shore") > 0.1 * LITRE
    shut = bench(FILLING, "low vent blocked").play("1 min")
    assert shut.flow("shore") == pytest.approx(0.0, abs=1e-9)
    # The whole pressure of the shore stands over the water in the tank.
    assert column(shut.head("gas", "low") - surface(shut, "low")) == pytest.approx(2e5, rel=1e-3)
    over = {}
    for part in (20, 10):
        one = bench(FILLING, f"low vent blocked {part} %", tanks={"low": {"vent": {"bore": "8 mm", "length": "1 mm"}}})
        one.play("1 min")
        over[part] = (one.head("gas", "low") - surface(one, "low")) / one.flow("shore") ** 2
    assert over[10] / over[20] == pytest.approx(4.0, rel=0.05)


@shows(f.HOSE_BURST)
def _() -> None:
    """A hole as wide as the hose, Cd 0.61, at the shore's 2 bar: all that the orifice lets go."""
    acts: list[Act] = [("0 s", "hose", "mains", 2e5)]
    one = bench(acts, "hose burst from 10 s").play("5 s")
    assert one.flow("burst of hose") == 0.0
    one.play("30 s")
    hole = ORIFICE * 0.25 * pi * 0.0125**2 * sqrt(2.0 * 2e5 / 1000.0)
    assert one.flow("burst of hose") == pytest.approx(hole, rel=2e-3)
    half = bench(acts, "hose burst 50 %").play("30 s")
    assert half.flow("burst of hose") == pytest.approx(0.5 * hole, rel=2e-3)


@shows(f.JERRYCAN)
def _() -> None:
    """20 L at 20 L a minute, with every valve closed; what the brim does not hold runs indoors."""
    one = bench([], "low jerrycan 20 L from 10 s").play("40 s")
    assert one.volume("low") == pytest.approx(0.05 + 10 * LITRE, abs=1e-6)
    assert one.play("2 min").volume("low") == pytest.approx(0.05 + 20 * LITRE, abs=1e-6)
    whole = capacity(one.rig.tanks["low"])
    full = bench([], "low jerrycan 20 L", tanks={"low": {"starts_with": "95 %"}}).play("2 min")
    assert full.volume("low") == pytest.approx(whole, abs=1e-6)
    row = full.world.n[at.LINKS] + full.world.n[at.TANKS] + list(full.rig.tanks).index("low")
    spill = full.works.plumbing.link_of["spill", "low"]
    assert full.entry(at.THROUGH, row) + full.entry(at.THROUGH, spill) == pytest.approx(10 * LITRE, abs=1e-5)


# --- what all of them have in common ------------------------------------------------------------

NONE_AT = {
    f.SENDER_OFFSET: 0.0,
    f.SENDER_NOISY: 0.0,
    f.VALVE_SLOW: 1.0,
    f.VALVE_SEEPING: 0.0,
    f.PUMP_LEAKING_BACK: 0.0,
    f.CHECK_LEAKING: 0.0,
    f.REGULATOR_FAILED: 0.0,
    f.WRONG_HOSE: 1.0,
    f.OUTFALL_BLOCKED: 1.0,
    f.OUTFALL_BACK_PRESSURE: 0.0,
    f.LINK_DELAYED: 0.0,
    f.LINK_DUPLICATED: 0.0,
    f.BROWN_OUT: 12.8,
    f.VENT_BLOCKED: 1.0,
    f.HOSE_BURST: 0.0,
    f.JERRYCAN: 0.0,
}
"""The amount at which a fault is none."""


@pytest.mark.parametrize("kind", [k for k in f.KINDS if k.dimension], ids=lambda kind: f"{kind.of}-{kind.word}")
def test_a_fault_of_no_amount_is_health(kind: f.Kind) -> None:
    """Faults contain health: else a proof against all faults would not be one for the day nothing is wrong."""
    assert kind.code in NONE_AT, "a kind whose amount has no neutral value in the table"
    assert kind.least <= NONE_AT[kind.code] <= kind.most
    if kind.code != f.HOSE_BURST:  # it brings a place of its own
        healthy, wrong = Wired().columns(), Wired(on_first_part(kind.code, NONE_AT[kind.code])).columns()
        differs = {name for name in healthy if healthy[name] != wrong[name]}
        assert differs <= {"leaking", "brown_out", "pressure_instead", "supply"}, "marks of a fault that does nothing"
    if kind.of in RIG or not kind.of:
        acts: list[Act] = [*FILLING, *DUMPING, PUMP_ON, COCK_OPEN, ("5 s", "tap", "tap", 1.0)]
        parts = [""] if not kind.of else [p for p in RIG[kind.of] if f.befalls(Bench(RIG).rig, kind, p)]
        plain = bench(acts).play("1 min")
        for part in parts:
            same_plant = bench(acts, f.Fault(kind.code, part, "", NONE_AT[kind.code])).play("1 min")
            for name in RIG["tanks"]:
                assert same_plant.volume(name) == pytest.approx(plain.volume(name), abs=2e-6)


@pytest.mark.parametrize("kind", f.KINDS, ids=lambda kind: f"{kind.of}-{kind.word}")
def test_a_fault_that_ends_leaves_nothing_behind(kind: f.Kind) -> None:
    """A fault that stays after its end makes every later minute of the run a lie."""
    one = Wired(on_first_part(kind.code, kind.usual, 1_000, 2_000))
    before = one.columns()
    inflict(one.world.n, one.world.r, one.world.records, 1_500)
    during = one.columns()
    inflict(one.world.n, one.world.r, one.world.records, 2_500)
    if kind.code != f.CONTROLLER_RESTARTED:  # an edge only: the loop does it
        assert during != before
    left = {name for name, values in one.columns().items() if values != before[name]}
    assert left <= {"supply"}, "the sag of a brown-out counts only while there is one"


@pytest.mark.parametrize("fault", list(f.single_faults(Bench(RIG).rig)), ids=str)
def test_no_fault_makes_or_loses_water(fault: f.Fault) -> None:
    """Water that comes from nowhere hides a flood: every vessel holds what the ledger says, to a millilitre."""
    acts: list[Act] = [*FILLING, *DUMPING, PUMP_ON, COCK_OPEN, ("5 s", "tap", "tap", 1.0), ("1 min", "tap", "tap", 0.0)]
    acts += [("20 s", "hose", "mains", 1e5), ("90 s", "drive", "inlet", 0.0), ("90 s", "drive", "lift", 1.0)]
    one = bench(acts, replace(fault, start_ms=30_000, end_ms=100_000)).play("3 min")
    change(*one.world, one.now_s)
    count, ledger = one.works.counts, one.works.integers
    volumes = [one.entry(at.VOLUME, v) for v in range(count["vessels"])]
    starts = [tank.starts_with * capacity(tank) for tank in one.works.rig.tanks.values()] + [0.0] * count["cushions"]
    for v, (start, volume) in enumerate(zip(starts, volumes, strict=True)):
        moved = sum(
            one.entry(at.THROUGH, row) * ((ledger["led_to"][row] == v) - (ledger["drawn_from"][row] == v))
            for row in range(count["rows"])
        )
        assert volume - start == pytest.approx(moved, abs=1e-6)
        assert volume >= 0.0
    assert one.entry(at.UNSETTLED) == 0


def test_nothing_befalls_what_cannot_have_it() -> None:
    """A fault on a part that has no such thing would write into another part's column."""
    rig = Bench(RIG).rig
    for words in ("cock stuck", "inlet crossed cock", "outfall regulator failed", "shore back-pressure", "tap stuck"):
        with pytest.raises(f.FaultError):
            f.read_fault(rig, words)
    told = {str(fault) for fault in f.single_faults(rig)}
    assert told >= {"inlet stuck", "drop crossed inlet", "power lost", "cock seeping"}
    assert not told & {"cock stuck", "cock crossed inlet", "outfall wrong hose"}


@pytest.mark.parametrize(
    ("words", "start_ms", "end_ms"),
    [
        ("lost from 8:00:20 to 8:10", 28_820_000, 29_400_000),
        ("lost from 90 s to 0:02", 90_000, 120_000),
        ("lost from 2 h", 7_200_000, f.NEVER_MS),
    ],
)
def test_the_times_of_a_fault_are_written_as_in_a_scenario(words: str, start_ms: int, end_ms: int) -> None:
    """A form that holds in one place only is a trap: the fault is refused, or begins at another time."""
    rig = Bench(RIG).rig
    fault = f.read_fault(rig, f"power {words}")
    assert (fault.start_ms, fault.end_ms) == (start_ms, end_ms)
    with pytest.raises(f.FaultError):
        f.read_fault(rig, "power lost from 8:70")
