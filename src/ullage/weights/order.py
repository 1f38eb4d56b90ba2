"""In which order tanks are best filled and emptied: no limit passed on the way, the sides as even as can be.

One tank after the other is taken from one end to the other. While one of them changes, every load
is a straight line over its content, so that the worst of the way is at its corners: the states in
which each tank is at one end or the other. What is looked for is the order whose worst corner is
least. It is found exactly over all sets of tanks already done (Held and Karp, J. SIAM 10 (1962)
196): first by how far a limit is passed at worst; then, among the orders that pass it least, by
the greatest difference of the sides; and among those by the sum of the differences, so that the rig leans
no longer than it must.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf
from operator import add

from ullage.rig.ways import Ways, one_way
from ullage.weights.bearings import Bearing
from ullage.weights.cargo import Item

TANKS_LIMIT = 12
"""Orders are worked out for so many tanks at most: 4096 sets of them."""


@dataclass(frozen=True, slots=True)
class Turn:
    """One tank in its turn.

    Attributes
    ----------
    name : str
        The tank.
    empty : bool
        Whether it is emptied (else filled).
    over : float
        By how much a limit is passed at worst once it is done [kg], with masses as they may be; 0 where none is.
    sides : float
        Greatest difference of the sides once it is done [kg]; 0 where the track is not known.
    """

    name: str
    empty: bool
    over: float
    sides: float


@dataclass(frozen=True, slots=True)
class Course:
    """What is filled and emptied, and what counts on the way.

    Attributes
    ----------
    items : tuple of Item
        What the rig carries; what has no place in ``starts`` is free within its range.
    starts, ends : mapping of int to float
        Mass of each tank before and after [kg], by its index.
    limits : tuple of (Bearing, float)
        Loads that have a limit [kg].
    sides : Bearing or None
        Left minus right.
    after : mapping of int to frozenset of int
        Of a tank that is filled from others: those of which one must be done before it.
    """

    items: tuple[Item, ...]
    starts: Mapping[int, float]
    ends: Mapping[int, float]
    limits: tuple[tuple[Bearing, float], ...]
    sides: Bearing | None
    after: Mapping[int, frozenset[int]]


def best_order(course: Course) -> tuple[Turn, ...]:
    """The best order of a course; nothing where it has more tanks than `TANKS_LIMIT`, or none."""
    movers = sorted(course.starts)
    if not 0 < len(movers) <= TANKS_LIMIT:
        return ()
    costs = [_cost(course, movers, done) for done in range(1 << len(movers))]
    may = _may_follow(course, movers)
    over = [cost[0] for cost in costs]
    passed, _ = _best(over, may, max)
    apart = [cost[1] if cost[0] <= passed else inf for cost in costs]
    widest, _ = _best(apart, may, max)
    _, order = _best([sides if sides <= widest else inf for sides in apart], may, add)
    turns, done = [], 0
    for at in order:
        done |= 1 << at
        tank = movers[at]
        empty = course.ends[tank] < course.starts[tank]
        turns.append(Turn(course.items[tank].name, empty, *costs[done]))
    return tuple(turns)


def _cost(course: Course, movers: list[int], done: int) -> tuple[float, float]:
    """How far a limit is passed and how far the sides differ at one corner, at worst over the free masses [kg]."""
    held = {tank: (course.ends if done >> at & 1 else course.starts)[tank] for at, tank in enumerate(movers)}
    over = [bearing.range_with(course.items, held).most - limit for bearing, limit in course.limits]
    if course.sides is None:
        return max([0.0, *over]), 0.0
    span = course.sides.range_with(course.items, held)
    return max([0.0, *over]), max(abs(span.least), abs(span.most))


def _may_follow(course: Course, movers: list[int]) -> Callable[[int, int], bool]:
    """Whether a tank may be taken when some are done."""
    masks = [
        sum(1 << movers.index(source) for source in sorted(course.after.get(tank, ())) if source in movers)
        for tank in movers
    ]
    return lambda done, at: not masks[at] or bool(masks[at] & done)


def _best(
    costs: list[float], may: Callable[[int, int], bool], join: Callable[[float, float], float]
) -> tuple[float, tuple[int, ...]]:
    """The order whose corners cost least when joined, and what they cost; the first in the file's order among equals.

    Parameters
    ----------
    costs : (2^n,) list of float
        Of each corner, by the set of tanks that are done as the bits of its index.
    may : callable
        Whether a tank may follow a set of them.
    join : callable
        ``max`` for the worst corner, ``add`` for all of them together.
    """
    best: dict[int, tuple[float, tuple[int, ...]]] = {0: (costs[0], ())}
    for done in range(len(costs)):
        if done not in best:
            continue
        so_far, order = best[done]
        for at in range(len(costs).bit_length() - 1):
            if done >> at & 1 or not may(done, at):
                continue
            more = done | 1 << at
            reached = (join(so_far, costs[more]), (*order, at))
            if more not in best or reached < best[more]:
                best[more] = reached
    return best[len(costs) - 1]


def filled_from(ways: Ways) -> dict[str, frozenset[str]]:
    """Of each tank that no supply fills directly: the tanks that can be filled before it and led into it.

    A tank that nothing leads to is filled by can, whenever a person likes, and is not named.
    """
    rig, table = ways.rig, dict[str, frozenset[str]]()
    supplied = ways.reach([name for name, port in rig.ports.items() if port.kind == "supply"], one_way)
    filled = [tank for tank in rig.tanks if not supplied.isdisjoint(ways.openings(tank))]
    for tank in filled:
        led = ways.reach(ways.wet(tank), one_way)
        for other in rig.tanks:
            if other not in filled and not led.isdisjoint(ways.openings(other)):
                filled.append(other)
                table[other] = frozenset({tank})
    return table
