"""The section on electricity: what is STOP, what is looked at, and what is named as not known."""

from __future__ import annotations

from time import perf_counter

import pytest

from tests.unit.review.shown import shown
from tests.unit.rig.breaking import Edits, changed, seen
from ullage.review import electric
from ullage.review.judgement import Judgement, limits
from ullage.review.matter import Bars, Section, Table

PUMP = "switch: {cut_in: 1.4 bar, cut_out: 2.8 bar}, board"
BOARDS = "boards: {main_board: {link: wired}"
HANDSET = "handset:\n"
DUMP = "kv: 40 m3/h, motor: {stroke: 4 s .. 8 s, without_power: spring closed"
FAR = "far_board: {link: radio"
MOTORS = (
    "guard: {kind: solenoid, kv: 2 m3/h, motor: {without_power: spring closed",
    "inlet_valve: {kind: ball, kv: 4 m3/h, motor: {stroke: 3 s .. 6 s",
    "rinse_valve: {kind: ball, kv: 4 m3/h, motor: {stroke: 3 s .. 6 s",
    DUMP,
)
POWER = "power: {voltage: 12.8 V, least: 10.8 V, capacity: 100 Ah}\n"
BOARD_WIRE = "{length: 1 m, size: 10 mm2, fuse: 30 A}"
PUMP_WIRE = "{length: 4 m, size: 2.5 mm2, fuse: 10 A}"
WAKES = "{message: {draws: 45 mA, lasts: 120 ms, every: 5 s}}"


def section(
    pump: str = f"draws: 7 A, wire: {PUMP_WIRE}", board: str = f"wire: {BOARD_WIRE}", more: str = ""
) -> Section:
    """The section of the sound rig with figures of its pump and its board."""
    edits: Edits = {
        PUMP: PUMP.replace("board", f"{pump}, board" if pump else "board"),
        BOARDS: f"{POWER}{more}{BOARDS.replace('wired', f'wired, {board}' if board else 'wired')}",
    }
    return electric.section(seen(changed(edits), "sound.yaml"))


def judged(of: Section, code: str, on: str = "pump") -> Judgement:
    """The one judgement of a code on a part."""
    (found,) = [judgement for judgement in of.judgements if (judgement.code, judgement.on) == (code, on)]
    return found


@pytest.mark.parametrize(
    ("size", "serves", "grade"),
    [
        ("4 mm2", "safety", "PASS"),
        ("2.5 mm2", "safety", "LOOK"),
        ("1 mm2", "other", "PASS"),
        ("0.75 mm2", "other", "LOOK"),
    ],
)
def test_a_drop_is_judged_by_its_class(size: str, serves: str, grade: str) -> None:
    """A bilge pump with a tenth of its voltage gone lifts no water (7 A over 2 x 3.4 m, the board's wire before it)."""
    of = section(f"draws: 7 A, wire: {{length: 3.4 m, size: {size}, serves: {serves}, fuse: 10 A}}")
    assert judged(of, "E10").grade == grade


@pytest.mark.parametrize("serves", ["safety", "other"])
def test_the_size_that_is_told_passes_when_it_is_taken(serves: str) -> None:
    """A remedy that is no remedy costs a loom."""
    wire = "{{length: 6 m, size: {}, serves: {}, fuse: 10 A}}"
    bad = judged(section(f"draws: 7 A, wire: {wire.format('0.75 mm2', serves)}"), "E10")
    assert bad.grade == "LOOK"
    for size in bad.because.rpartition("; ")[2].removesuffix(" would do").split(" or "):
        assert judged(section(f"draws: 7 A, wire: {wire.format(size, serves)}"), "E10").grade == "PASS"


def test_where_the_wire_of_the_board_takes_all_it_is_said() -> None:
    """No pump wire is thick enough behind a bell wire."""
    of = section(board="wire: {length: 9 m, size: 1 mm2, fuse: 10 A}")
    assert "a thicker wire to its board" in judged(of, "E10").because


def test_a_wire_that_grows_too_hot_is_stop() -> None:
    """Fire."""
    assert judged(section("draws: 30 A, wire: {length: 1 m, size: 2.5 mm2, fuse: 25 A}"), "E11").grade == "STOP"
    assert judged(section("draws: 25 A, wire: {length: 1 m, size: 2.5 mm2, fuse: 25 A}"), "E11").grade == "PASS"
    thin = judged(section("draws: 0.5 A, wire: {length: 1 m, size: 0.5 mm2, fuse: 2 A}"), "E11")
    assert thin.grade == "LOOK"
    assert limits()["E11"].caution


@pytest.mark.parametrize(
    ("pump", "grade"),
    [
        ("draws: 7 A, wire: {length: 1 m, size: 2.5 mm2, fuse: 25 A}", "PASS"),
        ("draws: 7 A, wire: {length: 1 m, size: 2.5 mm2, fuse: 25.1 A}", "STOP"),
        ("draws: 7 A, wire: {length: 1 m, size: 2.5 mm2, fuse: 8.7 A}", "LOOK"),
        ("draws: 7 A, wire: {length: 1 m, size: 2.5 mm2, fuse: 8.75 A}", "PASS"),
        ("draws: 7 A, inrush: 30 A, wire: {length: 1 m, size: 2.5 mm2, fuse: 10 A}", "LOOK"),
        ("draws: 7 A, inrush: 30 A, wire: {length: 1 m, size: 2.5 mm2, fuse: 15 A}", "PASS"),
        ("draws: 7 A, wire: {length: 1 m, size: 2.5 mm2}", "STOP"),
        ("draws: 7 A, wire: {length: 1 m, size: 4 mm2}", "PASS"),
    ],
)
def test_a_fuse_guards_its_wire(pump: str, grade: str) -> None:
    """A fuse above what the wire bears, its own or the board's of 30 A, is a fire; one too small is bridged."""
    assert judged(section(pump), "E12").grade == grade


def test_a_wire_without_any_fuse_is_looked_at_and_one_is_suggested() -> None:
    """Nobody adds the fuse that nobody missed."""
    of = section("draws: 7 A, wire: {length: 1 m, size: 2.5 mm2}", board="wire: {length: 1 m, size: 10 mm2}")
    bare = judged(of, "E12")
    assert (bare.grade, bare.missing) == ("LOOK", ("pumps.pump.wire.fuse",))
    assert "10 A is suggested" in bare.because
    assert limits()["E12"].caution


def test_a_start_at_low_battery() -> None:
    """A pump that hums without turning burns out on the last evening of a battery."""
    pump = f"draws: 7 A, inrush: 20 A, wire: {PUMP_WIRE}"
    assert judged(section(f"{pump}, least_voltage: 9 V"), "E13").grade == "PASS"
    assert judged(section(f"{pump}, least_voltage: 10 V"), "E13").grade == "LOOK"
    assert judged(section(pump), "E13").missing == ("pumps.pump.least_voltage",)
    known = judged(section(f"draws: 7 A, least_voltage: 9 V, wire: {PUMP_WIRE}"), "E13")
    assert (known.grade, known.missing) == ("LOOK", ("pumps.pump.inrush",))
    assert judged(section(f"{pump}, least_voltage: 9 V", board=""), "E13").missing == ("boards.main_board.wire",)


def test_a_motor_valve_starts_or_is_looked_at() -> None:
    """A valve that has not enough voltage stops wherever it is."""
    wire = "wire: {length: 4 m, size: 0.75 mm2, fuse: 2 A}"
    edits = {
        DUMP: f"{DUMP}, draws: 5 A, least_voltage: 10.1 V, {wire}",
        BOARDS: BOARDS.replace("wired", "wired, wire: " + BOARD_WIRE),
    }
    of = electric.section(seen(changed({**edits, BOARDS: POWER + edits[BOARDS]}), "sound.yaml"))
    assert judged(of, "E13", "dump").grade == "LOOK"


def test_the_battery_alone() -> None:
    """Two days without sun are a matter of course; a day whose parts are not all known promises nothing."""
    fridge = "loads: {{fridge: {{draws: {} A, daily: 10 h}}}}\n"
    of = section(more=fridge.format(2))
    assert judged(of, "E20", "battery").grade == "LOOK"
    assert "pumps.pump.daily" in judged(of, "E20", "battery").missing
    known = {PUMP: PUMP.replace("board", "draws: 7 A, daily: 6 min, board"), FAR: f"{FAR}, draws: 30 mA"}
    known.update({motor: f"{motor}, daily: 1 min" for motor in MOTORS})
    for current, grade in ((1.5, "PASS"), (4.0, "LOOK")):
        loads = {BOARDS: POWER + fridge.format(current) + BOARDS.replace("wired", "wired, draws: 50 mA")}
        found = judged(electric.section(seen(changed({**known, **loads}), "sound.yaml")), "E20", "battery")
        assert (found.grade, found.missing) == (grade, ())


def test_the_handset() -> None:
    """A handset that is empty after four days is empty at the fill port."""
    of = section(more="").judgements
    (bare,) = [judgement for judgement in of if judgement.code == "E30"]
    assert (bare.grade, bare.missing) == ("LOOK", ("handset.battery", "handset.sleeps", "handset.wakes"))
    for battery, grade in (("600 mAh", "PASS"), ("150 mAh", "LOOK")):
        told = {HANDSET: f"{HANDSET}  battery: {battery}\n  sleeps: 60 uA\n  wakes: {WAKES}\n"}
        assert judged(electric.section(seen(changed(told), "sound.yaml")), "E30", "handset").grade == grade


def test_what_is_not_described_is_named_and_what_stands_in_is_said() -> None:
    """A figure nobody gave must not look like one somebody measured."""
    of = section()
    unwired = judged(of, "E10", "wires").missing
    assert "valves.dump.motor.wire" in unwired
    assert "pumps.pump.wire" not in unwired
    text = " ".join(of.assumed)
    for field in ("wire.serves", "valves.NAME.motor.draws", "motor.least_voltage", "power.usable", "power.quicker"):
        assert field in text
    assert "power.least" not in text
    assert "power.least" in " ".join(electric.section(seen(changed({}), "sound.yaml")).assumed)


def test_marram_holds_and_is_quick() -> None:
    """The demo rig has nothing to look at, every wire of it is judged, and a review is not waited for."""
    view = shown()
    electric.section(view)
    begun = perf_counter()
    marram = electric.section(view)
    assert perf_counter() - begun < 0.05
    assert {judgement.grade for judgement in marram.judgements} == {"PASS"}
    assert {judgement.code for judgement in marram.judgements} == {code for code in limits() if code[0] == "E"}
    wires = next(part for part in marram.matter if isinstance(part, Table) and part.title == "Wires")
    assert len(wires.rows) == 15
    for bars in (part for part in marram.matter if isinstance(part, Bars)):
        assert all(amount >= 0.0 for _, parts in bars.rows for _, amount in parts)
