"""Interlocks, positions, and the start: what always wins, what is known, what is safe."""

from __future__ import annotations

from tests.unit.control.desk import Desk

BODY = """
sequences:
  run:
    steps: {one: initial, pouring: {demand: {inlet: open}}, end: final}
    transitions: [one -> pouring, pouring -> end when (inlet is closed) and (since step 100 s)]
interlocks:
  high: {when: c, drive: {inlet: closed}, latch: true, priority: 2, why: nothing may run over the brim}
  flush: {when: b, drive: {inlet: open}, priority: 1, why: an invented reason to open}
"""


def pouring(feedback: str = "none") -> Desk:
    """A desk whose inlet has been asked to open."""
    desk = Desk(BODY, feedback)
    desk.start()
    desk.scan()
    assert desk.demand("inlet") == "open"
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


def test_presumed_after_the_longest_stroke() -> None:
    """Without an end switch a position is presumed, and never before the longest stroke has passed."""
    desk = pouring()
    assert desk.position("inlet") == "travelling"
    desk.scans(3)
    assert desk.position("inlet") == "travelling"
    desk.scan()
    assert desk.position("inlet") == "open"


def test_confirmed_by_its_end() -> None:
    """An end switch confirms before the stroke is over, and its loss is noticed."""
    desk = pouring("both_ends")
    desk.scan(inlet__open_end=1)
    assert desk.position("inlet") == "open"
    desk.scans(6)
    desk.scan(inlet__open_end=0)
    assert desk.position("inlet") == "failed"


def test_a_valve_that_does_not_confirm_has_failed() -> None:
    """A stuck valve with an end switch is known to be stuck when its stroke is over."""
    desk = pouring("both_ends")
    desk.scans(4)
    assert desk.position("inlet") == "failed"
    assert desk.position("outlet") == "closed"


def test_both_ends_at_once_is_a_failure() -> None:
    """Crossed wires that show open and closed at once are no confirmation."""
    desk = pouring("both_ends")
    desk.scan(inlet__open_end=1, inlet__closed_end=1)
    assert desk.position("inlet") == "failed"


def test_an_end_that_is_not_read_leaves_the_position_unknown() -> None:
    """A position whose switch is not read is not presumed."""
    desk = pouring("both_ends")
    desk.age["inlet.open_end"] = 9999
    desk.scans(6)
    assert desk.position("inlet") == "not known"


def test_everything_is_safe_until_the_image_is_complete() -> None:
    """After a start nothing is driven on half a picture of the rig; a dead sender delays it, not for ever."""
    desk = Desk(BODY)
    fresh = Desk.__new__(Desk)
    fresh.__dict__.update(desk.__dict__)
    from ullage.control.program import initial_state

    fresh.state, fresh.now_ms = initial_state(desk.program), 0
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
