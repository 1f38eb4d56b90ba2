"""From a harm to a plan: what the explorer is asked must be no less than what the rig can do."""

from __future__ import annotations

from functools import cache

import pytest

from tests.shipped import EXAMPLES
from ullage.control import codes
from ullage.control.check import examine
from ullage.control.timers import SCAN_LATE
from ullage.plant.bands import Turn
from ullage.plant.faults import read_fault
from ullage.plant.harmed import ML
from ullage.prove import harms as h
from ullage.prove import plan as p
from ullage.prove.ask import MAY_FALSE, MAY_TRUE
from ullage.prove.harms import Harm
from ullage.prove.plan import INTERLOCK, LINK, Decider, Plan
from ullage.prove.prover import LAYERS, Prover
from ullage.prove.question import Question, _turned
from ullage.prove.scope import Follow
from ullage.rig.shapes import capacity

INTERLOCKED, FOLLOWED, TIMED = 2, 4, 5
"""Layers of the prover: interlocks; sequences with what the law thinks of valves; with clocks."""


@cache
def prover(name: str = "marram") -> Prover:
    """The prover of a shipped rig."""
    path = EXAMPLES / "rigs" / f"{name}.yaml"
    examined = examine(path.read_bytes(), path.name)
    assert examined.rig is not None
    assert examined.program is not None
    return Prover(examined.rig, examined.program)


def plan(tree: h.Tree, layer: int, faults: tuple[str, ...] = (), falls: bool = False, name: str = "marram") -> Plan:
    """What is asked for a harm of a rig."""
    read = [read_fault(prover(name).rig, fault) for fault in faults]
    return prover(name).plan(Harm("", tree, falls), layer, read)


@pytest.mark.parametrize(("rises", "true", "false"), [(True, 40, 60), (False, 60, 40), (True, 60, 40), (False, 40, 60)])
def test_a_comparison_may_be_all_that_it_may_be_somewhere_in_a_piece(rises: bool, true: int, false: int) -> None:
    """A reading that is late or wrong by its error says either."""
    turn = Turn("belly", rises, true, false)
    for low in range(0, 100, 7):
        for high in range(low, 100, 5):
            found = 0
            for content in range(low, high + 1):
                found |= MAY_TRUE * (content >= true if rises else content <= true)
                found |= MAY_FALSE * (content <= false if rises else content >= false)
            assert _turned(turn, low, high) == found


def test_a_harm_is_so_from_its_content_on() -> None:
    """A piece that reaches over the bound and counts as clear hides what lies above it."""
    content = 100_000
    asked = plan(h.AtLeast("belly", content), INTERLOCKED)
    row, (level,) = asked.rows[asked.harm], asked.levels
    assert isinstance(row, p.ByPiece)
    assert content in level.pieces
    assert [mask == MAY_TRUE for mask in row.masks] == [low >= content for low in level.pieces]
    assert set(row.masks) == {MAY_TRUE, MAY_FALSE}


def test_each_piece_flows_as_its_strip_does() -> None:
    """Above the overflow a tank loses what it gains; a piece below it that is reckoned so never fills."""
    for tank in ("belly", "loft", "gray"):
        (level,) = plan(h.AtLeast(tank, 30_000), INTERLOCKED).levels
        edges = prover().healthy.edges[tank]
        ends = zip(level.pieces, (*(low - 1 for low in level.pieces[1:]), level.most), strict=True)
        for strip, (low, high) in zip(level.strips, ends, strict=True):
            assert edges[strip] <= low <= high
            assert high < edges[strip + 1] or high == level.most == edges[strip + 1]


def test_a_level_starts_with_what_may_run_back_into_it() -> None:
    """Water that an accumulator keeps comes back; a level that must fall starts no fuller than it is."""
    rig = prover().rig
    for falls in (False, True):
        for tank, comes in (("loft", round(rig.accumulators["accumulator"].volume * ML)), ("belly", 0)):
            (level,) = plan(h.AtLeast(tank, 30_000), INTERLOCKED, falls=falls).levels
            start = round(rig.tanks[tank].starts_with * capacity(rig.tanks[tank]) * ML)
            assert level.start == (start if falls else 0, start + comes)


def test_a_can_counts_from_the_start_to_its_last_drop() -> None:
    """A litre that the proof does not know of runs over; what is not poured yet may be missing where it is read."""
    tree = h.AtLeast("cistern", 300_000)
    healthy, can = (plan(tree, INTERLOCKED, wrong, name="bothy") for wrong in ((), ("cistern jerrycan 20 L",)))
    assert can.levels[0].start == (0, min(healthy.levels[0].start[1] + 20_000, can.levels[0].most))
    harm = can.rows[can.harm]
    assert isinstance(harm, p.ByPiece)
    said = dict(zip(can.levels[0].pieces, harm.masks, strict=True))
    assert said[300_000] == MAY_FALSE | MAY_TRUE, "what is not poured yet"
    wet = plan(tree, 0, ("cistern jerrycan 20 L",), name="bothy").levels[0]
    assert wet.start == plan(tree, 0, name="bothy").levels[0].start


def test_a_restart_is_in_the_plan_where_the_law_is_followed() -> None:
    """A law that forgets in mid-fill what it did must be asked about."""
    for layer, restarts in ((1, False), (INTERLOCKED, True)):
        asked = plan(h.AtLeast("belly", 100_000), layer, ("controller restarted",))
        assert asked.restarts is restarts
        assert not plan(h.AtLeast("belly", 100_000), layer).restarts
    gates = plan(h.AtLeast("belly", 100_000), INTERLOCKED, ("controller restarted",)).actors
    assert all(ways[2] for gate in gates for ways in gate.moves)


def test_a_gate_has_its_supply_wherever_its_float_may_be_wet() -> None:
    """A float cuts the pump where it is dry for certain, and not a litre above."""
    found = prover().healthy.wired("water_pump")
    assert found is not None
    tank, least, most = found
    asked = plan(h.AllOf((h.Passing("water_pump"), h.Without(h.AtLeast("belly", 5_000)))), INTERLOCKED, falls=True)
    pump = next(gate for gate in asked.actors if gate.name == "water_pump")
    assert pump.wire is not None
    level, first, last = pump.wire
    assert asked.levels[level].name == tank == "belly"
    pieces = (*asked.levels[level].pieces, asked.levels[level].most + 1)
    assert pieces[first] <= least < pieces[first + 1]
    assert pieces[last + 1] - 1 == most == asked.levels[level].most
    lied = plan(
        h.AllOf((h.Passing("water_pump"), h.Without(h.AtLeast("belly", 5_000)))),
        INTERLOCKED,
        ("belly_bottom stuck wet",),
        falls=True,
    )
    assert next(gate for gate in lied.actors if gate.name == "water_pump").wire is None


def deciders(asked: Plan, drives: int) -> list[Decider]:
    """The deciders of a plan that drive in some way."""
    return [one for one in asked.deciders if one.drives == drives]


def test_a_link_may_be_lost_in_any_scan_and_its_board_then_lapses() -> None:
    """A link that holds for ever proves that nothing needs a lease."""
    tree = h.AllOf((h.Without(h.Linked("port_board")), h.Passing("shore_in")))
    (link,) = deciders(plan(tree, INTERLOCKED), LINK)
    assert [{move.to for move in ways} for ways in link.moves] == [{0, 1}, {0, 1}]
    assert link.wishes == ((), ((0, codes.CLOSED),))
    asked = plan(h.Lasting(tree, 10_000), INTERLOCKED)
    row = asked.rows[asked.harm]
    assert isinstance(row, p.Delayed)
    assert sum(row.masks) == 1 == row.masks[-1]
    assert len(row.masks) == 1 + (10_000 - SCAN_LATE) // prover().program.scan_ms


def test_interlocks_that_look_at_nothing_that_is_followed_may_act_at_any_time() -> None:
    """One that shuts a valve nobody expected it to shut moves water to where nobody looked."""
    asked = plan(h.AtLeast("belly", 100_000), FOLLOWED)
    names = {one.name for one in deciders(asked, INTERLOCK)}
    assert names == {"belly_full", "belly_high", "other interlocks"}
    (others,) = (one for one in asked.deciders if one.name == "other interlocks")
    driven = {asked.outputs[output].name for output, _ in others.wishes[1]}
    assert driven == {"shore_in", "shore_guard", "loft_return", "fall_guard"}
    assert [{move.to for move in ways} for ways in others.moves] == [{0, 1}, {0, 1}]
    harm = Harm("", h.AtLeast("belly", 100_000))
    interlocks = prover().program.names.interlocks
    blind = {interlocks[i] for i in prover().question(harm, FOLLOWED).scope.blind}
    assert blind >= {"gray_high", "waste_apart", "weak_supply"}
    assert not blind & names


def test_a_sequence_that_is_overridden_holds() -> None:
    """One that went on would open its valve again as soon as the interlock lets go."""
    asked, live = plan(h.AtLeast("belly", 100_000), FOLLOWED), 0
    (fill,) = (one for one in asked.deciders if one.name == "fill")
    for state, turned in enumerate(fill.turned):
        if fill.states[state].startswith("running") and fill.wishes[state]:
            assert fill.states[turned].startswith("holding")
            live += 1
    assert live > 0


def test_whoever_is_not_followed_may_open_what_he_may_open() -> None:
    """With the sequences left out each valve may be asked to open at any time, or the interlocks prove too much."""
    asked = plan(h.AtLeast("belly", 100_000), INTERLOCKED)
    opened = {asked.outputs[output].name for one in asked.deciders for output, value in one.wishes[0] if value}
    assert opened == {"shore_guard", "shore_in", "loft_return", "fall_guard"}
    followed = plan(h.AtLeast("belly", 100_000), FOLLOWED)
    free = {output.name: output.free for output in followed.outputs}
    assert free == {"shore_guard": (), "shore_in": (), "loft_return": (), "fall_guard": ()}


def test_rows_that_nobody_follows_may_be_anything() -> None:
    """A reading that is not followed may be missing too; a step is active or not, never unknown."""
    question = Question(prover().healthy, Harm("", h.AtLeast("belly", 100_000)), LAYERS[FOLLOWED][1], prover().charts)
    asked, ops = question.plan(), question.tables.op
    whole = {codes.T_LINEAR: 7, codes.T_FLAG: 7, codes.T_SINCE: 5, codes.T_STEP: 5, codes.T_GOOD: 5}
    seen = set[int]()
    for row, at_row in question.row_of.items():
        one = asked.rows[at_row]
        if row >= 0 and ops[row] in whole and isinstance(one, p.Known):
            assert one.mask == whole[ops[row]]
            seen.add(ops[row])
    assert {codes.T_LINEAR, codes.T_SINCE} <= seen


def test_a_delay_takes_as_many_scans_as_its_time_needs() -> None:
    """A delay of a scan and a half is not over after one."""
    question = Question(prover().healthy, Harm("", h.AtLeast("belly", 100_000)), LAYERS[TIMED][1], prover().charts)
    scope, scan = question.scope, question.program.scan_ms
    held = [row for row in scope.needed if scope.tables.op[row] == codes.T_HELD]
    assert held
    for row in held:
        assert (scope.scans(row) - 1) * scan < scope.tables.amount[row] <= scope.scans(row) * scan
    amounts = list(scope.tables.amount)
    amounts[held[0]] = scan + 1
    scope.tables = scope.tables._replace(amount=tuple(amounts))
    assert scope.scans(held[0]) == 2


def test_nothing_of_the_law_is_followed_where_water_alone_is_asked() -> None:
    """What rests on the water must rest on nothing else."""
    asked = plan(h.AtLeast("belly", 100_000), 0)
    assert not asked.deciders
    assert not asked.outputs
    assert all(actor.kinds == (1,) for actor in asked.actors)
    assert not asked.watched
    assert Follow() == LAYERS[FOLLOWED][1]
