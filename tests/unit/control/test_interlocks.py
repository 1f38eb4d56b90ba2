"""Interlocks and the start: what always wins, what is known, what is safe."""

from __future__ import annotations

from tests.unit.control.desk import Desk
from ullage.control import codes
from ullage.control.program import initial_state

BODY = """
sequences:
  run:
    steps: {one: initial, pouring: {demand: {inlet: open}}, end: final}
    transitions: [one -> pouring, pouring -> end when (inlet is closed) and (since step 100 s)]
interlocks:
  high: {when: c, drive: {inlet: closed}, latch: true, priority: 2, why: nothing may run over the brim}
  flush: {when: b, drive: {inlet: open}, priority: 1, why: an invented reason to open}
"""


def pouring() -> Desk:
    """A desk whose inlet has been asked to open."""
    desk = Desk(BODY)
    desk.start()
    desk.scan()
    assert desk.demand("inlet") == "open"
    return desk


def started(desk: Desk) -> Desk:
    """The same desk as after a power cut: no scan yet, nothing known."""
    desk.state, desk.now_ms, desk.records = initial_state(desk.program), 0, []
    return desk


def test_an_interlock_wins_at_once_and_holds_the_sequence() -> None:
    """The scan that sees the high float must be the scan that closes the valve."""
    desk = pouring()
    desk.scan(c=1)
    assert (desk.demand("inlet"), desk.doing()) == ("closed", "holding")


def test_a_latched_interlock_waits_for_a_person() -> None:
    """A float that bobs must not let the fill go on by itself."""
    desk = pouring()
    desk.scan(c=1)
    desk.scan(c=0)
    assert desk.state.tripped[1] == 2, "latched"
    desk.scans(10)
    desk.scan("restart")
    desk.scans(2)
    assert desk.demand("inlet") == "closed"
    desk.scan(reset="high")
    assert desk.state.tripped[1] == 0


UNTIL = """
sequences: {run: {steps: {one: initial, end: final}, transitions: [one -> end when a]}}
interlocks: {low: {when: c, until: b, drive: {inlet: closed}, LATCHwhy: sloshing water comes and goes at the limit}}
"""


def test_a_tripped_interlock_acts_until_its_own_condition_lets_it_go() -> None:
    """A level that sloshes about the limit would switch a pump off and on with every wave."""
    desk = Desk(UNTIL.replace("LATCH", ""))
    states = []
    for c, b in ((0, 0), (1, 0), (0, 0), (1, 0), (0, 0), (0, 1), (0, 0)):
        desk.scan(c=c, b=b)
        states.append(codes.TRIPS[desk.state.tripped[0]])
    assert states == ["clear", "tripped", "tripped", "tripped", "tripped", "clear", "clear"]


def test_not_knowing_lets_nothing_go() -> None:
    """A reading that is lost after the trip must not count as a level on the safe side."""
    desk = Desk(UNTIL.replace("LATCH", ""))
    desk.scan(c=1, b=1)
    desk.bad["b"] = 1
    desk.scan(c=0)
    assert codes.TRIPS[desk.state.tripped[0]] == "tripped"


def test_a_latch_is_not_reset_before_its_condition_lets_go() -> None:
    """A person at the reset cannot see the level; the interlock can."""
    desk = Desk(UNTIL.replace("LATCH", "latch: true, "))
    desk.scan(c=1)
    desk.scan(c=0)
    desk.scan(reset="low")
    assert codes.TRIPS[desk.state.tripped[0]] == "tripped"
    desk.scan(b=1)
    assert codes.TRIPS[desk.state.tripped[0]] == "latched"
    desk.scan(reset="low")
    assert codes.TRIPS[desk.state.tripped[0]] == "clear"


def test_what_is_not_known_yet_at_a_start_neither_latches_nor_alarms() -> None:
    """A latch set by every power cut would be reset without a look, and one day with the tank over its brim."""
    fresh = started(Desk(BODY))
    fresh.age["c"] = -1
    fresh.scan()
    assert fresh.demand("inlet") == "closed", "it acts nonetheless"
    fresh.age["c"] = 0
    fresh.scans(3)
    assert fresh.state.tripped == (0, 0)
    assert not [record for record in fresh.records if record.kind == codes.R_INTERLOCK]


def test_what_is_there_at_a_start_trips_with_the_second_scan() -> None:
    """A tank that was over its float when the power came back must be told."""
    fresh = started(Desk(BODY))
    fresh.scan(c=1)
    fresh.scan()
    assert fresh.state.tripped[1] == codes.TRIPPED


def test_a_reset_does_not_clear_a_cause_that_is_still_there() -> None:
    """Nobody can reset an interlock while its float is still wet."""
    desk = pouring()
    desk.scan(c=1)
    desk.scan(reset="high")
    assert desk.state.tripped[1] == 1


def test_an_unknown_interlock_acts() -> None:
    """A broken float wire closes the valve: not knowing is no reason to go on."""
    desk = pouring()
    desk.bad["c"] = 1
    desk.scan()
    assert desk.demand("inlet") == "closed"


def test_the_higher_priority_wins() -> None:
    """Two interlocks at odds are decided by the stated priority, not by their place in the file."""
    desk = Desk(BODY)
    desk.scan(b=1)
    assert desk.demand("inlet") == "open"
    desk.scan(c=1)
    assert desk.demand("inlet") == "closed"


def test_everything_is_safe_until_the_image_is_complete() -> None:
    """After a start nothing is driven on half a picture of the rig; a dead sender delays it, not for ever."""
    fresh = started(Desk(BODY))
    fresh.age["level"] = -1
    fresh.scan("start", b=1)
    assert not fresh.state.ready[0]
    assert fresh.doing() == "idle"
    assert fresh.demand("inlet") == "closed", "not even an interlock opens a valve before that"
    fresh.scans(12)
    assert fresh.state.ready[0], "the longest staleness has passed"
    assert fresh.demand("inlet") == "open"


def test_unknown_resets_held() -> None:
    """A float that was read for two seconds, lost and read again has not been wet for three."""
    desk = Desk(
        """
sequences:
  run: {steps: {one: initial, two: {}, end: final}, transitions: [one -> two when a held 2 s, two -> end when c]}
"""
    )
    desk.start()
    desk.scan(a=1)
    desk.scans(2)
    desk.bad["a"] = 1
    desk.scan()
    desk.bad["a"] = 0
    desk.scans(4)
    assert desk.active() == {"one"}
    desk.scan()
    assert desk.active() == {"two"}
