"""Whole runs of Marram: the demo's expectations, the balance of water, seeds, threads, skipped scans."""

from __future__ import annotations

import numpy as np
import pytest

from tests.share import share
from tests.shipped import marram, scenario
from ullage.plant.faults import read_fault
from ullage.simulate.run import Run, simulate, simulate_many


def run(name: str, seed: int, faults: tuple[str, ...] = (), every_scan: bool = False) -> Run:
    """Play a shipped scenario on Marram."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    wrong = [read_fault(rig, text) for text in faults]
    return simulate(rig, program, scenario(name), seed, faults=wrong, every_scan=every_scan)


@pytest.mark.parametrize("name", ["day", "stuck_sender"])
def test_the_demo_keeps_its_expectations(name: str) -> None:
    """The demo shows a fill that stops by itself, and an interlock that acts when the sender lies."""
    for seed in range(share(50, 4)):
        played = run(name, seed)
        assert played.expectations
        assert played.kept, [j for j in played.expectations if not j.kept]
        assert played.lost == 0


@pytest.mark.parametrize("name", ["day", "stuck_sender"])
def test_no_water_is_made_or_lost(name: str) -> None:
    """Water that comes from nowhere would hide a flood; the balance holds to a millilitre."""
    for seed in range(share(50, 4)):
        outcome = run(name, seed).outcome
        assert abs(outcome.imbalance) < 1e-6
        assert outcome.unsettled == 0


def test_same_seed_same_records_on_one_and_two_threads() -> None:
    """A failure that cannot be played again cannot be mended."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    seeds = range(share(40, 4))
    one = simulate_many(rig, program, scenario("day"), seeds, threads=1)
    two = simulate_many(rig, program, scenario("day"), seeds, threads=2)
    for a, b in zip(one, two, strict=True):
        assert np.array_equal(a.records, b.records)
    assert not np.array_equal(one[0].records, one[1].records), "the seed changes nothing"


FAULTS = (
    (),
    ("belly_level stuck from 485 min",),
    ("port_board lost from 484 min to 500 min",),
    ("shore_in stuck from 483 min",),
    ("water_pump welded from 6 h", "to_galley burst from 6 h"),
)


@pytest.mark.parametrize("faults", FAULTS, ids=lambda faults: faults[0] if faults else "healthy")
def test_skipped_scans_change_no_event(faults: tuple[str, ...]) -> None:
    """A simulation that is quick because it leaves out the scan that matters is worse than a slow one."""
    for seed in range(share(20, 3)):
        quick, slow = run("day", seed, faults), run("day", seed, faults, every_scan=True)
        assert np.array_equal(quick.records, slow.records)
        assert quick.evaluated < slow.evaluated / 3


def test_a_lost_link_closes_the_valves_by_itself() -> None:
    """Nobody can send 'close' through a dead link: the board lets its lease lapse and closes."""
    played = run("day", 1, ("port_board lost from 484 min to 20 h",))
    belly = played.outcome.tanks["belly"]
    assert played.outcome.indoors == 0
    assert belly.overflowed == 0
    assert belly.most < 0.1, "the fill ended with the link, long before the overflow"
