"""The closed loop that leaves out idle scans beside the one that makes every scan, event for event.

What is left out is decided in many places: sources that doze, boards whose calls say nothing new,
readings that move no comparison, clocks that run towards nothing. A mistake in any of them shows
as a record that is missing, late or another one, so whole runs are compared record by record, with
the noise, slosh, lost messages and delays of the demo rig, and with every kind of fault.
"""

from __future__ import annotations

import random
from functools import cache

import numpy as np
import pytest

from tests.share import share
from tests.shipped import marram, scenario
from ullage.control.timers import NEVER_MS
from ullage.plant.faults import KINDS, LINK_DELAYED, Fault, befalls
from ullage.simulate.run import Run, simulate


def both(name: str, seed: int, faults: tuple[Fault, ...]) -> tuple[Run, Run]:
    """A run that leaves out idle scans, and one that does not."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    quick = simulate(rig, program, scenario(name), seed, faults=faults)
    return quick, simulate(rig, program, scenario(name), seed, faults=faults, every_scan=True)


def assert_same(quick: Run, slow: Run) -> None:
    """Every event at its millisecond, every litre and every verdict."""
    differ = np.flatnonzero((quick.records[: len(slow.records)] != slow.records[: len(quick.records)]).any(axis=1))
    assert differ.size == 0, f"first at {quick.records[differ[0]]} against {slow.records[differ[0]]}"
    assert len(quick.records) == len(slow.records)
    assert [judged.kept for judged in quick.expectations] == [judged.kept for judged in slow.expectations]
    for name in (name for name in slow.series if name.startswith("volume.")):
        assert quick.series[name] == pytest.approx(slow.series[name], abs=1e-6), name


@cache
def befallen() -> dict[int, list[str]]:
    """The parts of Marram that each kind of fault can befall, by the kind's code."""
    rig = marram().rig
    assert rig is not None
    return {
        kind.code: [part for part in getattr(rig, kind.of) if befalls(rig, kind, part)] if kind.of else [""]
        for kind in KINDS
    }


def drawn_fault(draw: random.Random, code: int) -> Fault:
    """A fault of a kind at some part, from any time of the day, for a second up to two hours or for good."""
    kind, parts = KINDS[code], befallen()[code]
    part = draw.choice(parts)
    other = draw.choice([name for name in parts if name != part]) if kind.other else ""
    start = draw.choice((draw.randrange(0, 86_000_000), draw.randrange(28_500_000, 31_000_000)))
    end = start + draw.choice((1_000, 30_000, 600_000, 7_200_000, NEVER_MS))
    return Fault(code, part, other, kind.usual, start, end)


@pytest.mark.parametrize("name", ["day", "stuck_sender"])
def test_in_health_no_event_differs(name: str) -> None:
    """A simulation that is quick because it leaves out the scan that matters is worse than a slow one."""
    for seed in range(100, 100 + share(100, 8)):
        quick, slow = both(name, seed, ())
        assert_same(quick, slow)
        assert quick.evaluated < slow.evaluated / 3


@pytest.mark.parametrize("code", [kind.code for kind in KINDS], ids=[kind.word for kind in KINDS])
def test_under_each_fault_no_event_differs(code: int) -> None:
    """It is under a fault that a person must be able to trust what the simulation says would happen."""
    assert befallen()[code], "Marram has no part that this fault can befall"
    for seed in range(share(10, 1)):
        faults = (drawn_fault(random.Random(1000 * code + seed), code),)
        assert_same(*both("day", seed, faults))


def test_a_link_that_comes_right_does_not_renew_the_late_call_in_hand() -> None:
    """A call four seconds late is older than its lease of three: the outputs lapse though the next call is near."""
    late = Fault(LINK_DELAYED, "main_board", "", 4.0, 24_779_435, 25_379_435)
    assert_same(*both("day", 4, (late,)))


def test_under_several_faults_no_event_differs() -> None:
    """Faults at once meet in states that no single one reaches."""
    for seed in range(share(100, 6)):
        draw = random.Random(seed)
        faults = tuple(drawn_fault(draw, code) for code in draw.sample(range(len(KINDS)), draw.randint(2, 4)))
        assert_same(*both("day", seed, faults))
