"""Sequences as automata in scans, by the law's own code."""

from __future__ import annotations

import random

import pytest

from tests.shipped import marram
from ullage.control import codes
from ullage.control import layout as at
from ullage.control.program import Program
from ullage.prove.charts import Chart, Charts, Move, is_timed, merged
from ullage.prove.quotient import reduced


def program() -> Program:
    """Marram's."""
    found = marram().program
    assert found is not None
    return found


def chart(name: str) -> Chart:
    """One sequence of Marram, followed."""
    return Charts(program()).of(program().sequence(name), timed=False)


def said(one: Chart, state: int) -> tuple[str, set[str]]:
    """Procedural state and active steps of a state."""
    t, names, entries = program().column, program().names, one.entries(state)
    steps = range(program().tables.step_first[one.q], program().tables.step_first[one.q + 1])
    active = {names.steps[s].partition(".")[2] for s in steps if entries[t[at.ACTIVE] + s]}
    return codes.STATES[entries[t[at.SEQUENCE] + one.q]], active


def test_a_fill_may_be_wherever_its_chart_and_its_commands_lead() -> None:
    """A state that is forgotten is one in which the valves may stand open unproved."""
    fill = chart("fill")
    reached = {(word, step) for s in range(len(fill.states)) for word, steps in [said(fill, s)] for step in steps}
    assert {("running", step) for step in ("ready", "opening", "filling", "closing", "too_long", "dry_hose")} <= reached
    assert {("paused", "filling"), ("held", "filling"), ("stopping", "filling"), ("aborting", "filling")} <= reached
    assert {("complete", "filled"), ("complete", "given_up"), ("idle", "ready")} <= reached


def test_only_a_live_fill_asks_for_its_valves() -> None:
    """A held or stopped sequence that still asks for a valve keeps water moving."""
    fill = chart("fill")
    valves = {program().output(name) for name in ("shore_in", "shore_guard")}
    for state, on in enumerate(fill.on):
        asks = any(output in valves and value == codes.OPEN for output, value in on)
        word, steps = said(fill, state)
        if asks and word not in ("running", "pausing", "restarting"):
            # It was overridden in this very scan: the demand is undone in the next.
            assert word == "holding"
        if word in ("running", "pausing", "restarting"):
            assert asks == bool(steps & {"opening", "filling"})


def test_a_fill_starts_only_where_its_permit_may_be_true() -> None:
    """A start without its permit fills a full tank."""
    fill, permit = chart("fill"), program().tables.sequence_permit[program().sequence("fill")]
    for state, moves in enumerate(fill.moves):
        for move in moves:
            if said(fill, state)[0] == "idle" and said(fill, move.to)[0] == "running":
                assert dict(move.needs)[permit] == 1 << codes.TRUE


def test_moves_that_differ_in_one_row_become_one() -> None:
    """Moves kept apart for nothing make the proof slow; moves joined wrongly make it wrong."""
    rest = ((7, 4),)
    ways = [Move(((3, 1), *rest), 5), Move(((3, 2), *rest), 5), Move(((3, 4), *rest), 5), Move(((3, 4), *rest), 6)]
    assert list(merged(ways)) == [Move(rest, 5), Move(((3, 4), *rest), 6)]
    assert list(merged(ways[:2])) == [Move(((3, 3), *rest), 5)]
    assert list(merged(ways[1:3])) == [Move(((3, 6), *rest), 5)]


@pytest.mark.parametrize("seed", range(20))
def test_what_is_made_smaller_follows_every_run(seed: int) -> None:
    """A state merged into one that can do less hides a way to the harm."""
    draw = random.Random(seed)
    states = range(12)
    looks = [draw.choice("ab") for _ in states]
    moves = [
        [
            Move(
                tuple((row, draw.choice((1, 4, 6, 7))) for row in sorted(draw.sample(range(3), 2))), draw.choice(states)
            )
            for _ in range(3)
        ]
        for _ in states
    ]
    turned = [draw.choice(states) if draw.random() < 0.3 else s for s in states]
    small = reduced(looks, moves, turned, [0, 1])
    held = {0: set(small.stands_for[0]), 1: set(small.stands_for[1])}
    for state, some in held.items():
        assert some & set(small.starts), f"start {state} is lost"
    for _ in range(200):
        state, there = draw.choice([0, 1]), set[int]()
        there = set(small.starts) & small.stands_for[state]
        for _ in range(8):
            values = [1 << draw.randrange(3) for _ in range(3)]
            fit = [move for move in moves[state] if all(values[row] & mask for row, mask in move.needs)]
            if not fit:
                break
            state = draw.choice(fit).to
            there = {
                move.to
                for one in there
                for move in small.moves[one]
                if all(values[row] & mask for row, mask in move.needs)
            } & small.stands_for[state]
            if draw.random() < 0.3:
                state, there = turned[state], {small.turned[one] for one in there}
                there &= small.stands_for[state]
            assert there, "no state of the small automaton follows"
            assert all(small.looks[one] == looks[state] for one in there)


def test_long_clocks_of_steps_are_not_counted() -> None:
    """A clock of 45 minutes would be 5,400 states; one of 12 seconds is 24."""
    names = program().names.steps
    assert is_timed(program(), names.index("lift_up.opening"))
    assert not is_timed(program(), names.index("fill.filling"))
