"""Small plans drawn by a seed, and a list of all that they can come to: point by point, nothing joined.

The list knows no boxes. A *point* is one volume of each level beside the states of all automata; in
each scan every leaf of the rows has one value, and whatever the plan leaves open is tried in turn.
It is written from what `ullage.prove.plan` says, for plans of a few hundred points.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product
from random import Random
from typing import NamedTuple

from ullage.prove import plan as p
from ullage.prove.charts import Move
from ullage.prove.plan import CLOCK, INTERLOCK, LASTS, LINK, SEQUENCE, Actor, Decider, Level, Output, Plan, Row

FALSE, TRUE = 0, 2
"""Of Kleene's values; 1 is unknown."""

MASKS = (1, 2, 3, 4, 4, 5, 6, 7)
"""What a row may be: any set of Kleene's values but none."""

SHUT, ANEW = 0, 2
"""What a gate is asked where nobody can ask it anything, and when the law starts anew."""

Numbers = tuple[int, ...]


class Point(NamedTuple):
    """Whether the law has begun, the state of each automaton, the volume of each level [mL]."""

    begun: bool
    states: Numbers
    volumes: Numbers


# --- the list -----------------------------------------------------------------------------------------


def listed(plan: Plan) -> tuple[set[Point], bool]:
    """Every point that a plan can come to, and whether the harm can be; with the harm the list is broken off."""
    spans = [range(level.start[0], level.start[1] + 1) for level in plan.levels]
    starts = product(product(*(one.starts for one in plan.automata())), product(*spans))
    todo = [Point(not plan.watched, states, volumes) for states, volumes in starts]
    law = _Law(plan)
    found = set(todo)
    while todo:
        point = todo.pop()
        ends = _ends(plan, point)
        passed = (range(min(v, low), max(v, high) + 1) for v, (low, high) in zip(point.volumes, ends, strict=True))
        if any(law.harmed(point.states, volumes) for volumes in product(*passed)):
            return found, True
        fresh = set(_followers(plan, law, point)) - found
        found |= fresh
        todo += fresh
    return found, False


def followers(plan: Plan, point: Point) -> set[Point]:
    """Every point one scan after a point, or a start of the law."""
    return set(_followers(plan, _Law(plan), point))


def _followers(plan: Plan, law: _Law, point: Point) -> Iterator[Point]:
    for states in law.anew(point.states):
        yield Point(False, states, point.volumes)
    for volumes in product(*(range(low, high + 1) for low, high in _ends(plan, point))):
        for begun, states in law.scan(point, volumes):
            yield Point(begun, states, volumes)


def pieces_of(plan: Plan, volumes: Numbers) -> Numbers:
    """The piece that each volume lies in."""
    levels = zip(plan.levels, volumes, strict=True)
    return tuple(max(n for n, low in enumerate(level.pieces) if low <= volume) for level, volume in levels)


def _ends(plan: Plan, point: Point) -> list[tuple[int, int]]:
    """Least and greatest volume of each level one scan later."""
    pieces, kinds = pieces_of(plan, point.volumes), []
    for gate, state in zip(plan.actors, point.states[len(plan.deciders) :], strict=True):
        supplied = gate.wire is None or pieces[gate.wire[0]] in range(gate.wire[1], gate.wire[2] + 1)
        kinds.append(gate.kinds[state] if supplied else 0)
    ends = []
    for level, piece, volume in zip(plan.levels, pieces, point.volumes, strict=True):
        gains = level.rate(tuple(kinds[gate] for gate in level.near), level.strips[piece])
        low, high = (min(max(volume + gain, 0), level.most) for gain in gains)
        ends.append((low, high))
    return ends


class _Law:
    """What the law of a plan may do, kept by states and pieces.

    A *world* is one value of each row, as the leaves and the delays that are open give it.
    """

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._rows: dict[tuple[Numbers, Numbers], set[Numbers]] = {}
        self._scans: dict[tuple[bool, Numbers, Numbers], set[tuple[bool, Numbers]]] = {}

    def harmed(self, states: Numbers, volumes: Numbers) -> bool:
        """Whether the harm is so in some world."""
        return any(world[self.plan.harm] == TRUE for world in self._of(states, pieces_of(self.plan, volumes)))

    def scan(self, point: Point, volumes: Numbers) -> set[tuple[bool, Numbers]]:
        """Whether the law has begun, and all states, after a scan that finds these volumes."""
        key = point.begun, point.states, pieces_of(self.plan, volumes)
        if key not in self._scans:
            self._scans[key] = set(self._scan(*key))
        return self._scans[key]

    def _of(self, states: Numbers, pieces: Numbers) -> set[Numbers]:
        if (states, pieces) not in self._rows:
            self._rows[states, pieces] = set(worlds(self.plan.rows, states, pieces))
        return self._rows[states, pieces]

    def anew(self, states: Numbers) -> Iterator[Numbers]:
        """All states when the law starts anew; links and what lasts know nothing of it."""
        count = len(self.plan.deciders)
        if self.plan.restarts:
            own = [
                (state,) if one.drives in (LINK, LASTS) else one.starts
                for one, state in zip(self.plan.deciders, states[:count], strict=True)
            ]
            gates = [gate.moves[at][ANEW] for gate, at in zip(self.plan.actors, states[count:], strict=True)]
            yield from product(*own, *gates)

    def _scan(self, begun: bool, states: Numbers, pieces: Numbers) -> Iterator[tuple[bool, Numbers]]:
        plan, count = self.plan, len(self.plan.deciders)
        own, gates = states[:count], states[count:]
        picks, waits = set[Numbers](), set[Numbers]()
        for world in self._of(states, pieces):
            ways = [
                [move.to for move in one.moves[state] if _fits(move, world)]
                for one, state in zip(plan.deciders, own, strict=True)
            ]
            picks |= set(product(*ways))
            law = [one.drives in (SEQUENCE, INTERLOCK) for one in plan.deciders]
            waits |= set(product(*([at] if of else way for of, at, way in zip(law, own, ways, strict=True))))
        if plan.watched and not begun:  # its image is not complete yet
            for then in sorted(waits):
                asked = [output.safe for output in plan.outputs]
                for output, value in self._wished(then, LINK):
                    asked[output] = value
                yield from self._acted(False, then, gates, asked)
        trips = begun or not plan.watched
        for picked, free in product(sorted(picks), product(*((-1, *output.free) for output in plan.outputs))):
            then, asked = self._decided(own, picked, free, trips)
            yield from self._acted(True, then, gates, asked)

    def _decided(self, own: Numbers, picked: Numbers, free: Numbers, trips: bool) -> tuple[Numbers, list[int]]:
        """Where the deciders end that have picked states to go to, and what is then asked of each output."""
        wishes: list[set[int]] = [{one} - {-1} for one in free]
        for output, value in self._wished(picked, SEQUENCE):
            wishes[output].add(value)
        outputs = zip(wishes, self.plan.outputs, strict=True)
        asked = [min(some) if len(some) == 1 else output.safe for some, output in outputs]
        for output, value in self._wished(picked, INTERLOCK):
            asked[output] = value
        then = []
        for decider, before, to in zip(self.plan.deciders, own, picked, strict=True):
            if decider.drives == INTERLOCK:
                then.append(to if trips else before)
            else:
                granted = all(asked[output] == value for output, value in decider.wishes[to])
                then.append(to if granted else decider.turned[to])
        for output, value in self._wished(picked, LINK):
            asked[output] = value
        return tuple(then), asked

    def _wished(self, picked: Numbers, drives: int) -> Iterator[tuple[int, int]]:
        for decider, state in zip(self.plan.deciders, picked, strict=True):
            if decider.drives == drives:
                yield from decider.wishes[state]

    def _acted(
        self, begun: bool, deciders: Numbers, gates: Numbers, asked: list[int]
    ) -> Iterator[tuple[bool, Numbers]]:
        of = {output.actor: value for output, value in zip(self.plan.outputs, asked, strict=True)}
        ways = [
            gate.moves[at][of.get(n, SHUT)] for n, (gate, at) in enumerate(zip(self.plan.actors, gates, strict=True))
        ]
        for then in product(*ways):
            yield begun, (*deciders, *then)


def _fits(move: Move, world: Numbers) -> bool:
    return all(mask >> world[row] & 1 for row, mask in move.needs)


def worlds(rows: Iterable[Row], states: Numbers, pieces: Numbers) -> Iterator[Numbers]:
    """One value of each row, in every way that the leaves and the open delays allow."""
    found: list[Numbers] = [()]
    for row in rows:
        found = [(*world, value) for world in found for value in _values(row, world, states, pieces)]
    yield from found


def _values(row: Row, world: Numbers, states: Numbers, pieces: Numbers) -> list[int]:
    match row:
        case p.Known(mask):
            return _of_mask(mask)
        case p.ByPiece(level, masks):
            return _of_mask(masks[pieces[level]])
        case p.ByState(automaton, masks):
            return _of_mask(masks[states[automaton]])
        case p.Both(left, right):
            return [min(world[left], world[right])]
        case p.Either(left, right):
            return [max(world[left], world[right])]
        case p.Not(inner):
            return [TRUE - world[inner]]
        case p.Delayed(inner, automaton, masks):
            passed = masks[states[automaton]] if automaton >= 0 else 2
            if world[inner] == TRUE:
                return [[FALSE], [TRUE], [FALSE, TRUE]][passed]
            return [world[inner]]


def _of_mask(mask: int) -> list[int]:
    return [value for value in range(3) if mask >> value & 1]


# --- the plans ----------------------------------------------------------------------------------------


def small_plan(seed: int) -> Plan:
    """A plan of one to three deciders, one or two gates and levels; half of them with rates that are certain.

    No gate has a state that outdoes another: plans with such gates are drawn by `tests.unit.prove.drawn_plans`.
    """
    draw = Random(seed)
    actors, levels = draw.randint(1, 2), draw.choice((1, 1, 2))
    pieces = [(0, *sorted(draw.sample(range(1, 6), draw.randint(0, 3)))) for _ in range(levels)]
    gates = tuple(_gate(draw, n, pieces) for n in range(actors))
    sizes = [draw.randint(1, 3) for _ in range(draw.randint(1, 3))]
    outputs = tuple(
        Output(f"output {n}", gate, draw.choice((0, 0, 1)), draw.choice(((), (), (1,), (0, 1))))
        for n, gate in enumerate(sorted(draw.sample(range(actors), draw.randint(1, actors))))
    )
    rows = _rows(draw, [*sizes, *(len(gate.kinds) for gate in gates)], pieces)
    falls, inside = draw.random() < 0.3, (1,) * (len(pieces[0]) - 1)
    end = p.ByPiece(0, (4, *inside) if falls else (*inside, 4))
    return Plan(
        deciders=tuple(_decider(draw, n, size, len(outputs), len(rows)) for n, size in enumerate(sizes)),
        actors=gates,
        levels=tuple(_level(draw, n, cuts, gates, falls) for n, cuts in enumerate(pieces)),
        outputs=outputs,
        rows=(*rows, end, p.Both(len(rows), draw.randrange(len(rows)))),
        harm=len(rows) + (draw.random() < 0.7),
        watched=draw.random() < 0.5,
        restarts=draw.random() < 0.25,
    )


def _gate(draw: Random, n: int, pieces: list[Numbers]) -> Actor:
    states = range(draw.randint(2, 4))
    moves = tuple((_some(draw, states), _some(draw, states), _some(draw, states)) for _ in states)
    level = draw.randrange(len(pieces))
    first, last = sorted(draw.choices(range(len(pieces[level])), k=2))
    wire = (level, first, last) if draw.random() < 0.4 else None
    kinds = tuple(draw.randint(0, 2) for _ in states)
    return Actor(f"gate {n}", kinds, moves, _some(draw, states), tuple(states), wire)


def _some(draw: Random, states: range) -> Numbers:
    return tuple(sorted(draw.sample(states, min(len(states), draw.choice((1, 1, 1, 2))))))


def _rows(draw: Random, sizes: list[int], pieces: list[Numbers]) -> list[Row]:
    automaton = draw.randrange(len(sizes))
    rows: list[Row] = [p.Known(draw.choice(MASKS))]
    rows += [p.ByPiece(level, tuple(draw.choice(MASKS) for _ in cuts)) for level, cuts in enumerate(pieces)]
    rows.append(p.ByState(automaton, tuple(draw.choice(MASKS) for _ in range(sizes[automaton]))))
    for _ in range(draw.randint(1, 4)):
        left, right = draw.randrange(len(rows)), draw.randrange(len(rows))
        counter = draw.randrange(len(sizes))
        passed = tuple(draw.randint(0, 2) for _ in range(sizes[counter]))
        kinds: list[Row] = [p.Both(left, right), p.Either(left, right), p.Not(left), p.Delayed(left, -1)]
        rows.append(draw.choice([*kinds, p.Delayed(left, counter, passed)]))
    return rows


def _decider(draw: Random, n: int, size: int, outputs: int, rows: int) -> Decider:
    drives = draw.choice((SEQUENCE, SEQUENCE, SEQUENCE, INTERLOCK, INTERLOCK, LINK, LINK, CLOCK, LASTS))
    most = 0 if drives in (CLOCK, LASTS) else outputs
    wishes = tuple(
        tuple((output, draw.randint(0, 1)) for output in draw.sample(range(outputs), draw.randint(0, most)))
        for _ in range(size)
    )
    turned = tuple(draw.randrange(size) if drives == SEQUENCE else state for state in range(size))
    moves = tuple(_ways(draw, size, rows) for _ in range(size))
    names = tuple(map(str, range(size)))
    return Decider(f"law {n}", names, moves, wishes, drives, turned, _some(draw, range(size)))


def _ways(draw: Random, size: int, rows: int) -> tuple[Move, ...]:
    """Moves of which one always fits."""
    row, mask, other = draw.randrange(rows), draw.choice(MASKS), draw.randrange(rows)
    also = tuple((one, draw.choice(MASKS)) for one in (other,) if one != row and draw.random() < 0.3)
    ways = [Move(((row, mask), *also), draw.randrange(size)), Move(((row, mask),), draw.randrange(size))]
    return (*ways, Move(((row, 7 & ~mask),) if mask != 7 else (), draw.randrange(size)))


def _level(draw: Random, n: int, pieces: Numbers, gates: tuple[Actor, ...], falls: bool) -> Level:
    near = tuple(sorted(draw.sample(range(len(gates)), draw.randint(1, len(gates)))))
    strips = tuple(piece if draw.random() < 0.8 else max(piece - 1, 0) for piece in range(len(pieces)))
    certain = draw.random() < 0.5
    table = {
        (kinds, strip): _gain(draw, certain)
        for kinds in product(*(range(max(gates[gate].kinds) + 1) for gate in near))
        for strip in sorted(set(strips))
    }
    most = draw.randint(max(pieces[-1], 3), 7)
    low = draw.randint(0, 2)
    start = (low, low + draw.randint(0, 1))

    def rate(kinds: Numbers, strip: int) -> tuple[int, int]:
        return table[kinds, strip]

    return Level(f"tank {n}", pieces, most, strips, near, rate, (most - start[1], most - start[0]) if falls else start)


def _gain(draw: Random, certain: bool) -> tuple[int, int]:
    low = draw.randint(-2, 2)
    return low, low if certain else low + draw.randint(0, 2)
