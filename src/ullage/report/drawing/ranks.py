"""The order of a flow diagram: who stands behind whom, and in which row.

Sources stand first, each line leads on to the next rank, and what branches off gets a row of its own. A line
that leads back has its own row above all others.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ullage.rig.model import Rig


@dataclass(slots=True)
class Ranks:
    """The order of one diagram.

    Attributes
    ----------
    nodes : list of str
        Tanks, ports, points and fixtures, in the order in which they are met.
    row : dict
        Row of each.
    group : dict
        Which of the pieces that hang together each belongs to.
    line_row : dict
        Row of each line's train.
    back : set of int
        Lines that lead back.
    """

    nodes: list[str] = field(default_factory=list)
    row: dict[str, int] = field(default_factory=dict)
    group: dict[str, int] = field(default_factory=dict)
    line_row: dict[int, int] = field(default_factory=dict)
    back: set[int] = field(default_factory=set)


def node_of(rig: Rig, end: str) -> str:
    """The tank, port, point or fixture that an end of a line belongs to."""
    tank, _, opening = end.partition(".")
    return tank if opening else end


def ranks(rig: Rig) -> Ranks:
    """Order the nodes of a rig."""
    ends = [(node_of(rig, line.start), node_of(rig, line.end)) for line in rig.lines]
    after: dict[str, list[int]] = {}
    for line, (start, _) in enumerate(ends):
        after.setdefault(start, []).append(line)
    entered = {end for start, end in ends if end != start}
    supplies = [name for name, port in rig.ports.items() if port.kind == "supply"]
    others = [*rig.tanks, *rig.points, *rig.ports, *rig.fixtures]
    roots = [*supplies, *(name for name in others if name in after and name not in entered), *others]
    out = Ranks()
    groups = _groups([*roots], ends)
    out.back = _backward(roots, after, ends)
    first: dict[int, int] = {}
    for root in roots:
        first.setdefault(groups[root], len(first))
    low = 0
    for group in sorted(first, key=lambda g: first[g]):
        mine = [root for root in dict.fromkeys(roots) if groups[root] == group]
        low = _rows(mine, after, ends, out, group, low)
    return out


def _groups(names: list[str], ends: list[tuple[str, str]]) -> dict[str, int]:
    """A number for each piece that hangs together."""
    group = {name: i for i, name in enumerate(dict.fromkeys(names))}
    changed = True
    while changed:
        changed = False
        for start, end in ends:
            least = min(group[start], group[end])
            changed |= group[start] != least or group[end] != least
            group[start] = group[end] = least
    return group


def _backward(roots: list[str], after: dict[str, list[int]], ends: list[tuple[str, str]]) -> set[int]:
    """The lines that close a circle, by a walk in depth without recursion."""
    state: dict[str, int] = {}
    back: set[int] = set()
    for root in roots:
        if root in state:
            continue
        state[root] = 1
        trail = [(root, iter(after.get(root, ())))]
        while trail:
            name, lines = trail[-1]
            line = next(lines, None)
            if line is None:
                state[name] = 2
                trail.pop()
                continue
            end = ends[line][1]
            if state.get(end) == 1:
                back.add(line)
            elif end not in state:
                state[end] = 1
                trail.append((end, iter(after.get(end, ()))))
    return back


def _depths(after: dict[str, list[int]], ends: list[tuple[str, str]], back: set[int]) -> dict[str, int]:
    """How many ranks lie behind each node."""
    deep = {name: 0 for pair in ends for name in pair}
    for _ in range(len(deep)):
        changed = False
        for line, (start, end) in enumerate(ends):
            if line not in back and deep[start] < deep[end] + 1:
                deep[start], changed = deep[end] + 1, True
        if not changed:
            break
    return deep


def _rows(
    roots: list[str], after: dict[str, list[int]], ends: list[tuple[str, str]], out: Ranks, group: int, low: int
) -> int:
    """Give the nodes of one piece their rows from a row on; the first row that is free after them."""
    deep = _depths(after, ends, out.back)
    for line, (start, _) in enumerate(ends):
        if line in out.back and start in roots:
            out.line_row[line] = low
            low += 1
    for root in roots:
        if root in out.row:
            continue
        waiting = [(root, -1)]
        while waiting:
            name, line = waiting.pop()
            if name in out.row:
                if line >= 0:
                    out.line_row[line], low = low, low + 1
                continue
            starts_anew = line < 0 or out.row[ends[line][0]] in _used(out, ends[line][0], line, ends)
            if starts_anew:
                out.row[name], low = low, low + 1
            else:
                out.row[name] = out.row[ends[line][0]]
            if line >= 0:
                out.line_row[line] = out.row[name]
            out.nodes.append(name)
            out.group[name] = group
            lines = [each for each in after.get(name, ()) if each not in out.back]
            # The deepest branch goes straight on; the last that is put down is taken up first.
            lines.sort(key=lambda each: (deep[ends[each][1]], -each))
            waiting += [(ends[each][1], each) for each in lines]
    return low


def _used(out: Ranks, name: str, line: int, ends: list[tuple[str, str]]) -> set[int]:
    """The rows that lines from a node have taken already."""
    return {row for other, row in out.line_row.items() if other != line and ends[other][0] == name}
