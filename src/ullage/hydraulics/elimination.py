"""The order and the lists by which the solver's matrix is factored, made once per network.

Nodes are eliminated by least degree (Tinney & Walker 1967): always the node joined to fewest
others, whose neighbours are then joined to each other. What that fills in is the pattern of the
factor; since it never changes, the factorisation becomes a walk along prepared lists.
"""

from __future__ import annotations

from dataclasses import dataclass


def least_degree_order(count: int, pairs: list[tuple[int, int]]) -> list[int]:
    """Order in which to eliminate the nodes 0..count-1 joined by pairs (ties: the lower index)."""
    near: list[set[int]] = [set() for _ in range(count)]
    for a, b in pairs:
        if a != b:
            near[a].add(b)
            near[b].add(a)
    order, left = [], set(range(count))
    while left:
        node = min(left, key=lambda n: (len(near[n]), n))
        left.remove(node)
        order.append(node)
        for other in sorted(near[node]):
            near[other] |= near[node]
            near[other] -= {node, other}
    return order


@dataclass(frozen=True, slots=True)
class Pattern:
    """The factor's pattern for nodes numbered in order of elimination.

    Attributes
    ----------
    column_first : (count + 1,)
        Where each column's rows start.
    row : rows below the diagonal, rising in each column.
    target : matrix slot that each update of the factorisation changes, in order of use.
        Slots 0..count-1 are the diagonal, then one slot per entry of ``row``.
    """

    column_first: list[int]
    row: list[int]
    target: list[int]

    def slot(self, a: int, b: int) -> int:
        """Matrix slot of the entry of two different nodes."""
        column, row = min(a, b), max(a, b)
        at = self.row.index(row, self.column_first[column], self.column_first[column + 1])
        return len(self.column_first) - 1 + at


def pattern_of(count: int, pairs: list[tuple[int, int]]) -> Pattern:
    """Pattern of the factor, fill included, of nodes joined by pairs and eliminated in order of index."""
    below: list[set[int]] = [set() for _ in range(count)]
    for a, b in pairs:
        if a != b:
            below[min(a, b)].add(max(a, b))
    for node in range(count):
        if below[node]:
            heir = min(below[node])
            below[heir] |= below[node] - {heir}
    column_first, row = [0], []
    for rows in below:
        row.extend(sorted(rows))
        column_first.append(len(row))
    target: list[int] = []
    found = Pattern(column_first, row, target)
    for column in range(count):
        lower = row[column_first[column] : column_first[column + 1]]
        for i, low in enumerate(lower):
            target.append(low)
            target.extend(found.slot(low, high) for high in lower[i + 1 :])
    return found
