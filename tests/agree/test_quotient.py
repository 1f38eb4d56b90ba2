"""Automata made small: each move of the full one is followed, and nothing is shown that the full one cannot show."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from tests.agree.test_law_followed import questions
from tests.agree.test_step import RIGS
from tests.share import share
from ullage.prove.charts import Move, Needs
from ullage.prove.looks import small_sequence
from ullage.prove.plan import Actor, Plan
from ullage.prove.quotient import Automaton, reduced

VALUES = (1, 2, 4)
"""Kleene's values as masks."""


def covers(one: Needs, other: Needs) -> bool:
    """Whether all values with which one move may be made let another one be made too."""
    wide = dict(other)
    return all(dict(one).get(row, 7) & ~mask == 0 for row, mask in wide.items())


def check_follows(moves: Sequence[Sequence[Move]], turned: Sequence[int], small: Automaton[Any]) -> None:
    """Each state that stands for another follows every move of it, and its being turned."""
    for state, stands in enumerate(small.stands_for):
        for one in stands:
            assert small.turned[one] in small.stands_for[turned[state]], f"state {one} for {state}, when turned"
            for move in moves[state]:
                ways = (way for way in small.moves[one] if covers(move.needs, way.needs))
                assert any(way.to in small.stands_for[move.to] for way in ways), f"state {one} for {state}: {move}"


def reach(moves: Sequence[Sequence[Move]], there: set[int], values: Sequence[int]) -> set[int]:
    """States after a scan in which the rows have some values."""
    return {move.to for state in there for move in moves[state] if all(values[row] & mask for row, mask in move.needs)}


def drawn(seed: int) -> tuple[list[str], list[list[Move]], list[int]]:
    """A random automaton of ten states, many of which are alike: looks, moves, and where each turns."""
    draw = random.Random(seed)
    states = range(10)
    looks = [draw.choice("aab") for _ in states]
    moves = []
    for _ in states:
        rows = [sorted(draw.sample(range(2), draw.randint(0, 2))) for _ in range(draw.randint(1, 3))]
        ways = [tuple((row, draw.choice((1, 2, 4, 5, 6))) for row in some) for some in rows]
        moves.append([Move(needs, draw.choice(states)) for needs in ways])
    turned = [draw.choice(states) if draw.random() < 0.3 else state for state in states]
    return looks, moves, turned


def test_what_is_made_small_shows_the_same_and_no_more() -> None:
    """A move that is lost hides a way to the harm; one that is added invents one."""
    smaller, kept_apart = 0, 0
    for seed in range(share(5_000, 400)):
        looks, moves, turned = drawn(seed)
        small = reduced(looks, moves, turned, [0, 1])
        check_follows(moves, turned, small)
        assert all(small.stands_for[state] & set(small.starts) for state in (0, 1)), "a start is lost"
        assert {small.looks[one] for one in small.starts} <= {looks[0], looks[1]}
        for state, stands in enumerate(small.stands_for):
            assert {small.looks[one] for one in stands} <= {looks[state]}
        draw = random.Random(seed)
        full, less = {0, 1}, set(small.starts)
        for _ in range(12):
            values = [draw.choice(VALUES) for _ in range(2)]
            full, less = reach(moves, full, values), reach(small.moves, less, values)
            if draw.random() < 0.3:
                full, less = {turned[one] for one in full}, {small.turned[one] for one in less}
            assert {looks[one] for one in full} == {small.looks[one] for one in less}, f"automaton {seed}"
        smaller += len(small.looks) < len(looks) - 1
        kept_apart += len(small.looks) > 2
    assert smaller > 50
    assert kept_apart > 50


def test_of_two_moves_that_outdo_each_other_one_stays() -> None:
    """Two ways that lead to the same are one way, not none."""
    looks = ["start", "going", "going", "little", "much", "more"]
    ways = {0: (1, 2), 1: (3, 4), 2: (4,), 3: (3,), 4: (3, 5), 5: (5,)}
    looks[3] = looks[4] = "much"
    moves = [[Move((), to) for to in ways[state]] for state in range(6)]
    small = reduced(looks, moves, range(6), [0])
    check_follows(moves, range(6), small)
    assert [small.looks[move.to] for move in small.moves[small.starts[0]]] == ["going"]


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_the_sequences_of_the_examples_are_followed_when_small(path: Path) -> None:
    """A sequence that is made too small asks for a valve less often than the law does."""
    for question in questions(path, 5)[-share(9, 1) :]:
        outputs = set(question.scope.outputs)
        for q in question.scope.sequences:
            chart = question.charts.of(q, True)
            small = small_sequence(question.scope, chart)
            unseen = {to for to, on in enumerate(chart.on) if any(output not in outputs for output, _ in on)}
            moves = [
                [*some, *(Move(move.needs, chart.overridden[move.to]) for move in some if move.to in unseen)]
                for some in chart.moves
            ]  # an output that nobody follows may be driven otherwise in any scan
            check_follows(moves, chart.overridden, small)
            for state, stands in enumerate(small.stands_for):
                wishes = sorted(one for one in chart.on[state] if one[0] in outputs)
                assert all(list(small.looks[one].wishes) == wishes for one in stands)
            assert all(small.stands_for[start] & set(small.starts) for start in range(chart.starts))


def outdone(plan: Plan, gate: Actor) -> Iterator[tuple[int, int]]:
    """Pairs of states of a gate of which the second can do all that the first does, found the slow way."""
    place, states = len(plan.deciders) + plan.actors.index(gate), range(len(gate.kinds))
    rows = [row for row in plan.rows if getattr(row, "automaton", -1) == place]
    pairs = {
        (one, other)
        for one, other in product(states, repeat=2)
        if gate.kinds[one] <= gate.kinds[other] and all(row.masks[one] & ~row.masks[other] == 0 for row in rows)  # type: ignore[union-attr]
    }
    while True:
        left = {
            (one, other)
            for one, other in pairs
            if all(
                any((to, way) in pairs for way in gate.moves[other][asked])
                for asked in range(3)
                for to in gate.moves[one][asked]
            )
        }
        if left == pairs:
            yield from pairs
            return
        pairs = left


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_a_state_that_stands_for_others_outdoes_them(path: Path) -> None:
    """A state of a valve that stands for one which may do more makes the explorer pass over that one."""
    used = 0
    for question in (*questions(path, 2), *questions(path, 5)[-share(9, 1) :]):
        plan = question.plan()
        for gate in plan.actors:
            pairs = set(outdone(plan, gate))
            for state, best in enumerate(gate.first):
                assert (state, best) in pairs, f"{gate.name}: {best} for {state}"
                assert gate.first[best] == best
                used += best != state
    assert used > 0
