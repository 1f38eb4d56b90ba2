"""Lines on the grid: along it, round what stands there, with few bends and few crossings.

Shortest paths over pairs of node and direction (Hart, Nilsson and Raphael, IEEE Trans. Syst. Sci.
Cybern. 4 (1968) 100), one connection after another; then each is taken up once more and laid anew,
knowing all the others. Connections of one joint (a point where lines meet) may share their way.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cache
from heapq import heappop, heappush
from itertools import pairwise
from math import inf

from ullage.report.drawing.paper import Node, Paper

BEND, CROSSING, BESIDE = 4.0, 14.0, 0.35
"""Cost of a bend, of a crossing, of a node beside another line [units of length]."""

TRESPASS, FORCED = 12.0, 1000.0
"""Where there is no way: cost of a node in a wall, and of the whole [units of length]."""

EAGER = 1.1
"""What is left of a way counts so much more than what is behind: a way costs at most so many times the least."""

SEARCHED = 3_000
"""A search is given up after so many steps."""

PROBED = 150
"""From an end that reaches so many nodes there is a way, as a rule."""

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
    forced : bool
        Whether it runs through something, since there is no other way.
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
    forced: bool = False


class Router:
    """The lines of a sheet."""

    def __init__(self, paper: Paper, ends: Iterable[Node]) -> None:
        self.paper = paper
        self.columns = paper.columns
        self.steps = (1, paper.columns, -1, -paper.columns)
        self.wires: list[Wire] = []
        self.used = bytearray()
        """For each node: 1 a line across passes, 2 a line down passes, 4 a line bends here, 8 one ends."""
        self.settle(ends)

    def settle(self, ends: Iterable[Node]) -> None:
        """Say at which nodes lines end."""
        self.ends = bytearray(len(self.paper.walls))
        for node in ends:
            self.ends[self.number(node)] = 12
        self.used = bytearray(self.ends)
        for wire in self.wires:
            self._mark(wire)

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
            self.add(wires[i])
        for i in order:
            if wires[i].path:
                self.remove(wires[i])
                self.add(wires[i])

    def add(self, wire: Wire, most: float = inf) -> bool:
        """Lay one connection, knowing all that lie already; whether there is a way that costs less than so much."""
        tree = self._tree(wire)
        begins = [self.number(wire.start) + self.steps[way] for way in wire.leaves] if len(tree) == 1 else []
        ends = [self.number(wire.end) - self.steps[way] for way in wire.arrives]
        known = {self.number(node) for node in tree}
        shut = self._shut_in(wire.end, ends, known, wire.gates)
        shut = shut or (bool(begins) and self._shut_in(wire.start, begins, {self.number(wire.end)}, wire.gates))
        found = None if shut else self._search(wire, tree, most, inf)
        if found is not None:
            self._keep(wire, tree, *found)
        return found is not None

    def force(self, wire: Wire) -> None:
        """Lay one connection through whatever is in its way."""
        tree = self._tree(wire)
        cost, path = self._search(wire, tree, inf, TRESPASS) or (0.0, self._straight(wire))
        self._keep(wire, tree, cost + FORCED, path)
        wire.forced = True

    def _keep(self, wire: Wire, tree: dict[Node, Node | None], cost: float, path: list[Node]) -> None:
        back = [path[0]]
        while (before := tree.get(back[-1])) is not None:
            back.append(before)
        wire.own = len(back) - 1
        wire.path = [*reversed(back), *path[1:]]
        wire.cost = cost
        self.wires.append(wire)
        self._mark(wire)

    def remove(self, wire: Wire) -> None:
        """Take one connection up again; those that shared its way have it for themselves now."""
        self.wires.remove(wire)
        wire.path = []
        seen: dict[str, set[Node]] = {}
        self.used = bytearray(self.ends)
        for other in self.wires:
            if other.joint:
                before = seen.setdefault(other.joint, set())
                other.own = 0
                while other.own + 1 < len(other.path) and other.path[other.own + 1] in before:
                    other.own += 1
                before.update(other.path)
            self._mark(other)

    def _tree(self, wire: Wire) -> dict[Node, Node | None]:
        """The nodes that connections of the same joint have laid already, each with the next one towards the joint."""
        tree: dict[Node, Node | None] = {wire.start: None}
        if wire.joint:
            for other in self.wires:
                if other.joint == wire.joint:
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

    def _shut_in(self, end: Node, waiting: list[int], goals: set[int], gates: tuple[int, ...]) -> bool:
        """Whether walls and lines leave only few nodes to go to from an end of a connection."""
        walls, used = self.paper.walls, self.used
        seen = {self.number(end)}
        while waiting:
            number = waiting.pop()
            row, column = divmod(number, self.columns)
            if number in goals:
                return False
            if number in seen or not (0 < column < self.columns - 1 and 0 < row < self.paper.rows - 1):
                continue
            if (walls[number] and walls[number] not in gates) or used[number] & 12:
                continue
            seen.add(number)
            if len(seen) > PROBED:
                return False
            waiting += [number + step for step in self.steps]
        return True

    def _straight(self, wire: Wire) -> list[Node]:
        """Across and then down, whatever is in the way: for sheets so full that nothing else is left."""
        (x1, y1), (x2, y2) = wire.start, wire.end
        across = [(x, y1) for x in range(x1, x2, 1 if x2 > x1 else -1)]
        down = [(x2, y) for y in range(y1, y2, 1 if y2 > y1 else -1)]
        return [*across, *down, (x2, y2)]

    def _search(
        self, wire: Wire, tree: dict[Node, Node | None], most: float, through: float
    ) -> tuple[float, list[Node]] | None:
        """The cheapest way from any node of a joint's tree to the end, if it costs less than so much.

        Parameters
        ----------
        through : float
            Cost of a node in a wall.
        """
        columns, used, walls, rows = self.columns, self.used, self.paper.walls, self.paper.rows
        shift = self.steps
        (end_x, end_y), end, gates, arrives = wire.end, self.number(wire.end), wire.gates, wire.arrives
        own = {self.number(node) for node in tree}
        came: dict[int, int] = {}
        bends = _least_bends(arrives)
        best, heap = self._begin(wire, tree, bends)
        for _ in range(SEARCHED):
            if not heap:
                break
            _, minus, state = heappop(heap)
            cost = -minus
            if cost > best[state]:
                continue
            number, way = state >> 2, state & 3
            if number == end:
                return cost, self._trail(came, state)
            straight = state not in came or (used[number] and number not in own)
            for turn in (way,) if straight else (way, (way + 1) & 3, (way + 3) & 3):
                following = number + shift[turn]
                y2, x2 = divmod(following, columns)
                if following in own or not (0 < x2 < columns - 1 and 0 < y2 < rows - 1):
                    continue
                price = cost + 1.0 if turn == way else cost + 1.0 + BEND
                if following == end:
                    if turn not in arrives:
                        continue
                else:
                    wall, there = walls[following], used[following]
                    if wall and wall not in gates:
                        price += through
                    if there:
                        if there & 8:
                            continue
                        price += CROSSING
                        if there & 4 or there & (1 if turn & 1 == 0 else 2):
                            price += through
                    side = shift[(turn + 1) & 3]
                    if used[following + side] or used[following - side]:
                        price += BESIDE
                if price == inf:
                    continue
                after = following * 4 + turn
                if price < best.get(after, inf):
                    side = 4 * ((end_x > x2) - (end_x < x2) + 1) + 12 * ((end_y > y2) - (end_y < y2) + 1)
                    guess = abs(x2 - end_x) + abs(y2 - end_y) + bends[side + turn]
                    if price + guess < most:
                        best[after] = price
                        came[after] = state
                        heappush(heap, (price + EAGER * guess, -price, after))
        return None

    def _begin(
        self, wire: Wire, tree: dict[Node, Node | None], bends: list[float]
    ) -> tuple[dict[int, float], list[tuple[float, float, int]]]:
        """The states from which a search sets out, with their costs, and as a heap by what each may come to."""
        best: dict[int, float] = {}
        heap: list[tuple[float, float, int]] = []
        for node, before in tree.items():
            for way in wire.leaves if before is None else ANY:
                cost = 0.0 if before is None else 1.0
                state = self.number(node) * 4 + way
                best[state] = cost
                guess = abs(node[0] - wire.end[0]) + abs(node[1] - wire.end[1]) + bends[_sides(node, wire.end) + way]
                heappush(heap, (cost + EAGER * guess, -cost, state))
        return best, heap

    def _trail(self, came: dict[int, int], state: int) -> list[Node]:
        trail = [state]
        while trail[-1] in came:
            trail.append(came[trail[-1]])
        return [((s >> 2) % self.columns, (s >> 2) // self.columns) for s in reversed(trail)]


def _sides(node: Node, end: Node) -> int:
    """Where an end lies from a node, as a place in the table of `_least_bends`."""
    (x, y), (end_x, end_y) = node, end
    return 4 * ((end_x > x) - (end_x < x) + 1) + 12 * ((end_y > y) - (end_y < y) + 1)


@cache
def _least_bends(arrives: tuple[int, ...]) -> list[float]:
    """The least cost of bends by where the end lies (below, level, above; left, upright, right) and direction.

    Never more than what a way really needs, so that the way that is found is the cheapest.
    """
    table = []
    for down in (-1, 0, 1):
        for right in (-1, 0, 1):
            for way in ANY:
                counts = [_bends((right, down), way, arrive) for arrive in arrives]
                table.append(BEND * min(counts, default=0) if (right, down) != (0, 0) else 0.0)
    return table


def _bends(side: Node, way: int, arrive: int) -> int:
    """Least number of bends of a way that sets out in one direction and arrives in another."""
    ahead = side[0] * STEPS[way][0] + side[1] * STEPS[way][1]
    aside = side[0] * STEPS[way][1] + side[1] * STEPS[way][0]
    if way == arrive:
        return 0 if ahead > 0 and not aside else 2 if ahead > 0 else 4
    if way == (arrive + 2) % 4:
        return 2 if aside else 4
    onward = side[0] * STEPS[arrive][0] + side[1] * STEPS[arrive][1]
    return 1 if ahead >= 0 and onward > 0 else 3
