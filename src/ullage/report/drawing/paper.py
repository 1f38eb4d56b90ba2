"""What of a sheet is taken, on a grid of nodes one unit apart, and the best free place for a box.

A row of nodes is one integer, a bit for each node that is taken, so that all places at which a
box fits are found at once by shifting rows over each other.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, floor

from ullage.report.drawing.scene import Rect, Spot

Node = tuple[int, int]
"""A node of the grid: column and row."""

NEAR = 0.45
"""A line keeps this far from what stands on the sheet [units]."""

SPARE = 1.5
"""Two boxes are at least so far apart [px]."""

HALF = 0.5
"""A box takes all nodes that are so near [units]: then no two boxes overlap whose nodes differ."""


class Paper:
    """The grid of a sheet.

    Attributes
    ----------
    unit : float
        Distance of two nodes [px].
    columns, rows : int
        Number of nodes.
    walls : list of int
        Which nodes no line may pass, row by row: 0 free, 1 a wall, else the number of the only joint whose lines may.
    """

    def __init__(self, width: float, height: float, unit: float) -> None:
        self.unit = unit
        self.columns, self.rows = int(width / unit) + 1, int(height / unit) + 1
        self.walls = [0] * (self.columns * self.rows)
        self._taken = [0] * self.rows
        self._lined = [0] * self.rows
        self._boxes: list[Rect] = []

    def copy(self) -> Paper:
        """A sheet of which the same is taken."""
        other = Paper.__new__(Paper)
        other.unit, other.columns, other.rows = self.unit, self.columns, self.rows
        other.walls, other._taken, other._lined = self.walls[:], self._taken[:], self._lined[:]
        other._boxes = self._boxes[:]
        return other

    def node(self, spot: Spot) -> Node:
        """The node next to a place."""
        return self.inside(round(spot.x / self.unit), round(spot.y / self.unit))

    def inside(self, column: int, row: int) -> Node:
        """A node, moved onto the sheet."""
        return min(max(column, 1), self.columns - 2), min(max(row, 1), self.rows - 2)

    def spot(self, node: Node) -> Spot:
        """Where a node lies [px]."""
        return Spot(node[0] * self.unit, node[1] * self.unit)

    def take(self, box: Rect, wall: bool = True) -> None:
        """Keep other boxes out of a place, and lines as well when it is a wall."""
        self._boxes.append(box)
        left, right, top, bottom = self._nodes(box, HALF)
        bits = (1 << (right + 1)) - (1 << left) if right >= left else 0
        for row in range(top, bottom + 1):
            self._taken[row] |= bits
        if wall:
            left, right, top, bottom = self._nodes(box, NEAR)
            for row in range(top, bottom + 1):
                for column in range(left, right + 1):
                    self.walls[row * self.columns + column] = 1

    def mark(self, node: Node) -> None:
        """Keep boxes off a node through which a line runs."""
        self._lined[node[1]] |= 1 << node[0]

    def gate(self, node: Node, way: Node, length: int, joint: int, through: bool = True) -> None:
        """Let only the lines of a joint pass some nodes from its own on, and no box stand there.

        Parameters
        ----------
        through : bool
            Whether a wall that is there is opened.
        """
        for step in range(length + 1):
            column, row = node[0] + way[0] * step, node[1] + way[1] * step
            if 0 <= column < self.columns and 0 <= row < self.rows:
                if through or self.walls[row * self.columns + column] != 1:
                    self.walls[row * self.columns + column] = joint
                self._taken[row] |= 1 << column

    def free(self, box: Rect) -> bool:
        """Whether nothing stands in a place on the sheet."""
        unit = self.unit
        if box.x1 < 0 or box.y1 < 0 or box.x2 > (self.columns - 1) * unit or box.y2 > (self.rows - 1) * unit:
            return False
        if not self._clear(box, 0.25, self._lined):
            return False
        return self._clear(box, HALF, self._taken) or not any(box.meets(other, -SPARE) for other in self._boxes)

    def bare(self, box: Rect) -> bool:
        """Whether no box stands in a place, whatever lines may."""
        return not any(box.meets(other) for other in self._boxes)

    def _clear(self, box: Rect, slack: float, taken: list[int]) -> bool:
        left, right, top, bottom = self._nodes(box, slack)
        bits = (1 << (right + 1)) - (1 << left) if right >= left else 0
        return not any(taken[row] & bits for row in range(top, bottom + 1))

    def _nodes(self, box: Rect, slack: float) -> tuple[int, int, int, int]:
        """First and last column and row of the nodes in a box and so many units around it."""
        u = self.unit
        left = max(ceil(box.x1 / u - slack - 1e-9), 0)
        right = min(floor(box.x2 / u + slack + 1e-9), self.columns - 1)
        top = max(ceil(box.y1 / u - slack - 1e-9), 0)
        bottom = min(floor(box.y2 / u + slack + 1e-9), self.rows - 1)
        return left, right, top, bottom

    def places(self, box: Rect) -> list[tuple[int, int]]:
        """Rows in which a box given about a node at (0, 0) fits, each with a bit for every column."""
        u = self.unit
        left, right = ceil(box.x1 / u - HALF - 1e-9), floor(box.x2 / u + HALF + 1e-9)
        top, bottom = ceil(box.y1 / u - HALF - 1e-9), floor(box.y2 / u + HALF + 1e-9)
        low, high = max(-left, 0) + 1, min(self.columns - 1 - right, self.columns - 1) - 1
        if high < low:
            return []
        window = _bits(range(low, high + 1))
        spread = [_smeared(a | b, left, right) for a, b in zip(self._taken, self._lined, strict=True)]
        found = []
        for row in range(max(-top, 0), self.rows - max(bottom, 0)):
            taken = 0
            for over in range(row + top, row + bottom + 1):
                taken |= spread[over]
            if fits := window & ~taken:
                found.append((row, fits))
        return found

    def best(
        self,
        box: Rect,
        across: Callable[[int], float],
        down: Callable[[int], float],
        windows: list[tuple[range, range]] | None = None,
    ) -> list[tuple[float, Node]]:
        """The cheapest node about which a box fits, when the cost is the sum of one by column and one by row.

        Parameters
        ----------
        box : Rect
            About a node at (0, 0) [px].
        across, down : callable
            Cost by column and by row.
        windows : list of tuple of range, optional
            Columns and rows that are looked at, for each its own best; all at once when not given.

        Returns
        -------
        list of tuple
            Cost and node for each window in which the box fits.
        """
        costs = [across(column) for column in range(self.columns)]
        order = sorted(range(self.columns), key=lambda column: (costs[column], column))
        places = [(row, fits, down(row)) for row, fits in self.places(box)]
        found = []
        for columns, rows in windows or [(range(self.columns), range(self.rows))]:
            bits = _bits(columns)
            best: tuple[float, Node] | None = None
            for row, fits, least in places:
                if row not in rows or not (inside := fits & bits):
                    continue
                if best is not None and least + costs[order[0]] >= best[0]:
                    continue
                column = next(column for column in order if inside >> column & 1)
                if best is None or least + costs[column] < best[0] - 1e-9:
                    best = least + costs[column], (column, row)
            if best is not None:
                found.append(best)
        return found


def _bits(columns: range) -> int:
    """A bit for each of some columns."""
    return (1 << columns.stop) - (1 << columns.start) if columns.stop > columns.start else 0


def _smeared(row: int, left: int, right: int) -> int:
    """A bit for each node about which ``left`` to ``right`` is not free in a row."""
    out, count, width = row, 1, right - left + 1
    while count < width:
        step = min(count, width - count)
        out |= out >> step
        count += step
    return out << -left if left <= 0 else out >> left
