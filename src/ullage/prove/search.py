"""Runs the explorer over a plan: room, rates, limits, progress, and the way back to the start."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from ullage.kernels import compiled
from ullage.prove.ask import ACTORS, DECIDERS, LEVELS, OUTPUTS, ROWS, Ask, ask_of
from ullage.prove.explore import CLOSED, FULL, GOES_ON, HARMED, NEEDS_RATE, begin, explore
from ullage.prove.nodes import (
    ASKED_KINDS,
    ASKED_LEVEL,
    ASKED_STRIP,
    COUNT,
    HARM_NODE,
    LATER_QUEUED,
    LATER_TAKEN,
    QUEUED,
    SCANS,
    TAKEN,
    Nodes,
    Scratch,
    decode,
    find,
)
from ullage.prove.plan import Plan

if TYPE_CHECKING:
    from numpy import int64
    from numpy.typing import NDArray

ROOM = 1 << 14
"""Nodes that there is room for at first; doubled whenever it is used up."""

SHARE = 4000
"""Nodes taken between two reports of progress."""

NODES_LIMIT = 4_000_000
"""With more nodes than this a question is given up as undecided."""

CHOICES = 64
"""A decider has at most so many ways to go from one state."""


class End(Enum):
    """How a search ended."""

    CLOSED = "closed"
    HARMED = "the harm may be"
    STOPPED = "stopped"
    LIMIT = "too many states"


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a search has come."""

    nodes: int
    waiting: int
    scans: int


@dataclass(frozen=True, slots=True)
class Reached:
    """One node on the way to a harm.

    Attributes
    ----------
    flags : int
        `explore.READY`, or nothing.
    states : tuple of int
        State of each automaton of the plan.
    pieces : tuple of int
        Piece of each level.
    box : tuple of (int, int)
        Least and greatest volume of each level [mL].
    """

    flags: int
    states: tuple[int, ...]
    pieces: tuple[int, ...]
    box: tuple[tuple[int, int], ...]


class Search:
    """The explorer at work on one plan.

    Parameters
    ----------
    plan : Plan
    share : int
        Nodes taken between two reports of progress; `SHARE` where none is given.

    Attributes
    ----------
    end : End or None
        How it ended; None before it has.
    """

    def __init__(self, plan: Plan, share: int = 0) -> None:
        self.plan, self.share = plan, share or SHARE
        self.end: End | None = None
        self.ask: Ask = ask_of(plan)
        self.nodes = _nodes(ROOM, len(plan.levels))
        self.scratch = _scratch(self.ask)
        self._begun = False

    def run(self, watch: Callable[[Progress], bool] = lambda progress: True) -> End:
        """Explore until all is closed or the harm may be.

        Parameters
        ----------
        watch : callable
            Told of the progress now and then; returns whether to go on.
        """
        self.end = self._run(watch)
        return self.end

    def _run(self, watch: Callable[[Progress], bool]) -> End:
        if not self._begun:
            while not compiled(begin)(self.ask, self.nodes, self.scratch):
                self._grow()
            self._begun = True
        while True:
            result = compiled(explore)(self.ask, self.nodes, self.scratch, self.share)
            if result == CLOSED:
                return End.CLOSED
            if result == HARMED:
                return End.HARMED
            assert result != 5, "a decider has no move: its moves must cover everything"
            if result == NEEDS_RATE:
                self._find_rates()
            elif result == FULL:
                self._grow()
            elif int(self.nodes.head[COUNT]) > NODES_LIMIT:
                return End.LIMIT
            if result == GOES_ON and not watch(self.progress()):
                return End.STOPPED

    def progress(self) -> Progress:
        """How far it has come."""
        head = self.nodes.head
        waiting = head[QUEUED] - head[TAKEN] + head[LATER_QUEUED] - head[LATER_TAKEN]
        return Progress(int(head[COUNT]), int(waiting), int(head[SCANS]))

    def reach(self) -> dict[str, tuple[int, int]]:
        """Least and greatest volume that each level came to [mL]."""
        levels, count = len(self.plan.levels), int(self.nodes.head[COUNT])
        low, high = (column[: count * levels].reshape(count, levels) for column in (self.nodes.low, self.nodes.high))
        return {
            level.name: (int(low[:, at].min()), int(high[:, at].max())) for at, level in enumerate(self.plan.levels)
        }

    def way(self) -> list[Reached]:
        """The nodes from a start to the one from which the harm may be."""
        way, node = [], int(self.nodes.head[HARM_NODE])
        while node >= 0:
            way.append(self.node(node))
            node = int(self.nodes.parent[node])
        return way[::-1]

    def node(self, node: int) -> Reached:
        """One node."""
        levels, s = len(self.plan.levels), self.scratch
        flags = compiled(decode)(self.ask, int(self.nodes.key[node]), s.now, s.piece)
        span = range(node * levels, (node + 1) * levels)
        return Reached(
            int(flags),
            tuple(int(state) for state in s.now[: len(self.plan.automata())]),
            tuple(int(piece) for piece in s.piece[:levels]),
            tuple((int(self.nodes.low[k]), int(self.nodes.high[k])) for k in span),
        )

    def _find_rates(self) -> None:
        """Work out the rate that the explorer asks for."""
        ask, head = self.ask, self.nodes.head
        at, kinds, strip = int(head[ASKED_LEVEL]), int(head[ASKED_KINDS]), int(head[ASKED_STRIP])
        level = self.plan.levels[at]
        rest, digits = kinds, []
        for actor in reversed(level.near):
            digits.append(rest % int(ask.kinds[actor]))
            rest //= int(ask.kinds[actor])
        low, high = level.rate(tuple(reversed(digits)), strip)
        row = int(ask.rate_first[at]) + kinds * int(ask.strips[at]) + strip
        ask.rate_low[row], ask.rate_high[row] = low, high

    def _grow(self) -> None:
        """Double the room."""
        old, levels = self.nodes, len(self.plan.levels)
        new = _nodes(2 * len(old.key), levels)
        count = int(old.head[COUNT])
        for name in ("key", "parent", "waits", "grown"):
            getattr(new, name)[:count] = getattr(old, name)[:count]
        for name in ("low", "high"):
            getattr(new, name)[: count * levels] = getattr(old, name)[: count * levels]
        new.head[:] = old.head
        for line, taken, queued in (("line", TAKEN, QUEUED), ("later", LATER_TAKEN, LATER_QUEUED)):
            before, first = getattr(old, line), int(old.head[taken])
            waiting = int(old.head[queued]) - first
            for k in range(waiting):
                getattr(new, line)[k] = before[(first + k) % len(before)]
            new.head[taken], new.head[queued] = 0, waiting
        for node in range(count):
            new.slots[compiled(find)(new, int(new.key[node]))] = node
        self.nodes = new


def _nodes(room: int, levels: int) -> Nodes:
    return Nodes(
        head=_zeros(10),
        key=_zeros(room),
        low=_zeros(room * levels),
        high=_zeros(room * levels),
        parent=_zeros(room),
        waits=_zeros(room),
        grown=_zeros(room),
        line=_zeros(room + 1),
        later=_zeros(room + 1),
        slots=_zeros(4 * room + 1) - 1,
    )


def _scratch(ask: Ask) -> Scratch:
    deciders, actors, levels = int(ask.size[DECIDERS]), int(ask.size[ACTORS]), int(ask.size[LEVELS])
    automata, outputs = deciders + actors, int(ask.size[OUTPUTS])
    return Scratch(
        now=_zeros(automata),
        then=_zeros(automata),
        piece=_zeros(levels),
        target=_zeros(levels),
        kind=_zeros(actors),
        before_low=_zeros(levels),
        before_high=_zeros(levels),
        low=_zeros(levels),
        high=_zeros(levels),
        span_low=_zeros(levels),
        span_high=_zeros(levels),
        part_low=_zeros(levels),
        part_high=_zeros(levels),
        other=_zeros(automata),
        improved=_zeros(actors),
        value=_zeros(int(ask.size[ROWS])),
        choices=_zeros(automata),
        chosen=_zeros(max(deciders, 1) * CHOICES),
        picked=_zeros(automata),
        wished=_zeros(outputs),
        granted=_zeros(outputs),
        asked=_zeros(outputs),
        way=_zeros(actors),
    )


def _zeros(length: int) -> NDArray[int64]:
    import numpy as np

    return np.zeros(length, dtype=np.int64)
