"""How often a lossy link leaves a reading stale: from its loss, its interval and its staleness."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, expm1, inf, log, log1p

from ullage.rig.meaning import Condition, Flag, Good, Linear, Linked, ValveIs
from ullage.rig.model import REPORT_EVERY, Board, Rig
from ullage.rig.names import SIGNALS, named
from ullage.rig.reason import atoms
from ullage.rig.sensing import interval, stale_after
from ullage.rig.tags import ENDS

MOST_EXPONENT = 500.0
"""Beyond e to this power any time is for ever."""


@dataclass(frozen=True, slots=True)
class Source:
    """What a guard looks at, as far as its link is concerned.

    Attributes
    ----------
    name : str
        The reading or board whose ``stale`` it is.
    board : Board
        How it is reached.
    every, stale : float
        Time between two messages, and after which without any it is stale [s].
    """

    name: str
    board: Board
    every: float
    stale: float

    def lost(self, scan: float) -> int:
        """So many messages lost in a row make it stale at a scan, which comes every so often [s].

        The law looks at its scans only. Where these keep step with the messages, the first scan that
        can find the last message too old is the first one after ``stale``: a later message that has
        arrived by then saves it.
        """
        in_step = abs(self.every / scan - round(self.every / scan)) < 1e-9
        found = (int(self.stale / scan + 1e-9) + 1) * scan if in_step else self.stale
        return max(int((found - self.board.delay.most) / self.every + 1e-9), 1)

    def apart(self, scan: float) -> float:
        """Expected time until it goes stale [s].

        The mean number of trials until a run of ``r`` events of chance ``p`` is
        ``(p**-r - 1) / (1 - p)`` (Feller, An Introduction to Probability Theory and its
        Applications 1, XIII.7). Every 2 s, 5 % lost, three in a row: 16,840 s.
        """
        loss, lost = self.board.loss, self.lost(scan)
        if loss in (0.0, 1.0):
            return inf if loss == 0.0 else lost * self.every
        exponent = -lost * log(loss)
        return self.every * expm1(exponent) / (1.0 - loss) if exponent < MOST_EXPONENT else inf

    def enough(self, apart: float) -> float:
        """The least staleness in whole seconds with which that time is no shorter [s]."""
        loss = self.board.loss
        if loss == 1.0:
            return inf
        lost = ceil(log1p(apart * (1.0 - loss) / self.every) / -log(loss))
        return float(ceil(lost * self.every + self.board.delay.most))


def sources(rig: Rig, when: Condition) -> dict[str, Source]:
    """All that a guard looks at over a link that loses something, by name."""
    readings, quick = named(rig, *SIGNALS), max(REPORT_EVERY, rig.scan)
    found: dict[str, Source] = {}
    for name in _looked_at(when):
        signal, valve = readings.get(name), rig.valves.get(name)
        ends = valve is not None and valve.motor is not None and ENDS[valve.motor.feedback]
        owner = signal.board if signal else valve.board if valve and ends else name
        board = rig.boards.get(owner or "", Board())
        if board.loss == 0.0:
            continue
        if signal:
            found[name] = Source(name, board, interval(signal), stale_after(signal))
        else:
            found[str(owner)] = Source(str(owner), board, quick, board.stale)
    return found


def _looked_at(when: Condition) -> Iterator[str]:
    for atom, _ in atoms(when):
        match atom:
            case Linear(terms):
                yield from (symbol.name for _, symbol in terms if symbol.kind != "parameter")
            case Flag(symbol) | Good(symbol) | Linked(symbol) | ValveIs(symbol):
                yield symbol.name
