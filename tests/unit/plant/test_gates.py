"""Gates as automata in scans: what the law may think of a valve, and when, also after a start."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from tests.shipped import marram
from ullage.control import codes
from ullage.plant import faults as f
from ullage.plant.bands import Bands
from ullage.plant.faults import Fault
from ullage.plant.gates import EITHER, MAY_FALSE, MAY_TRUE, MAY_UNKNOWN, SHUT, Gate, healthy, loose, timing_of
from ullage.plant.harmed import harms_of
from ullage.rig.model import Rig

ANEW = 2
"""What a gate is asked when the law starts anew."""


def rig_and_gate(name: str) -> tuple[Rig, Gate]:
    """Marram, and a gate of it with a law that may start anew."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    return rig, healthy(rig, program, name, restarts=True)


def bands(*faults: Fault) -> Bands:
    """Marram under some faults."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    return Bands(rig, program, harms_of(rig, program, faults))


def after(gate: Gate, states: Iterable[int], asked: int, scans: int = 1) -> set[int]:
    """States of a gate that has been asked something for some scans."""
    found = set(states)
    for _ in range(scans):
        found = {to for state in found for to in gate.moves[state][asked]}
    return found


def scans_to_presume(name: str) -> int:
    """Scans after the first one of a demand until the law presumes that a valve without ends is there."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    timing = timing_of(rig, program, name)
    assert timing is not None
    return timing.there


def test_at_a_start_the_law_counts_from_its_first_scan() -> None:
    """A proof that has the law presume a valve shut a scan too soon does not see what happens in that scan."""
    _, gate = rig_and_gate("shore_in")
    scans = scans_to_presume("shore_in")
    first = after(gate, gate.starts, codes.CLOSED)
    for scan in range(scans):
        (state,) = after(gate, first, codes.CLOSED, scan)
        assert gate.believed[state][0] & (MAY_FALSE | MAY_UNKNOWN) == MAY_FALSE | MAY_UNKNOWN, scan
    (then,) = after(gate, first, codes.CLOSED, scans)
    assert gate.believed[then][0] == MAY_TRUE


def test_after_a_start_the_valve_goes_on_and_the_law_begins_anew() -> None:
    """A law that starts anew while a valve is on its way knows less than the valve does, and its proof no more."""
    _, gate = rig_and_gate("shore_in")
    scans = scans_to_presume("shore_in")
    opened = after(gate, gate.starts, codes.OPEN)
    closing = after(gate, opened, codes.CLOSED, scans)
    anew = after(gate, closing, ANEW)
    assert {gate.passes[s] for s in closing} == {gate.passes[s] for s in anew} == {EITHER}
    (shut,) = after(gate, anew, codes.CLOSED)
    assert gate.passes[shut] == SHUT
    assert gate.believed[shut][0] & MAY_FALSE, "the law does not know it yet"
    assert not gate.believed[next(iter(after(gate, closing, codes.CLOSED)))][0] & MAY_FALSE


def test_what_the_law_asked_is_forgotten_when_it_starts() -> None:
    """A demand that was there before a start is none of the law that came after it."""
    _, gate = rig_and_gate("shore_in")
    opened = after(gate, gate.starts, codes.OPEN)
    assert {gate.asked[s] for s in opened} == {codes.OPEN}
    assert {gate.asked[s] for s in after(gate, opened, ANEW)} == {codes.CLOSED}


def test_of_a_gate_of_which_nothing_is_known_it_is_known_what_was_asked() -> None:
    """A guard that asks whether a pump is driven is told by the law's own demand, whatever the pump does."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    gate = loose(rig, program, "water_pump")
    for asked in (codes.OFF, codes.ON):
        states = after(gate, gate.starts, asked)
        assert {gate.asked[s] for s in states} == {asked}
        assert {gate.passes[s] for s in states} == {EITHER}


def test_a_valve_that_goes_where_it_likes_and_seeps_passes_when_it_is_shut() -> None:
    """Two faults at one valve: the proof must not forget the one for the other."""
    wilful = Fault(f.VALVE_RELAY_WELDED, "rinse")
    seeping = Fault(f.VALVE_SEEPING, "rinse", "", 0.002)
    assert SHUT in bands(wilful).gates["rinse"].passes
    assert set(bands(wilful, seeping).gates["rinse"].passes) == {EITHER}


def test_a_supervisor_that_comes_back_starts_anew() -> None:
    """What was tripped is clear then, and what had been held begins again: the proof must have that too."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    assert harms_of(rig, program, [Fault(f.SUPERVISOR_GONE)]).restarts
    assert not harms_of(rig, program, [Fault(f.LINK_LOST, "port_board")]).restarts


@pytest.mark.parametrize("made", ["wet", "dry"])
def test_a_float_that_cuts_a_supply_counts_what_accumulators_hold_back(made: str) -> None:
    """A level of the finite plant may stand above the water by that much, and the float sits in the water."""
    found = bands()
    rig = found.rig
    pump = rig.pumps["water_pump"]
    assert pump.wired is not None
    wired = pump.wired.model_copy(update={"made": made})
    found.rig = rig.model_copy(update={"pumps": {"water_pump": pump.model_copy(update={"wired": wired})}})
    row, floats = list(rig.floats).index("belly_bottom"), len(rig.floats)
    reals, cut = found.bounds.works.reals, found.wired("water_pump")
    assert cut is not None
    if made == "wet":
        assert cut[1] <= 1e6 * min(reals["falls_at"][row::floats])
        assert cut[2] == found.edges["belly"][-1]
    else:
        assert cut[1] == 0
        assert cut[2] >= 1e6 * max(reals["rises_at"][row::floats]) + found.kept("belly")
