"""Gates in scans: when a valve is shut for certain, and when the law may think so."""

from __future__ import annotations

from dataclasses import replace
from math import ceil

import pytest

from tests.shipped import marram
from ullage.control import codes
from ullage.control.program import Program
from ullage.control.timers import SCAN_LATE
from ullage.plant.gates import ANY, EITHER, MAY_TRUE, OPENS, SHUT, Gate, freezing, healthy, seeping, wilful
from ullage.rig.model import Board, Rig

ASK_SHUT, ASK_OPEN, ANEW = range(3)
CLOSED, OPENED, FAILED = range(3)

VALVES = ("shore_guard", "shore_in", "lift", "loft_return", "rinse", "gray_dump")


def rig() -> Rig:
    """Marram."""
    found = marram().rig
    assert found is not None
    return found


def program() -> Program:
    """Marram's law."""
    found = marram().program
    assert found is not None
    return found


def after(gate: Gate, states: set[int], asked: int, scans: int) -> set[int]:
    """States after so many scans that ask the same."""
    for _ in range(scans):
        states = {to for state in states for to in gate.moves[state][asked]}
    return states


def opened(gate: Gate) -> set[int]:
    """States of a gate that has been asked to open for a long time."""
    return after(gate, set(gate.starts), ASK_OPEN, 60)


def late(name: str) -> int:
    """Scans after which only the newest demand is acted upon: the lease, or what a link may delay."""
    valve = rig().valves[name]
    board = rig().boards[valve.board] if valve.board else Board()
    assert valve.lease is not None
    return ceil((max(valve.lease, board.delay.most) * 1000 + SCAN_LATE) / program().scan_ms)


def reached(name: str) -> int:
    """Scans after which a valve has come to where it was asked to go."""
    motor = rig().valves[name].motor
    assert motor is not None
    valve = rig().valves[name]
    board = rig().boards[valve.board] if valve.board else Board()
    assert valve.lease is not None
    waits = 1000 * max(valve.lease, board.delay.most) + SCAN_LATE
    return ceil((waits + 1000 * motor.stroke.most) / program().scan_ms)


@pytest.mark.parametrize("name", VALVES)
def test_a_valve_is_shut_for_certain_after_its_lease_and_its_longest_stroke(name: str) -> None:
    """A lost demand is obeyed only when the lease runs out; a valve that is thought shut before it still passes."""
    for restarts in (False, True):
        gate = healthy(rig(), program(), name, restarts)
        for scans in range(1, reached(name) + 1):
            there = after(gate, opened(gate), ASK_SHUT, scans)
            assert EITHER in {gate.passes[state] for state in there}, scans
        last = after(gate, opened(gate), ASK_SHUT, reached(name) + 1)
        assert {gate.passes[state] for state in last} == {SHUT}
        assert all(gate.shut[state] for state in last)


@pytest.mark.parametrize("name", VALVES)
def test_a_valve_may_pass_as_soon_as_it_is_asked_to(name: str) -> None:
    """Water runs before the stroke is over."""
    for gate in (healthy(rig(), program(), name), freezing(rig(), program(), name), wilful(rig(), program(), name)):
        assert gate.passes[gate.starts[0]] == SHUT
        assert OPENS in {gate.passes[state] for state in after(gate, set(gate.starts), ASK_OPEN, 1)}
        again = after(gate, after(gate, set(gate.starts), ASK_OPEN, 1), ASK_SHUT, 1)
        assert EITHER in {gate.passes[state] for state in again}


@pytest.mark.parametrize("name", VALVES)
def test_the_law_thinks_a_valve_shut_only_when_it_is(name: str) -> None:
    """The waste valve opens when the law thinks that the hose is shut."""
    feedback = rig().valves[name].motor.feedback  # type: ignore[union-attr]
    reports = feedback in ("closed_end", "both_ends")
    for restarts in (False, True):
        gate = healthy(rig(), program(), name, restarts)
        for state, (closed, *_) in enumerate(gate.believed):
            assert not closed & MAY_TRUE or gate.shut[state]
        first = next(
            scans
            for scans in range(1, 60)
            if any(gate.believed[state][CLOSED] & MAY_TRUE for state in after(gate, opened(gate), ASK_SHUT, scans))
        )
        assert first == 1 + (late(name) if reports else reached(name))
        last = after(gate, opened(gate), ASK_SHUT, reached(name) + 1)
        assert {gate.believed[state][CLOSED] & MAY_TRUE for state in last} == {MAY_TRUE}


def test_a_law_that_starts_anew_presumes_nothing() -> None:
    """It does not know for how long the valve has been asked what it is asked."""
    for name in VALVES:
        gate = healthy(rig(), program(), name, restarts=True)
        for state in opened(gate) | after(gate, opened(gate), ASK_SHUT, 40):
            for to in gate.moves[state][ANEW]:
                assert not gate.believed[to][CLOSED] & MAY_TRUE
                assert not gate.believed[to][OPENED] & MAY_TRUE
        assert not any(ways[ANEW] for ways in healthy(rig(), program(), name).moves)


@pytest.mark.parametrize("name", VALVES)
def test_a_valve_that_freezes_may_stand_open_for_ever(name: str) -> None:
    """Stuck half open it passes, and without an end that reports the law presumes it shut."""
    feedback = rig().valves[name].motor.feedback  # type: ignore[union-attr]
    gate = freezing(rig(), program(), name)
    for scans in (1, 20, 60):
        there = after(gate, opened(gate), ASK_SHUT, scans)
        assert EITHER in {gate.passes[state] for state in there}
    still = {state for state in after(gate, opened(gate), ASK_SHUT, 60) if not gate.shut[state]}
    thinks = {gate.believed[state][CLOSED] for state in still}
    assert all(bool(mask & MAY_TRUE) is (feedback in ("none", "open_end")) for mask in thinks)
    if feedback in ("closed_end", "both_ends"):
        assert all(gate.believed[state][FAILED] & MAY_TRUE for state in still), "the ends tell"


@pytest.mark.parametrize("name", ["lift", "gray_dump"])
def test_a_wilful_valve_is_thought_shut_for_as_long_as_a_reading_may_be_old(name: str) -> None:
    """A reading that is accepted when it is too old says shut of a valve that has long been open."""
    gate = wilful(rig(), program(), name)
    board = rig().boards[rig().valves[name].board or ""]
    old = ceil(1000 * board.stale / program().scan_ms) + 1
    shut = {state for state in after(gate, set(gate.starts), ASK_SHUT, 60) if gate.shut[state]}
    assert shut
    away = [shut]
    for _ in range(old + 3):
        away.append({to for state in away[-1] for to in gate.moves[state][ASK_SHUT] if not gate.shut[to]})
    thinks = [any(gate.believed[state][CLOSED] & MAY_TRUE for state in there) for there in away]
    assert thinks == [True] * (old + 1) + [False] * 3


def test_a_wilful_valve_moves_whatever_it_is_asked() -> None:
    """A welded relay asks nobody."""
    for name in VALVES:
        gate = wilful(rig(), program(), name)
        for state, ways in enumerate(gate.moves):
            opened = OPENS if gate.passes[state] == SHUT else EITHER
            for asked in (ASK_SHUT, ASK_OPEN):
                assert {gate.passes[to] for to in ways[asked]} == {SHUT, opened}


def test_a_seeping_valve_passes_where_it_stands_shut() -> None:
    """A little water is enough in a night."""
    gate = healthy(rig(), program(), "lift")
    assert set(seeping(gate).passes) == {EITHER}
    assert (seeping(gate).shut, seeping(gate).moves, seeping(gate).believed) == (gate.shut, gate.moves, gate.believed)


@pytest.mark.parametrize("change", ["no lease", "lapses to what is not safe"])
def test_of_a_valve_that_may_stay_as_it_is_nothing_is_known(change: str) -> None:
    """Without a lease a lost link leaves the last demand standing for ever."""
    t, output = program().tables, program().output("lift")
    lease, lapse = list(t.output_lease_ms), list(t.output_on_lapse)
    if change == "no lease":
        lease[output] = 0
    else:
        lapse[output] = codes.OPEN
    changed = replace(program(), tables=t._replace(output_lease_ms=tuple(lease), output_on_lapse=tuple(lapse)))
    for made in (healthy, freezing, wilful):
        gate = made(rig(), changed, "lift")
        assert set(gate.passes) == {EITHER}
        assert not any(gate.shut)
        assert set(gate.believed) == {(ANY, ANY, ANY)}
