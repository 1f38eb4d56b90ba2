"""Small plans drawn by a seed: every kind of part, few states, so that all of what can be can be counted out."""

from __future__ import annotations

from random import Random

from ullage.prove import plan as p
from ullage.prove.charts import Move
from ullage.prove.plan import Actor, Decider, Level, Output, Plan, Row

BRIM = 7
"""Volumes are from 0 to this [mL]."""

MASKS = (1, 2, 3, 4, 5, 6, 7)
"""What a row may be: any set of Kleene's values but none."""


def drawn_plan(seed: int) -> Plan:
    """A plan of one or two deciders, one or two gates and levels, now and then with restarts."""
    draw = Random(seed)
    deciders, actors, levels = draw.randint(1, 2), draw.randint(1, 2), draw.choice((1, 1, 2))
    sizes = [draw.randint(1, 3) for _ in range(deciders)]
    pieces = [(0, *sorted(draw.sample(range(1, BRIM), draw.randint(1, 3)))) for _ in range(levels)]
    gates = tuple(_gate(draw, n, draw.randint(1, 2), pieces) for n in range(actors))
    automata = [*sizes, *(len(gate.kinds) for gate in gates)]
    rows = _rows(draw, automata, deciders, pieces)
    outputs = tuple(Output(gate.name, n, 0, (1,) * draw.randint(0, 1)) for n, gate in enumerate(gates))
    outputs = outputs[draw.randint(0, actors - 1) :]  # now and then a gate that nobody can ask anything of
    return Plan(
        deciders=tuple(_decider(draw, n, size, len(outputs), len(rows)) for n, size in enumerate(sizes)),
        actors=gates,
        levels=tuple(_level(draw, n, cuts, actors) for n, cuts in enumerate(pieces)),
        outputs=outputs,
        rows=(*rows, _top(pieces[0]), p.Both(len(rows), draw.randrange(len(rows)))),
        harm=len(rows) + draw.randint(0, 1),
        watched=draw.random() < 0.5,
        restarts=draw.random() < 0.3,
    )


def _top(pieces: tuple[int, ...]) -> Row:
    return p.ByPiece(0, (*(1 for _ in pieces[1:]), 4))


def _gate(draw: Random, n: int, stroke: int, pieces: list[tuple[int, ...]]) -> Actor:
    """A valve: shut, a few scans on its way to it, open; the freshest of those on the way outdoes the rest."""
    going = [
        ((*((s + 1,) if s < stroke else ()), 0), (stroke + 1,), (0, min(s + 1, stroke))) for s in range(1, stroke + 1)
    ]
    moves = (((0,), (stroke + 1,), (0,)), *going, ((1,), (stroke + 1,), (1,)))
    first = (1, *(1 for _ in going), stroke + 1) if draw.random() < 0.7 else tuple(range(stroke + 2))
    level = draw.randrange(len(pieces))
    ends = sorted(draw.choices(range(len(pieces[level])), k=2))
    wire = (level, ends[0], ends[1]) if draw.random() < 0.3 else None
    return Actor(f"valve {n}", (0, *(1 for _ in going), 1), moves, (draw.choice((0, stroke + 1)),), first, wire)


def _rows(draw: Random, automata: list[int], deciders: int, pieces: list[tuple[int, ...]]) -> list[Row]:
    rows: list[Row] = [p.Known(draw.choice(MASKS))]
    for level, cuts in enumerate(pieces):
        rows.append(p.ByPiece(level, tuple(draw.choice(MASKS) for _ in cuts)))
    automaton = draw.randrange(len(automata))
    if automaton < deciders:
        rows.append(p.ByState(automaton, tuple(draw.choice(MASKS) for _ in range(automata[automaton]))))
    else:  # of a valve on its way the law may think what it may of a shut one, and more
        rows.append(p.ByState(automaton, (1, *((draw.choice((3, 7)),) * (automata[automaton] - 2)), 6)))
    for _ in range(draw.randint(1, 4)):
        left, right = draw.randrange(len(rows)), draw.randrange(len(rows))
        masks = tuple(draw.randint(0, 2) for _ in range(automata[0]))
        kinds: list[Row] = [p.Both(left, right), p.Either(left, right), p.Not(left), p.Delayed(left, -1)]
        rows.append(draw.choice([*kinds, p.Delayed(left, 0, masks)]))
    return rows


def _decider(draw: Random, n: int, size: int, outputs: int, rows: int) -> Decider:
    moves = []
    for state in range(size):
        row, mask, to = draw.randrange(rows), draw.choice(MASKS), draw.randrange(size)
        ways = [Move(((row, mask),), to), Move(((row, 7 & ~mask),) if mask != 7 else (), draw.randrange(size))]
        moves.append((*ways, *(Move((), state) for _ in range(draw.randint(0, 1)))))
    wishes = tuple(((draw.randrange(outputs), draw.randint(0, 1)),) * draw.randint(0, 1) for _ in range(size))
    turned = tuple(draw.randrange(size) for _ in range(size))
    return Decider(
        f"law {n}", tuple(map(str, range(size))), tuple(moves), wishes, draw.choice((0, 0, 0, 1, 2)), turned, (0,)
    )


def _level(draw: Random, n: int, pieces: tuple[int, ...], actors: int) -> Level:
    near = tuple(sorted(draw.sample(range(actors), draw.randint(1, actors))))
    least = {strip: (draw.randint(-2, 0), draw.randint(0, 1)) for strip in range(len(pieces))}
    gains = [(draw.randint(-2, 0), draw.randint(0, 3)) for _ in near]

    def rate(kinds: tuple[int, ...], strip: int) -> tuple[int, int]:
        passing = [gain for kind, gain in zip(kinds, gains, strict=True) if kind]
        low, high = least[strip]
        return low + sum(one for one, _ in passing), high + sum(one for _, one in passing)

    start = sorted((draw.randint(0, BRIM // 2), draw.randint(0, BRIM // 2)))
    return Level(f"tank {n}", pieces, BRIM, tuple(range(len(pieces))), near, rate, (start[0], start[1]))
