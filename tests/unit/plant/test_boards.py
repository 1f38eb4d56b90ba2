"""Calls on their way to a board, its leases, and a board that lost its supply: one by one, in plain Python.

The board is Marram's ``port_board``: radio, 50 to 400 ms, scans of 500 ms, leases of 3 s.
"""

from __future__ import annotations

import pytest

from tests.share import share
from tests.unit.plant.wired import Wired
from ullage.plant import layout as at
from ullage.plant.boards import call, drop_all, lapse, look_ahead, miss, next_call_ms, obey
from ullage.plant.codes import EVERY_SCAN, RING
from ullage.plant.layout import of
from ullage.plant.senders import arrival

SCAN_MS, LEASE_MS = 500, 3_000


class Called:
    """The port board, called at every scan.

    Parameters
    ----------
    faults : str
    loss : float
    delay : (least, most) [ms]
        Of its link, in place of its own.
    """

    def __init__(self, *faults: str, loss: float = 0.0, delay: tuple[int, int] = (0, 0)) -> None:
        self.wired = Wired(*faults)
        _, self.n, self.r, self.records = self.wired.world
        self.board = list(self.wired.works.rig.boards).index("port_board")
        self.wired.put(at.BOARD_LOSS, self.board, loss)
        self.wired.put(at.BOARD_DELAY_LEAST_MS, self.board, delay[0])
        self.wired.put(at.BOARD_DELAY_MOST_MS, self.board, delay[1])
        self.wired.put(at.LOOP, EVERY_SCAN, 1)
        self.output = self.wired.program.names.outputs.index("shore_in")
        self.valve = list(self.wired.works.rig.valves).index("shore_in")
        self.was: list[tuple[int, int]] = []

    def arrival(self, ms: int) -> int:
        """When a call made at a time arrives [ms], -1 when it is lost."""
        loss, delay = of(self.n, at.CALL_LOSS_STREAM, self.board), of(self.n, at.CALL_DELAY_STREAM, self.board)
        return arrival(self.n, self.r, self.board, loss, delay, ms)

    def scan(self, first_ms: int, last_ms: int, demand: int | None) -> None:
        """Call it at every scan from one time to another with a demand (None: no controller), and let it work."""
        for now in range(first_ms, last_ms + 1, 50):
            if now % SCAN_MS == 0:
                if demand is None:
                    miss(self.n, self.board, now // SCAN_MS)
                else:
                    self.n[self.n[at.DEMAND] + self.output] = demand
                    call(self.n, self.r, self.board, now // SCAN_MS)
            self.records[0] = now
            obey(self.n, self.r, self.records, self.board, now)
            if of(self.n, at.LAPSE_MS, self.board) <= now:
                lapse(self.n, self.r, self.records, self.board, now)
            relay = of(self.n, at.VALVE_RELAY, self.valve)
            if not self.was or self.was[-1][1] != relay:
                self.was.append((now, relay))


def test_a_demand_holds_for_its_lease_and_no_longer() -> None:
    """A board that goes on driving after its controller fell silent floods until somebody comes."""
    board = Called()
    board.scan(0, 10_000, 1)
    board.scan(10_050, 20_000, None)
    assert board.was == [(0, 1), (10_000 + LEASE_MS, 0)]


def test_a_new_call_ends_the_lapse() -> None:
    """A board that stays lapsed when the controller is back must be reset by hand, at night, in the rain."""
    board = Called()
    board.scan(0, 10_000, 1)
    board.scan(10_050, 20_000, None)
    board.scan(20_050, 30_000, 1)
    assert board.was == [(0, 1), (13_000, 0), (20_500, 1)]


def test_the_lease_counts_from_the_call_not_from_its_arrival() -> None:
    """A call that was long on its way would else hold for its lease and its delay together."""
    board = Called(delay=(2_000, 2_000))
    board.scan(0, 10_000, 1)
    board.scan(10_050, 20_000, None)
    assert board.was[0] == (0, 0)
    assert board.was[1:] == [(2_000, 1), (13_000, 0)]


def test_a_call_older_than_its_lease_moves_nothing_for_long() -> None:
    """A board that obeys a call from four seconds ago opens a valve that nobody now wants open."""
    board = Called("port_board delayed 4 s")
    board.scan(0, 20_000, 1)
    assert board.was == [(0, 0)], "each lapses in the moment it comes"


def test_a_late_call_does_not_undo_a_newer_one() -> None:
    """'Close' overtaken by the 'open' before it would leave the valve open for good."""
    board = Called(delay=(0, 0))
    board.scan(0, 1_000, 1)
    board.wired.put(at.BOARD_DELAY_LEAST_MS, board.board, 1_200)
    board.wired.put(at.BOARD_DELAY_MOST_MS, board.board, 1_200)
    board.scan(1_050, 1_500, 1)  # called at 1.5 s, comes at 2.7 s
    board.wired.put(at.BOARD_DELAY_LEAST_MS, board.board, 0)
    board.wired.put(at.BOARD_DELAY_MOST_MS, board.board, 0)
    board.scan(1_550, 6_000, 0)
    assert board.was == [(0, 1), (2_000, 0)]


@pytest.mark.parametrize("loss", [0.02, 0.3])
def test_calls_are_lost_as_often_as_said(loss: float) -> None:
    """A link that loses more than its board says lets leases lapse in the middle of a fill (binomial, five sigma)."""
    board, count = Called(loss=loss), share(100_000, 10_000)
    lost = sum(board.arrival(k * SCAN_MS) < 0 for k in range(count))
    assert lost / count == pytest.approx(loss, abs=5.0 * (loss * (1.0 - loss) / count) ** 0.5)


def test_delays_are_even_between_their_bounds() -> None:
    """Even from 50 to 400 ms: mean 225 ms, standard deviation 350 / sqrt 12 = 101 ms."""
    board, count = Called(delay=(50, 400)), share(100_000, 10_000)
    late = [board.arrival(k * SCAN_MS) - k * SCAN_MS for k in range(count)]
    assert (min(late), max(late)) == (50, 399)
    mean = sum(late) / count
    assert mean == pytest.approx(225.0, abs=5.0 * 101.0 / count**0.5 + 0.5)
    assert (sum((x - mean) ** 2 for x in late) / count) ** 0.5 == pytest.approx(101.0, rel=0.03)


def test_a_lease_lapses_after_six_lost_calls_and_not_after_five() -> None:
    """With 3 s and a call each half second, five losses in a row are carried: the sixth lets the valve close."""
    for losses, lapses in ((5, False), (6, True)):
        board = Called()
        board.scan(0, 10_000, 1)
        board.wired.put(at.BOARD_LOSS, board.board, 1.0)
        board.scan(10_050, 10_000 + losses * SCAN_MS, 1)
        board.wired.put(at.BOARD_LOSS, board.board, 0.0)
        board.scan(10_050 + losses * SCAN_MS, 20_000, 1)
        assert (len(board.was) > 1) is lapses, losses


def test_a_board_that_lost_its_supply_wakes_where_it_lapses_to() -> None:
    """A board that wakes with its old demand opens a valve that no controller asks for any more."""
    board = Called()
    board.scan(0, 10_000, 1)
    board.records[0] = 10_000
    drop_all(board.n, board.r, board.records)
    assert of(board.n, at.VALVE_RELAY, board.valve) == 0
    board.scan(10_050, 20_000, None)
    assert of(board.n, at.VALVE_RELAY, board.valve) == 0
    board.scan(20_050, 21_000, 1)
    assert of(board.n, at.VALVE_RELAY, board.valve) == 1


def test_calls_made_before_the_supply_came_back_are_not_obeyed() -> None:
    """What was on its way when the board woke is not for it: it was not there to hear it."""
    board = Called(delay=(1_000, 1_000))
    board.scan(0, 500, 1)
    drop_all(board.n, board.r, board.records)
    board.scan(550, 1_800, None)
    assert of(board.n, at.VALVE_RELAY, board.valve) == 0


def test_a_waiting_board_knows_when_its_next_call_comes() -> None:
    """A call that is looked for too late is obeyed too late in runs that leave out quiet scans."""
    board = Called(delay=(300, 300))
    call(board.n, board.r, board.board, 0)
    assert next_call_ms(board.n, board.board, 0) == 300
    look_ahead(board.n, board.r, board.board)
    for scan in range(1, RING + 5):
        call(board.n, board.r, board.board, scan)
    assert next_call_ms(board.n, board.board, 5_000) == 5_300
