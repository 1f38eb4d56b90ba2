"""What each fault does to the finite plant, and where readings, floats and supplies turn at worst."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from tests.shipped import marram
from ullage.control import codes
from ullage.control.program import Program
from ullage.control.timers import SCAN_LATE
from ullage.plant import faults as f
from ullage.plant.bands import Bands, Turn
from ullage.plant.faults import read_fault, single_faults
from ullage.plant.gates import Gate
from ullage.plant.harmed import ML, NO_HARMS, Harms, asked_alike, harms_of
from ullage.plant.senders import SLOSH_FLOW
from ullage.rig.model import Rig
from ullage.rig.sensing import NOISE_WIDTH

TAPS_SHUT = frozenset[str]()


def rig() -> Rig:
    """Marram."""
    found = marram().rig
    assert found is not None
    return found


def program() -> Program:
    """Marram's law."""
    found = marram().program
    assert found is not None
    return found


@cache
def bands(*faults: str) -> Bands:
    """Marram's finite plant under some faults."""
    return Bands(rig(), program(), harms(*faults), None if not faults else bands())


def harms(*faults: str) -> Harms:
    """What some faults do."""
    return harms_of(rig(), program(), [read_fault(rig(), fault) for fault in faults])


STAY = {"lift", "loft_return", "rinse", "shore_in"}
"""Valves that stay where they are without power."""


@pytest.mark.parametrize(
    ("fault", "lies", "freezes", "wills", "seeps", "restarts"),
    [
        ("belly_level stuck", {"belly_level"}, set(), set(), set(), False),
        ("belly_level swapped loft_level", {"belly_level", "loft_level"}, set(), set(), set(), False),
        ("house_meter jammed", {"house_meter"}, set(), set(), set(), False),
        ("lift stuck", set(), {"lift"}, set(), set(), False),
        ("lift seeping", set(), set(), set(), {"lift"}, False),
        ("lift welded", set(), set(), {"lift"}, set(), False),
        ("water_pump welded", set(), set(), {"water_pump"}, set(), False),
        ("lift crossed loft_return", set(), set(), {"lift", "loft_return"}, set(), False),
        ("power lost", set(), STAY, set(), set(), True),
        ("power cut twice", set(), STAY, set(), set(), True),
        ("brown-out", set(), STAY, set(), set(), True),
        ("controller restarted", set(), set(), set(), set(), True),
        ("supervisor gone", set(), set(), set(), set(), True),
    ],
)
def test_a_fault_is_followed_as_what_it_does(
    fault: str, lies: set[str], freezes: set[str], wills: set[str], seeps: set[str], restarts: bool
) -> None:
    """A fault that is lost on its way into the proof is proved harmless."""
    found = harms(fault)
    assert (found.lies, found.freezes, found.wills, found.seeps) == (lies, freezes, wills, seeps)
    assert found.restarts is restarts
    both = harms(fault, "gray_level noisy", "gray jerrycan 1 L")
    assert both.lies == lies | {"gray_level"}
    assert (both.freezes, both.wills, both.seeps, both.restarts) == (freezes, wills, seeps, restarts)
    assert both.pours == {"gray": 1000}


@pytest.mark.parametrize(
    ("fault", "wet", "dry", "bridged"),
    [
        ("belly_float broken", True, False, False),
        ("belly_float stuck wet", True, False, False),
        ("belly_float stuck dry", False, True, False),
        ("belly_bottom stuck wet", True, False, True),
        ("belly_bottom stuck dry", False, True, False),
        ("belly_bottom broken", False, True, False),
    ],
)
def test_a_float_that_hangs_reads_one_thing_only(fault: str, wet: bool, dry: bool, bridged: bool) -> None:
    """One that hangs wet trips an interlock; followed as one that reads anything it would never let anything be proved.

    In series with the pump a float that is made while it is wet leaves it its supply only when it hangs wet.
    """
    part, found = frozenset({fault.partition(" ")[0]}), harms(fault)
    assert (found.wet, found.dry, found.bridged) == tuple(part if so else frozenset() for so in (wet, dry, bridged))
    assert found.lies == frozenset()
    row = next(row for row in range(len(program().tables.op)) if is_float(row, "belly_float"))
    turn, healthy = bands(fault).turn(row), bands().turn(row)
    assert turn is not None
    assert healthy is not None
    if "belly_float" in part:
        assert turn.true == (0 if wet else healthy.true)
        assert turn.false == (bands().edges["belly"][-1] if dry else healthy.false)


def test_a_slow_valve_comes_there_after_as_many_times_its_stroke() -> None:
    """Followed as one that never comes there it would be asked about twice, and as a healthy one never."""
    lift, slow = bands().gates["lift"], bands("lift slow").gates["lift"]
    assert harms("lift slow").slows == {"lift": 3.0}
    strokes = 6_000 / program().scan_ms
    assert scans_to_shut(slow) - scans_to_shut(lift) == pytest.approx(2 * strokes, abs=1)
    assert scans_to_shut(bands("lift slow 1").gates["lift"]) == scans_to_shut(lift)


def scans_to_shut(gate: Gate) -> int:
    """After how many scans a gate that was asked to shut is shut for certain."""
    opened, scans = set(gate.moves[gate.starts[0]][1]), 0
    while any(not gate.shut[state] for state in opened):
        opened, scans = {to for state in opened for to in gate.moves[state][0]}, scans + 1
    return scans


def is_float(row: int, name: str) -> bool:
    """Whether a truth row is a float."""
    t = program().tables
    return t.op[row] == codes.T_FLAG and program().names.signals[t.left[row]].part == name


def test_every_fault_of_the_catalogue_does_something_or_is_said_to_do_nothing() -> None:
    """A kind of fault that somebody adds and the proof does not know counts as health."""
    nothing = {f.LINK_LOST, f.LINK_DELAYED, f.LINK_DUPLICATED, f.PUMP_FAILED, f.PUMP_RUNNING_ON}
    nothing |= {f.OUTFALL_BLOCKED, f.VALVE_NOT_CONFIRMING, f.SENDER_DEAD}
    for fault in single_faults(rig()):
        alike = fault.kind == f.VALVES_CROSSED and asked_alike(program(), fault.part, fault.other)
        assert (harms_of(rig(), program(), [fault]) == NO_HARMS) is (fault.kind in nothing or alike), str(fault)


def test_valves_that_are_always_asked_the_same_may_be_crossed() -> None:
    """Those that are not are wired to what the law means for another one."""
    assert asked_alike(program(), "shore_guard", "shore_in")
    assert not asked_alike(program(), "lift", "loft_return")
    assert harms("shore_guard crossed shore_in") == NO_HARMS
    t = program().tables
    later = list(t.output_lease_ms)
    later[program().output("shore_in")] += 1000
    changed = replace(program(), tables=t._replace(output_lease_ms=tuple(later)))
    assert not asked_alike(changed, "shore_guard", "shore_in")


def test_cans_add_up_and_flows_come_together() -> None:
    """Two cans are more than one, and a burst hose under too much pressure more than either."""
    assert harms("belly jerrycan 5 L", "belly jerrycan 10 L").pours == {"belly": 15_000}
    one, other, both = harms("shore regulator failed 8 bar", "shore_check leaking 50 %").reaches
    assert one.pressures == {"shore": 8e5}
    assert other.leaks == {"shore_check": 0.5}
    assert (both.pressures, both.leaks, both.of) == (one.pressures, other.leaks, {"shore", "shore_check"})


def test_a_scan_may_be_late_and_the_next_one_in_time() -> None:
    """What flows in a scan that is 50 ms late is a tenth more."""
    scan = program().scan_ms
    assert bands().scan == (scan + SCAN_LATE) / 1000
    assert bands().scan_least == (scan - SCAN_LATE) / 1000
    can = bands("belly jerrycan 20 L")
    dry, wet = (one.rate("belly", frozenset(), 0, pours=True)[1] for one in (bands(), can))
    assert wet - dry >= f.POUR_RATE * bands().scan * ML > wet - dry - 1
    assert can.kept("belly") - bands().kept("belly") == 20_000
    assert can.kept("belly", pours=True) == bands().kept("belly")


def test_a_rate_covers_the_strip_and_what_a_scan_adds_to_it() -> None:
    """A level that leaves its strip within a scan flows on as it does beyond."""
    edges = bands().edges["belly"]
    for strip in range(len(edges) - 1):
        low, high = bands().rate("belly", frozenset({"shore_guard", "shore_in"}), strip)
        for content in (edges[strip], edges[strip + 1]):
            beyond = bands().bounds.widest("belly")
            for past in (beyond.least, 0.0, beyond.most):
                volume = min(max(content / ML + past * bands().scan, 0.0), edges[-1] / ML)
                net = bands().bounds.net("belly", frozenset({"shore_guard", "shore_in"}), type(beyond)(volume, volume))
                assert low <= net.least * bands().scan * ML + 1e-6
                assert high >= net.most * bands().scan * ML - 1e-6


def turns() -> list[tuple[str, Turn]]:
    """Each row of the law that turns at a content, with the part it reads."""
    t, names = program().tables, program().names
    found = []
    for row in range(len(t.op)):
        turn = bands().turn(row)
        if turn is not None:
            source = t.left[row] if t.op[row] == codes.T_FLAG else t.term_source[t.left[row]]
            found.append((names.signals[source].part, turn))
    return found


def age(part: str) -> tuple[float, float]:
    """How much a tank may gain and lose [mL] while the oldest reading of a part is in hand."""
    sensor = rig().senders.get(part) or rig().floats[part]
    lag = rig().senders[part].lag if part in rig().senders else 0.0
    net = bands().bounds.widest(sensor.on)
    seconds = sensor.stale + bands().scan + lag
    kept = 0.0 if sensor.on == "belly" else 1000.0  # of the accumulator: nothing runs back through the pump
    return max(net.most, 0.0) * seconds * ML + kept, max(-net.least, 0.0) * seconds * ML


def area(tank: str) -> float:
    """Of a box [m2]."""
    box = rig().tanks[tank].shape
    return box.box.length * box.box.width  # type: ignore[union-attr]


def test_a_float_is_wet_or_dry_by_slope_wave_and_age() -> None:
    """A float that is said to be wet where the rig's slope leaves it dry opens a valve on paper only."""
    seen = 0
    for part, turn in turns():
        if part in rig().floats:
            seen += 1
            switch = rig().floats[part]
            may, must = bands().wets(part)
            whole = area(switch.on) * ML
            assert may <= (switch.at - SLOSH_FLOW) * whole + 1
            assert must >= (switch.at + SLOSH_FLOW) * whole - 1
            gain, loss = age(part)
            assert turn.rises
            assert turn.true <= may - loss
            assert turn.false >= must - 1 + gain
    assert seen >= 3


def test_a_level_is_read_with_its_error_noise_resolution_and_age() -> None:
    """Each of them left out alone lets the proof trust a reading too far."""
    seen = 0
    for part, turn in turns():
        if part in rig().senders and turn.rises:
            seen += 1
            sender = rig().senders[part]
            whole = area(sender.on) * ML
            height = rig().tanks[sender.on].shape.box.height  # type: ignore[union-attr]
            error = sender.error + NOISE_WIDTH * sender.noise + sender.resolution / 2
            gain, loss = age(part)
            width = 2 * (error * height + SLOSH_FLOW) * whole
            assert turn.false - turn.true >= width + gain + loss - 0.002 * height * whole
    assert seen >= 3


def test_a_wish_may_be_any_that_its_range_allows() -> None:
    """A person wishes the fullest tank that the file lets them wish."""
    t, seen = program().tables, 0
    for row in range(len(t.op)):
        turn = bands().turn(row) if t.op[row] == codes.T_LINEAR else None
        terms = range(t.left[row], t.left[row] + t.right[row]) if turn else range(0)
        wishes = [t.term_source[k] - len(t.signal_kind) for k in terms if t.term_source[k] >= len(t.signal_kind)]
        if turn and turn.rises and wishes:
            room = sum(t.parameter_most[wish] - t.parameter_least[wish] for wish in wishes)
            assert room > 10_000
            assert turn.false - turn.true > room
            seen += 1
    assert seen > 0


def test_a_wired_float_gives_the_pump_its_supply_wherever_it_may_be_wet() -> None:
    """Where the float hangs wet a little longer than it should the pump runs on."""
    switch = rig().floats["belly_bottom"]
    found = bands().wired("water_pump")
    assert found is not None
    assert found[0] == "belly"
    assert found[2] == bands().edges["belly"][-1]
    reals, at, floats = bands().bounds.works.reals, list(rig().floats).index("belly_bottom"), len(rig().floats)
    falls, rises = (min(reals[name][at::floats]) * ML for name in ("falls_at", "rises_at"))
    assert found[1] <= falls < rises
    assert found[1] > falls - 1
    assert switch.at * area("belly") * ML > found[1]
    assert bands("belly_bottom stuck wet").wired("water_pump") is None
    assert bands().wired("lift") is None


def test_what_lies_turns_nowhere() -> None:
    """A sender that is stuck reads anything at any content."""
    rows = [row for row in range(len(program().tables.op)) if bands().turn(row) is not None]
    lying = bands("belly_level stuck", "loft_level swapped belly_level")
    for row in rows:
        turn = bands().turn(row)
        assert turn is not None
        t = program().tables
        source = t.left[row] if t.op[row] == codes.T_FLAG else t.term_source[t.left[row]]
        assert (lying.turn(row) is None) is (program().names.signals[source].part in {"belly_level", "loft_level"})


def test_the_gates_are_those_that_the_faults_leave() -> None:
    """A valve that may stay where it is, and is followed as a healthy one, shuts on paper only."""
    healthy = bands().gates["lift"]
    for fault in ("lift stuck", "lift welded", "lift seeping"):
        assert bands(fault).gates["lift"] != healthy
        assert bands(fault).gates["rinse"] == bands().gates["rinse"]
    assert bands("controller restarted").gates["lift"].moves != healthy.moves
    assert set(bands("water_pump welded").gates["water_pump"].passes) == {3}
    assert set(bands("lift seeping").gates["lift"].passes) == {3}
    assert bands("lift seeping").gates["lift"].shut == healthy.shut
