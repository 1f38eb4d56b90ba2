"""Lines on the grid: along it, round what stands there, with few bends and few crossings.

Shortest paths over pairs of node and direction (Hart, Nilsson and Raphael, IEEE Trans. Syst. Sci.
Cybern. 4 (1968) 100), one connection after another; then each is taken up once more and laid anew,
knowing all the others. Connections of one joint (a point where lines meet) may share their way.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from heapq import heappop, heappush
from itertools import pairwise

from ullage.report.drawing.paper import Node, Paper

BEND, CROSSING, TRESPASS, BESIDE = 4.0, 14.0, 40.0, 0.35
"""Cost of a bend, of a crossing, of a node in a wall, of a node beside another line [units of length]."""

STEPS: tuple[Node, ...] = ((1, 0), (0, 1), (-1, 0), (0, -1))
"""Directions: right, down, left, up. Those of even number lie across the sheet."""

ANY = (0, 1, 2, 3)
"""All directions."""


@dataclass(slots=True)
class Wire:
    """One connection between two nodes.

    Attributes
    ----------
    start, end : Node
        Where it begins and ends.
    leaves, arrives : tuple of int
        Directions in which it may do so.
    joint : str
        Joint at its start that other connections begin at, too ("" for none).
    gates : tuple of int
        The numbers of joints whose nodes it may pass.
    path : list of Node
        Once it is laid: all of its nodes.
    own : int
        Where in the path it leaves the way that it shares with others of its joint.
    cost : float
        What it costs.
    """

    start: Node
    end: Node
    leaves: tuple[int, ...] = ANY
    arrives: tuple[int, ...] = ANY
    joint: str = ""
    gates: tuple[int, ...] = ()
    path: list[Node] = field(default_factory=list)
    own: int = 0
    cost: float = 0.0


class Router:
    """The lines of a sheet."""

    def __init__(self, paper: Paper, ends: Iterable[Node]) -> None:
        self.paper = paper
        self.columns = paper.columns
        self.ends = bytearray(len(paper.walls))
        for node in ends:
            self.ends[self.number(node)] = 12
        self.used = bytearray(self.ends)
        """For each node: 1 a line across passes, 2 a line down passes, 4 a line bends here, 8 one ends."""
        self.wires: list[Wire] = []

    def number(self, node: Node) -> int:
        """The number of a node."""
        return node[1] * self.columns + node[0]

    def lay(self, wires: list[Wire]) -> None:
        """Find a way for each of some connections, the shortest first, then each once more."""
        order = sorted(
            range(len(wires)),
            key=lambda i: (
                abs(wires[i].start[0] - wires[i].end[0]) + abs(wires[i].start[1] - wires[i].end[1]),
                i,
            ),
        )
        for i in order:
            self._lay(wires[i])
        for i in order:
            self._again(wires[i])

    def _lay(self, wire: Wire) -> None:
        self.wires.append(wire)
        tree = self._tree(wire)
        found = self._way(wire, tree)
        path = found[1]
        back = [path[0]]
        while tree.get(back[-1]) is not None:
            back.append(tree[back[-1]])  # type: ignore[arg-type]
        wire.own = len(back) - 1
        wire.path = [*reversed(back), *path[1:]]
        wire.cost = found[0]
        self._mark(wire)

    def _again(self, wire: Wire) -> None:
        if any(other is not wire and other.joint == wire.joint != "" and other.own for other in self.wires):
            return  # others lean on its way
        before = wire.path, wire.own, wire.cost
        self.wires.remove(wire)
        self._unmark()
        self._lay(wire)
        if wire.cost > before[2] + 1e-9:
            wire.path, wire.own, wire.cost = before
            self._unmark()

    def _unmark(self) -> None:
        self.used = bytearray(self.ends)
        for wire in self.wires:
            self._mark(wire)

    def _tree(self, wire: Wire) -> dict[Node, Node | None]:
        """The nodes that connections of the same joint have laid already, each with the next one towards the joint."""
        tree: dict[Node, Node | None] = {wire.start: None}
        if wire.joint:
            for other in self.wires:
                if other is not wire and other.joint == wire.joint:
                    for near, far in pairwise(other.path[:-1]):
                        tree.setdefault(far, near)
        return tree

    def _mark(self, wire: Wire) -> None:
        path = wire.path
        for i in range(wire.own, len(path)):
            number = self.number(path[i])
            if 0 < i < len(path) - 1 and path[i - 1][0] == path[i + 1][0]:
                self.used[number] |= 2
            elif 0 < i < len(path) - 1 and path[i - 1][1] == path[i + 1][1]:
                self.used[number] |= 1
            else:
                self.used[number] |= 4

    def _way(self, wire: Wire, tree: dict[Node, Node | None]) -> tuple[float, list[Node]]:
        """The cheapest way from any node of a joint's tree to the end; through walls where there is no other."""
        for soft in (False, True):
            found = self._search(wire, tree, soft)
            if found is not None:
                return found
        return self._straight(wire)

    def _straight(self, wire: Wire) -> tuple[float, list[Node]]:
        """Across and then down, whatever is in the way: for sheets so full that nothing else is left."""
        (x1, y1), (x2, y2) = wire.start, wire.end
        across = [(x, y1) for x in range(x1, x2, 1 if x2 > x1 else -1)]
        down = [(x2, y) for y in range(y1, y2, 1 if y2 > y1 else -1)]
        return TRESPASS * self.columns, [*across, *down, (x2, y2)]

    def _search(
        self, wire: Wire, tree: dict[Node, Node | None], soft: bool
    ) -> tuple[float, list[Node]] | None:
        columns, used, walls = self.columns, self.used, self.paper.walls
        shift = (1, columns, -1, -columns)
        end = self.number(wire.end)
        end_x, end_y = wire.end
        own = {self.number(node) for node in tree}
        best: dict[int, float] = {}
        came: dict[int, int] = {}
        heap: list[tuple[float, int, float]] = []
        for node, before in tree.items():
            number = self.number(node)
            ways = wire.leaves if before is None else ANY
            for way in ways:
                cost = 0.0 if before is None else 1.0
                state = number * 4 + way
                best[state] = cost
                guess = abs(node[0] - end_x) + abs(node[1] - end_y)
                heappush(heap, (cost + guess, state, cost))
        while heap:
            _, state, cost = heappop(heap)
            if cost > best[state]:
                continue
            number, way = state >> 2, state & 3
            if number == end:
                return cost, self._trail(came, state)
            x, y = number % columns, number // columns
            use = used[number] if number not in own else 0
            turns = (way,) if use or state not in came else (way, (way + 1) & 3, (way + 3) & 3)
            for turn in turns:
                x2, y2 = x + STEPS[turn][0], y + STEPS[turn][1]
                if not (0 < x2 < columns - 1 and 0 < y2 < self.paper.rows - 1):
                    continue
                following = number + shift[turn]
                price = cost + 1.0 + (BEND if turn != way else 0.0)
                if following == end:
                    if turn not in wire.arrives:
                        continue
                else:
                    if following in own:
                        continue
                    if walls[following] and walls[following] not in wire.gates:
                        if not soft:
                            continue
                        price += TRESPASS
                    there = used[following]
                    if there:
                        if there & 4 or there & (1 if turn & 1 == 0 else 2):
                            if not soft or there & 8:
                                continue
                            price += TRESPASS
                        price += CROSSING
                    side = shift[(turn + 1) & 3]
                    if used[following + side] or used[following - side]:
                        price += BESIDE
                after = following * 4 + turn
                if price < best.get(after, 1e18):
                    best[after] = price
                    came[after] = state
                    heappush(heap, (price + abs(x2 - end_x) + abs(y2 - end_y), after, price))
        return None

    def _trail(self, came: dict[int, int], state: int) -> list[Node]:
        trail = [state]
        while trail[-1] in came:
            trail.append(came[trail[-1]])
        return [((s >> 2) % self.columns, (s >> 2) // self.columns) for s in reversed(trail)]


def corners(path: list[Node]) -> list[Node]:
    """A path with only its ends and bends."""
    kept = [path[0]]
    for before, node, after in zip(path, path[1:], path[2:], strict=False):
        if (node[0] - before[0], node[1] - before[1]) != (after[0] - node[0], after[1] - node[1]):
            kept.append(node)
    if len(path) > 1:
        kept.append(path[-1])
    return kept
