"""Gates and sequences as automata that are no larger than a question needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache
from typing import NamedTuple

from ullage.control import codes
from ullage.control import layout as at
from ullage.plant.gates import OPENS, SHUT, Gate
from ullage.prove import harms as h
from ullage.prove.ask import MAY_FALSE, MAY_TRUE, MAY_UNKNOWN
from ullage.prove.charts import Chart, Move
from ullage.prove.quotient import Automaton, outdoing, reduced
from ullage.prove.scope import Scope

ASKED = -1
"""The row that says what is asked of a gate, while its automaton is made smaller."""

FRESH = 2
"""Kind of the passage of a gate that has just opened, where that lets go what was shut off; 0 is shut, 1 passes."""

ANY = MAY_FALSE | MAY_UNKNOWN | MAY_TRUE


class GateLook(NamedTuple):
    """What a state of a gate shows: the kind of its passage, whether it stands shut, what the law may think."""

    kind: int
    shut: bool
    thought: tuple[int, ...]


class ChartLook(NamedTuple):
    """What a state of a sequence shows: outputs it asks for, truth of the rows that look at it, parts of the harm."""

    wishes: tuple[tuple[int, int], ...]
    truths: tuple[int, ...]
    harms: tuple[int, ...]


LOOSE = reduced([GateLook(1, False, ())], [[Move((), 0)]], [0], [0])
"""A gate that is not followed: anything may pass."""


def small_gate(scope: Scope, name: str) -> Automaton[GateLook]:
    """A gate as an automaton; its moves need what is asked of it (row `ASKED`)."""
    if name not in scope.gates:
        return LOOSE
    gate, t = scope.bands.gates[name], scope.tables
    asks = (-1 if t.op[row] == codes.T_DRIVEN else t.right[row] for row in scope.asks_of_gate(name))
    return _shown(gate, tuple(asks), t.output_safe[gate.output], name in scope.holding_back)


@lru_cache(maxsize=512)
def _shown(gate: Gate, asks: tuple[int, ...], safe: int, holds_back: bool) -> Automaton[GateLook]:
    """A gate that shows where it stands as some rows ask (-1: whether it is driven); under most faults the same."""
    kinds = {SHUT: 0, OPENS: FRESH if holds_back else 1}
    looks = [
        GateLook(kinds.get(gate.passes[s], 1), gate.shut[s], tuple(_thought(gate, s, ask, safe) for ask in asks))
        for s in range(len(gate.passes))
    ]
    moves = [[Move(((ASKED, 1 << way),), to) for way, tos in enumerate(ways) for to in tos] for ways in gate.moves]
    return reduced(looks, moves, list(range(len(looks))), gate.starts)


def _thought(gate: Gate, state: int, ask: int, safe: int) -> int:
    if ask < 0:
        return MAY_TRUE if gate.asked[state] != safe else MAY_FALSE
    order = (codes.CLOSED, codes.OPEN)
    return gate.believed[state][order.index(ask) if ask in order else 2]


def small_sequence(scope: Scope, chart: Chart) -> Automaton[ChartLook]:
    """A sequence as an automaton that shows only what is followed."""
    asks, harms = scope.asks_of_sequence(chart.q), scope.harms_in(chart.q)
    return _showing(chart, frozenset(scope.outputs), tuple(asks), tuple(harms))


@lru_cache(maxsize=512)
def _showing(
    chart: Chart, outputs: frozenset[int], asks: tuple[int, ...], harms: tuple[h.InState | h.Active, ...]
) -> Automaton[ChartLook]:
    """A sequence that shows what it asks of some outputs, the truth of some rows, and some parts of the harm.

    Under most faults these are the same.
    """
    states = range(len(chart.states))
    looks = [
        ChartLook(
            tuple(sorted(one for one in chart.on[s] if one[0] in outputs)),
            tuple(_truth(chart, s, row) for row in asks),
            tuple(_is(chart, s, part) for part in harms),
        )
        for s in states
    ]
    moves = [list(_with_overrides(outputs, chart, s)) for s in states]
    return reduced(looks, moves, chart.overridden, range(chart.starts))


def _truth(chart: Chart, state: int, row: int) -> int:
    """Truth of a row that looks at a sequence, in the scan after the one that left it in a state."""
    t, tables = chart.program.column, chart.program.tables
    entry = chart.entries(state)
    left = tables.left[row]
    if tables.op[row] == codes.T_SEQUENCE:
        so = (tables.amount[row] >> entry[t[at.SEQUENCE] + left]) & 1
    elif tables.op[row] == codes.T_STEP:
        so = entry[t[at.ACTIVE] + left]
    else:
        runs = entry.get(t[at.RUNNING] + left, 0) * chart.program.scan_ms
        passed = entry.get(t[at.CLOCK] + left, 0) + runs >= tables.amount[row]
        so = int(entry[t[at.ACTIVE] + left] and passed)
    return codes.TRUE if so else codes.FALSE


def _is(chart: Chart, state: int, part: h.InState | h.Active) -> int:
    entry, t = chart.entries(state), chart.program.column
    if isinstance(part, h.InState):
        return int(codes.STATES[entry[t[at.SEQUENCE] + chart.q]] == part.word)
    return entry[t[at.ACTIVE] + chart.program.step(part.step)]


def _with_overrides(outputs: frozenset[int], chart: Chart, state: int) -> Iterator[Move]:
    """The moves of a state; where an output that is not followed may be driven otherwise, also what comes of that."""
    for move in chart.moves[state]:
        yield move
        on = chart.on[move.to]
        if any(one[0] not in outputs and _contested(chart, one, on) for one in on):
            yield Move(move.needs, chart.overridden[move.to])


def _contested(chart: Chart, one: tuple[int, int], on: frozenset[tuple[int, int]]) -> bool:
    """Whether an interlock, another sequence or another action that is on may ask something else of an output."""
    t, (output, value) = chart.program.tables, one
    asked = {(t.drive_output[k], t.drive_value[k]) for k in range(len(t.drive_output))} | on
    asked |= {(t.action_output[a], t.action_value[a]) for a, of in enumerate(t.action_sequence) if of != chart.q}
    return any(other == output and wish != value for other, wish in asked)


def ways_of(moves: Iterable[Move], way: int) -> tuple[int, ...]:
    """States to which a gate may go when it is asked shut (0), asked open (1), or the law starts anew (2)."""
    return tuple(move.to for move in moves if dict(move.needs).get(ASKED, ANY) & (1 << way))


@lru_cache(maxsize=512)
def firsts(small: Automaton[GateLook]) -> tuple[int, ...]:
    """For each state of a gate one that outdoes it, of those that a gate is in when it has been asked to shut."""
    states = range(len(small.looks))
    alike = [sum(1 << r for r in states if _no_less(look, small.looks[r])) for look in small.looks]
    over = outdoing(alike, small.moves, small.turned)
    asked_shut = {to for moves in small.moves for to in ways_of(moves, 0)}
    found = []
    for s in states:
        outdone = [r for r in sorted(asked_shut) if over[s] >> r & 1] if s in asked_shut else [s]
        found.append(max(outdone, key=lambda r: sum(over[k] >> r & 1 for k in states)))
    return tuple(found)


def _no_less(one: GateLook, other: GateLook) -> bool:
    """Whether one look of a gate is within another."""
    thought = all(mine & ~theirs == 0 for mine, theirs in zip(one.thought, other.thought, strict=True))
    return one.kind <= other.kind and other.shut <= one.shut and thought
