"""What rows may be, as the explorer works it out: beside every value of every leaf, and beside the law's own kernel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path
from random import Random

import pytest

from tests.agree.small_plans import MASKS, worlds
from tests.agree.test_law_followed import questions
from tests.agree.test_step import RIGS
from tests.share import share
from ullage.control import codes, truth
from ullage.control import layout as at
from ullage.control.program import initial_state
from ullage.control.timers import HELDS
from ullage.prove import plan as p
from ullage.prove.ask import MAY_FALSE, MAY_TRUE, MAY_UNKNOWN, ask_of, both, delayed, evaluate, turned_round
from ullage.prove.plan import Actor, Decider, Level, Plan, Row
from ullage.prove.question import Question

STATES, PIECES = 3, 3
"""Of the automaton and of the level that rows here look at."""


def plan_with(rows: Sequence[Row]) -> Plan:
    """A plan with one decider and one level, for its rows."""
    count = range(STATES)
    decider = Decider("", tuple(map(str, count)), ((),) * STATES, ((),) * STATES, p.SEQUENCE, tuple(count), (0,))
    actor = Actor("", (0, 1), (((0,), (0,), (0,)),) * 2, (0,), (0, 1))
    level = Level("", tuple(range(PIECES)), PIECES, (0,) * PIECES, (), lambda kinds, strip: (0, 0), (0, 0))
    return Plan((decider,), (actor,), (level,), (), tuple(rows), 0)


def may_be(plan: Plan, states: Sequence[int], pieces: Sequence[int], missing: int = 0) -> list[int]:
    """What each row may be, by the explorer, while some senders are missing."""
    value = [0] * len(plan.rows)
    evaluate(ask_of(plan), states, pieces, missing, value)  # type: ignore[arg-type]
    return value


def test_rows_of_one_sender_are_unread_together() -> None:
    """A sequence that waits for a reading and an interlock that trips without it look at the same sender."""
    masks = [(MAY_FALSE, MAY_TRUE, MAY_FALSE | MAY_TRUE), (MAY_TRUE, MAY_FALSE, MAY_TRUE)]
    plan = plan_with(
        [p.Read(0, masks[0], 0, MAY_UNKNOWN), p.Read(0, masks[1], 0, MAY_FALSE), p.Read(0, masks[1], 1, MAY_UNKNOWN)]
    )
    unread = [MAY_UNKNOWN, MAY_FALSE, MAY_UNKNOWN]
    for piece in range(PIECES):
        there = [masks[0][piece], masks[1][piece], masks[1][piece]]
        for missing in range(4):
            gone = [missing & 1, missing & 1, missing >> 1 & 1]
            expected = [less if none else mask for none, mask, less in zip(gone, there, unread, strict=True)]
            assert may_be(plan, [0, 0], [piece], missing) == expected
        assert may_be(plan, [0, 0], [piece], -1) == [mask | less for mask, less in zip(there, unread, strict=True)]


def drawn_leaf(draw: Random) -> Row:
    """A row that looks at nothing but a level, an automaton or chance."""
    masks = tuple(draw.choice(MASKS) for _ in range(3))
    return draw.choice([p.Known(masks[0]), p.ByPiece(0, masks), p.ByState(0, masks)])


def drawn_joint(draw: Random, left: int, right: int) -> Row:
    """A row over others."""
    passed = tuple(draw.randint(0, 2) for _ in range(STATES))
    return draw.choice(
        [p.Both(left, right), p.Either(left, right), p.Not(left), p.Delayed(left, -1), p.Delayed(left, 0, passed)]
    )


@pytest.mark.parametrize("once", [True, False], ids=["each row read once", "rows read twice"])
def test_rows_are_all_that_their_leaves_allow(once: bool) -> None:
    """A value that a guard may have and the proof leaves out is a way to the harm that it never tries."""
    for seed in range(share(20_000, 1_500)):
        draw = Random(seed)
        rows = [drawn_leaf(draw) for _ in range(draw.randint(1, 4))]
        unread = list(range(len(rows)))
        for _ in range(len(rows) - 1 if once else 3):
            left, right = draw.sample(unread, 2) if once else draw.choices(range(len(rows)), k=2)
            unread = [*(row for row in unread if row not in (left, right)), len(rows)]
            rows.append(drawn_joint(draw, left, right))
        found = may_be(plan_with(rows), [seed % STATES, 0], [seed // STATES % PIECES])
        seen = [0] * len(rows)
        for world in worlds(rows, (seed % STATES, 0), (seed // STATES % PIECES,)):
            for row, value in enumerate(world):
                seen[row] |= 1 << value
        assert all(mask & ~may == 0 for mask, may in zip(seen, found, strict=True)), f"rows {seed}"
        if once:
            assert seen == found, f"rows {seed}"


def test_the_operators_are_those_of_the_law() -> None:
    """A proof with another logic than the law's is about another law."""
    for one, other in product(range(1, 8), repeat=2):
        pairs = [(a, b) for a in range(3) for b in range(3) if one >> a & 1 and other >> b & 1]
        assert both(one, other) == sum({1 << min(a, b) for a, b in pairs})
    for mask in range(1, 8):
        assert turned_round(mask) == sum({1 << (codes.TRUE - a) for a in range(3) if mask >> a & 1})
        waits = sum({1 << (codes.FALSE if a == codes.TRUE else a) for a in range(3) if mask >> a & 1})
        assert delayed(mask, 0) == waits
        assert delayed(mask, 1) == mask
        assert delayed(mask, 2) == waits | mask
    assert (MAY_FALSE, MAY_UNKNOWN, MAY_TRUE) == (1 << codes.FALSE, 1 << codes.UNKNOWN, 1 << codes.TRUE)


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_the_rows_of_a_rig_are_true_when_the_law_finds_them_so(path: Path) -> None:
    """A guard that is read with AND for OR, or a delay that is a scan too short, trips the interlock on paper only."""
    joints, held = 0, 0
    for question in questions(path, 5)[-share(9, 2) :]:
        plan, draw = question.plan(), Random(path.stem)
        joints += sum(isinstance(row, p.Both | p.Either | p.Not) for row in plan.rows)
        held += len(question.scope.counted)
        for _ in range(share(2_000, 60)):
            counts = {row: draw.randint(0, question.scope.scans(row)) for row in question.scope.counted}
            leaves = {row: draw.randrange(3) for row in question.scope.needed if not joins(question, row)}
            found = truths(question, leaves, counts)
            fixed = list(plan.rows)
            for row, value in leaves.items():
                fixed[question.row_of[row]] = p.Known(1 << value)
            states = [0] * len(plan.automata())
            for row, count in counts.items():
                states[question.place[f"held {row}"]] = count
            known = may_be(replace(plan, rows=tuple(fixed)), states, [0] * len(plan.levels))
            for row in question.scope.needed:
                told, uncounted = known[question.row_of[row]], joins(question, row) and not exact(question, row)
                assert told >> found[row] & 1, (question.program.names.truths[row], found[row], told)
                assert uncounted or told == 1 << found[row], question.program.names.truths[row]
    assert joints > 0 or path.stem == "turnstone"
    assert held > 0


def joins(question: Question, row: int) -> bool:
    """Whether a row of the law is made from other rows."""
    return question.tables.op[row] in (codes.T_AND, codes.T_OR, codes.T_NOT, codes.T_HELD)


def exact(question: Question, row: int) -> bool:
    """Whether nothing under a row is a delay that is too long to be counted."""
    under = question.scope._under([row])
    return all(question.tables.op[one] != codes.T_HELD or one in question.scope.counted for one in under)


def truths(question: Question, leaves: dict[int, int], counts: dict[int, int]) -> dict[int, int]:
    """Truth of rows by the law's kernel, for values of the leaves and scans for which each delay has run."""
    program = question.program
    t, work = list(program.column), [0] * program.column[at.WORK_SIZE]
    out = at.join(initial_state(program))
    for row, value in leaves.items():
        t[t[at.OP] + row], t[t[at.AMOUNT] + row] = codes.T_CONST, value
    for row, count in counts.items():
        clock = t[t[at.CLOCK_OF] + HELDS] + question.tables.right[row]
        out[t[at.RUNNING] + clock], out[t[at.CLOCK] + clock] = int(count > 0), count * program.scan_ms
    truth.evaluate(t, out, work)
    return {row: work[t[at.TRUTH] + row] for row in question.scope.needed}
