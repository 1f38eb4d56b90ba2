"""Where the law takes its valves to be: what confirms, what presumes, what is a failure, and from when on.

The desk's inlet takes 2 s at most, its lease is 3 s, its ends go stale in 3 s, a scan is 500 ms.
"""

from __future__ import annotations

import pytest

from tests.unit.control import desk as bench
from tests.unit.control.desk import Desk
from ullage.control.program import initial_state
from ullage.control.step import same
from ullage.control.timers import SCAN_LATE

BODY = """
sequences:
  run:
    steps: {one: initial, pouring: {demand: {inlet: open}}, end: final}
    transitions: [one -> pouring, pouring -> end when (inlet is closed) and (since step 100 s)]
"""

LATE, STROKE, STALE = 7, 4, 6
"""The lease and the lateness of the scan that asks, the longest stroke, and the staleness of an end, in scans."""
LATE_ITSELF = 1
"""The lateness of the scan that asks, where no link stands between, in scans."""


def pouring(feedback: str = "none") -> Desk:
    """A desk whose inlet was asked to open in this scan, shut as its ends show it."""
    desk = Desk(BODY, feedback)
    if "inlet.closed_end" in desk.raw:
        desk.raw["inlet.closed_end"] = 1
    desk.scans(LATE + STROKE + STALE)
    desk.start()
    desk.scan()
    assert (desk.demand("inlet"), desk.position("inlet")) == ("open", "travelling")
    return desk


def test_presumed_a_stroke_after_the_lease() -> None:
    """A board that has not heard the new demand obeys the old one until its lease is over, and only then sets out."""
    desk = pouring()
    desk.scans(LATE + STROKE - 1)
    assert desk.position("inlet") == "travelling"
    desk.scan()
    assert desk.position("inlet") == "open"


def test_at_the_controller_itself_only_the_stroke_is_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a link between there is nothing that could be lost, and a wait for it would only be slow."""
    inlet, rest = bench.HEAD.split("  outlet:\n")
    own = inlet.replace("    board: board\n", "").replace("    lease: 3 s\n", "").replace("    on_lapse: closed\n", "")
    monkeypatch.setattr(bench, "HEAD", own + "  outlet:\n" + rest)
    desk = pouring()
    desk.scans(LATE_ITSELF + STROKE - 1)
    assert desk.position("inlet") == "travelling"
    desk.scan()
    assert desk.position("inlet") == "open"


def test_a_link_slower_than_the_lease_is_waited_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """A demand that is four seconds on its way has not been heard after the three of its lease."""
    monkeypatch.setattr(bench, "HEAD", bench.HEAD.replace("link: wired", "link: radio, delay: 1 s .. 4 s"))
    desk = pouring()
    desk.scans(9 + STROKE - 1)
    assert desk.position("inlet") == "travelling"
    desk.scan()
    assert desk.position("inlet") == "open"


def test_the_scan_that_asks_may_come_late(monkeypatch: pytest.MonkeyPatch) -> None:
    """A valve asked 50 ms after the time of its scan sets out so much later, and is taken for open on its way."""
    monkeypatch.setattr(bench, "HEAD", bench.HEAD.replace("scan: 500 ms", "scan: 50 ms"))
    desk = Desk(BODY)
    desk.scans((3000 + 2000 + SCAN_LATE) // 50)
    desk.start()
    desk.scan()
    assert desk.demand("inlet") == "open"
    desk.scans((3000 + 2000) // 50)
    assert desk.position("inlet") == "travelling"
    desk.scans(SCAN_LATE // 50)
    assert desk.position("inlet") == "open"


def test_an_end_confirms_from_the_lease_on() -> None:
    """A drain asked to shut again within three seconds of opening still shows the end that it is about to leave."""
    desk = pouring("both_ends")
    desk.scan(inlet__open_end=1, inlet__closed_end=0)
    desk.scans(LATE - 2)
    assert desk.position("inlet") == "travelling", "it may be there for what was asked before"
    desk.scan()
    assert desk.position("inlet") == "open"


def test_a_reading_older_than_the_demand_confirms_nothing() -> None:
    """What an end said two seconds ago was said before the lease was over."""
    desk = pouring("both_ends")
    desk.raw |= {"inlet.open_end": 1, "inlet.closed_end": 0}
    desk.age["inlet.open_end"] = 2000
    desk.scans(LATE + 3)
    assert desk.position("inlet") == "travelling"
    desk.scan()
    assert desk.position("inlet") == "open", "taken three seconds after the change"


def test_a_valve_that_awaits_its_end_leaves_no_scan_out() -> None:
    """A newer reading that says the same again is all that is missing; a loop that skips it misses the position."""
    desk = pouring("both_ends")
    desk.raw |= {"inlet.open_end": 1, "inlet.closed_end": 0}
    for scan in range(LATE):
        before = desk.state
        desk.scan()
        column = desk.program.column
        assert not same(column, _joined(before), _joined(desk.state)), scan
    assert desk.position("inlet") == "open"
    before = desk.state
    desk.scan()
    assert same(desk.program.column, _joined(before), _joined(desk.state))


def _joined(state: tuple[tuple[int, ...], ...]) -> list[int]:
    return [number for column in state for number in column]


def test_once_there_the_loss_of_its_end_is_noticed() -> None:
    """A valve that leaves its place by itself is no longer where it was."""
    desk = pouring("both_ends")
    desk.raw |= {"inlet.open_end": 1, "inlet.closed_end": 0}
    desk.scans(LATE + STROKE + STALE)
    assert desk.position("inlet") == "open"
    desk.scan(inlet__open_end=0)
    assert desk.position("inlet") == "failed"


def test_a_valve_that_does_not_confirm_has_failed() -> None:
    """A stuck valve is told as soon as no reading in hand can be older than its arrival, and not sooner."""
    desk = pouring("both_ends")
    desk.scans(LATE + STROKE + STALE - 1)
    assert desk.position("inlet") == "travelling"
    desk.scan()
    assert desk.position("inlet") == "failed"
    assert desk.position("outlet") == "closed"


def test_the_other_end_gainsays_a_presumption() -> None:
    """A drain with a switch at its shut end only is not presumed open while that end is made."""
    desk = pouring("closed_end")
    desk.scans(LATE + STROKE)
    assert desk.position("inlet") == "travelling"
    desk.scans(STALE)
    assert desk.position("inlet") == "failed"


def test_both_ends_at_once_is_a_failure() -> None:
    """Crossed wires that show open and closed at once are no confirmation, once neither reading can be old."""
    desk = pouring("both_ends")
    desk.scan(inlet__open_end=1, inlet__closed_end=1)
    desk.scans(LATE + STROKE + STALE - 1)
    assert desk.position("inlet") == "failed"


def test_an_end_that_is_not_read_leaves_the_position_unknown() -> None:
    """A position whose switch is not read is not presumed."""
    desk = pouring("both_ends")
    desk.age["inlet.open_end"] = 9999
    desk.scans(LATE + STROKE + STALE)
    assert desk.position("inlet") == "not known"


def test_after_a_start_the_same_holds() -> None:
    """A board may still obey what was asked for before the power cut: neither an end nor a stroke says more at once."""
    shut, blind = Desk(BODY, "closed_end"), Desk(BODY)
    shut.raw["inlet.closed_end"] = 1
    for desk in (shut, blind):
        desk.state, desk.now_ms, desk.records = initial_state(desk.program), 0, []
        desk.scans(LATE)
        assert desk.position("inlet") == "travelling"
    shut.scan()
    assert shut.position("inlet") == "closed"
    blind.scans(STROKE)
    assert blind.position("inlet") == "travelling"
    blind.scan()
    assert blind.position("inlet") == "closed"
