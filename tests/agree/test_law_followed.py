"""What the proof takes for the law beside the law itself: each scan of the one is a move of the other."""

from __future__ import annotations

import random
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from tests.agree.concrete import value_of
from tests.agree.test_step import RIGS, Weather, program_of
from tests.share import share
from tests.unit.control.desk import Desk
from ullage.control import codes, truth
from ullage.control import layout as at
from ullage.control.check import examine
from ullage.control.program import Program, initial_state
from ullage.control.record import log_for
from ullage.control.step import records_limit, step
from ullage.control.timers import advance
from ullage.prove import plan as p
from ullage.prove.charts import Chart, Follower
from ullage.prove.looks import small_sequence
from ullage.prove.plan import CLOCK, SEQUENCE, Decider
from ullage.prove.prover import LAYERS, Prover
from ullage.prove.question import Question


@dataclass(frozen=True)
class Scan:
    """What the law was after a scan, and what its guards said in it."""

    ready: int
    state: list[int]
    truth: list[int]


OWN = (codes.T_AND, codes.T_OR, codes.T_NOT, codes.T_HELD, codes.T_STEP, codes.T_SINCE, codes.T_SEQUENCE)
OWN += (codes.T_DRIVEN, codes.T_VALVE, codes.T_CONST)
"""Rows that the law itself makes true or not; all others are drawn, or no sequence would ever come far."""


def scans(program: Program, seed: int, count: int) -> list[Scan]:
    """A run of the law in random weather, in which what its guards read is drawn too."""
    t, weather = list(program.column), Weather(program, seed)
    drawn = [row for row in range(t[at.TRUTHS]) if t[t[at.OP] + row] not in OWN]
    for row in drawn:
        t[t[at.OP] + row] = codes.T_CONST
    state, log = at.join(initial_state(program)), log_for(records_limit(program.column))
    found, chance, usual = [Scan(0, state, [])], weather.chance, dict.fromkeys(drawn, codes.FALSE)
    for n in range(count):
        for row in drawn:
            if n == 0 or chance.random() < 0.02:
                usual[row] = chance.choice((codes.FALSE, codes.TRUE))
            if n == 0 or chance.random() < 0.2:
                t[t[at.AMOUNT] + row] = chance.choice((*([usual[row]] * 8), *range(3)))
        image = weather.turn()._replace(command=tuple(_command(chance) for _ in range(t[at.SEQUENCES])))
        out, work = [0] * t[at.STATE_SIZE], [0] * t[at.WORK_SIZE]
        step(t, state, at.join(image), n * program.scan_ms, out, work, log)
        found.append(Scan(out[t[at.READY]], out, work[t[at.TRUTH] : t[at.TRUTH] + t[at.TRUTHS]]))
        state = out
    return found


def _command(chance: random.Random) -> int:
    if chance.random() < 0.8:
        return codes.NO_COMMAND
    often = [codes.START] * 4 + [codes.CONFIRM] * 4 + [codes.RESET, codes.RESTART, codes.RESUME]
    return chance.choice((*often, *range(10)))


@cache
def questions(path: Path, layer: int) -> list[Question]:
    """One question of a rig for each set of sequences and interlocks that some line of its law asks for."""
    examined = examine(path.read_bytes(), path.name)
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    prover = Prover(examined.rig, examined.program)
    asked: dict[tuple[tuple[int, ...], ...], Question] = {}
    for wish in examined.law.never:
        for harm in prover.harms(wish.statement):
            question = Question(prover.healthy, harm, LAYERS[layer][1], prover.charts)
            asked.setdefault((tuple(question.scope.sequences), tuple(question.scope.locks)), question)
    return list(asked.values())


DESK = """
sequences:
  run:
    confirm: true
    permit: not c
    steps:
      one: initial
      two: {demand: {inlet: open}, actions: [{demand: {red: lit}, as: SD, time: 1 s}]}
      three: {actions: [{demand: {red: lit}, as: R}, {demand: {blue: lit}, as: L, time: 1500 ms}]}
      four: {actions: [{demand: {blue: lit}, as: D, time: 2 s}, {demand: {red: lit}, as: P0}]}
      end: final
    transitions:
      - one -> two
      - two -> three when a or (since step 3 s)
      - three -> four when b or (since step 2 s)
      - four -> end when (a and b) or (since step 4 s)
"""
"""A sequence with a start that is confirmed, actions with clocks, and a valve that is safe only after a while."""

CHARTED = [*(path.stem for path in RIGS), "desk"]


def charted(name: str) -> Program:
    """The Program of a shipped rig or of the desk."""
    if name == "desk":
        return Desk(DESK).program
    return next(program_of(path) for path in RIGS if path.stem == name)


@pytest.mark.parametrize("timed", [False, True], ids=["untimed", "timed"])
@pytest.mark.parametrize("name", CHARTED)
def test_the_law_goes_nowhere_but_along_the_moves_of_its_charts(name: str, timed: bool) -> None:
    """A move that the chart of a sequence lacks is a valve that opens while the proof thinks it shut."""
    program = charted(name)
    t = program.column
    run = scans(program, 3, share(20_000, 1_800))
    for q in range(t[at.SEQUENCES]):
        follower = Follower(program, q, timed)
        chart, moved = follower.follow(), 0
        for before, after in pairwise(run):
            if not before.ready:
                continue
            at_first, at_last = (numbered(follower, chart, one) for one in (before, after))
            ways = [move.to for move in chart.moves[at_first] if fits(move.needs, program, after)]
            assert at_last in ways or at_last in [chart.overridden[way] for way in ways], program.names.sequences[q]
            moved += at_first != at_last
        assert moved > 20, f"{program.names.sequences[q]} hardly moved"


def numbered(follower: Follower, chart: Chart, scan: Scan) -> int:
    """Number of the state of a chart that the law is in."""
    column = list(scan.state)
    follower._canonical(column)
    return chart.states.index(tuple(column[place] for place in chart.own))


def fits(needs: tuple[tuple[int, int], ...], program: Program, scan: Scan) -> bool:
    """Whether a move may be made in a scan."""
    return all(mask >> value_of(program.column, row, scan.truth, scan.state) & 1 for row, mask in needs)


@pytest.mark.parametrize(
    "path", [path for path in RIGS if path.stem in ("crumb", "marram")], ids=lambda path: path.stem
)
def test_a_state_of_a_sequence_shows_what_guards_will_read_of_it(path: Path) -> None:
    """A step whose clock is read a scan late or early moves the whole chart on at another time than the law."""
    seen = 0
    for question in questions(path, 5)[-share(9, 2) :]:
        t, program, scope = question.t, question.program, question.scope
        for q in scope.sequences:
            chart, rows = question.charts.of(q, True), scope.asks_of_sequence(q)
            small = small_sequence(scope, chart)
            for state, stands in enumerate(small.stands_for):
                out, work = at.join(initial_state(program, released=True)), [0] * t[at.WORK_SIZE]
                for place, value in chart.entries(state).items():
                    out[place] = value
                advance(t, out, program.scan_ms)
                truth.evaluate(t, out, work)
                read = [work[t[at.TRUTH] + row] for row in rows]
                assert all(list(small.looks[one].truths) == read for one in stands)
                seen += len(rows)
    assert seen > 0


@pytest.mark.parametrize("layer", [4, 5], ids=["untimed", "timed"])
@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_every_scan_of_the_law_is_one_of_the_plan(path: Path, layer: int) -> None:
    """Sequences, interlocks and delays as the explorer has them: one that lags behind the law proves another law."""
    for question in questions(path, layer)[: share(9, 2)]:
        plan, program = question.plan(), question.program
        run = scans(program, 5, share(3_000, 200))
        held = [set(one.starts) for one in plan.deciders]
        for before, after in pairwise(run):
            values = rows_of(question, after)
            check_rows(question, plan, held, values)
            for place, decider in enumerate(plan.deciders):
                if not is_of_the_law(decider):
                    continue
                then = followed(decider, held[place], values, question, after)
                if decider.drives != CLOCK and not (before.ready and after.ready):
                    then |= held[place]
                held[place] = {one for one in then if agrees(decider, one, question, after)}
                assert held[place], f"{decider.name} cannot be where the law is"


def is_of_the_law(decider: Decider) -> bool:
    """Whether the law has what a decider is; somebody who opens what he likes is the proof's own."""
    return not decider.name.startswith(("anybody", "other interlocks", "link of", "the harm lasts"))


def rows_of(question: Question, scan: Scan) -> dict[int, int]:
    """Values of the rows of a plan that are rows of the law."""
    return {row: value_of(question.t, of, scan.truth, scan.state) for of, row in question.row_of.items()}


def followed(decider: Decider, there: set[int], values: dict[int, int], question: Question, scan: Scan) -> set[int]:
    """States that a decider may be in after a scan."""
    demand = scan.state[question.t[at.DEMAND] : question.t[at.DEMAND] + question.t[at.OUTPUTS]]
    then = set[int]()
    for state in there:
        for move in decider.moves[state]:
            if all(mask >> values[row] & 1 for row, mask in move.needs):
                wishes = decider.wishes[move.to]
                granted = all(demand[question.scope.outputs[output]] == value for output, value in wishes)
                then.add(move.to if granted or decider.drives != SEQUENCE else decider.turned[move.to])
    return then


def agrees(decider: Decider, state: int, question: Question, scan: Scan) -> bool:
    """Whether a state of a decider is what the law shows: the outputs of its actions, tripped or not."""
    t, names = question.t, question.program.names
    if decider.name in names.interlocks:
        return scan.state[t[at.TRIPPED] + names.interlocks.index(decider.name)] == state
    if decider.name not in names.sequences:
        return True
    tables, q = question.tables, names.sequences.index(decider.name)
    on = {
        (question.scope.outputs.index(output), tables.action_value[a])
        for a, output in enumerate(tables.action_output)
        if tables.action_sequence[a] == q and output in question.scope.outputs and scan.state[t[at.ON] + a]
    }
    return on == set(decider.wishes[state])


def check_rows(question: Question, plan: p.Plan, held: list[set[int]], values: dict[int, int]) -> None:
    """Whether what the law found is among what each row may be, for some state that each automaton may be in."""
    deciders = len(plan.deciders)
    for row, value in values.items():
        match plan.rows[row]:
            case p.ByState(automaton, masks) if automaton < deciders and is_of_the_law(plan.deciders[automaton]):
                assert any(masks[state] >> value & 1 for state in held[automaton]), (row, value)
            case p.Delayed(inner, automaton, masks) if automaton >= 0:
                passed = {bool(masks[state]) for state in held[automaton]}
                assert value == values[inner] or (values[inner] == codes.TRUE and value == codes.FALSE)
                assert values[inner] != codes.TRUE or (value == codes.TRUE) in passed, (row, value)
