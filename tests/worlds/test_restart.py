"""Marram loses its power in the middle of a fill: what the story, the bars and the verdicts say then."""

from __future__ import annotations

from functools import cache

from tests.unit.plant.wired import marram, rig_and_program
from ullage.control import codes
from ullage.plant.faults import read_fault
from ullage.plant.words import P_CONTROLLER
from ullage.report.account import Account
from ullage.report.telling import account_of
from ullage.simulate.run import Run, simulate
from ullage.simulate.scenario import read_scenario

CUT_MS, BACK_MS = 4 * 60_000, 6 * 60_000

NIGHT = """
scenario: The power goes while belly fills
hours: 0.5
happenings:
  - {at: 10 s, hose: shore, pressure: 2 bar}
  - {at: 1 min, start: fill, with: {target: 75 %}}
  - {at: 20 min, reset: tap_water}
expect:
  - fill is running at 3 min
  - fill is idle at 5 min
  - tap_water is idle at 10 min
  - tap_water is running at 25 min
"""


@cache
def night(fault: str = "power lost from 4 min to 6 min") -> tuple[Run, Account]:
    """The run and its account."""
    rig, program = rig_and_program()
    law = marram().law
    assert law is not None
    scenario, findings = read_scenario(NIGHT, "night.yaml", rig, law)
    assert scenario is not None, findings
    run = simulate(rig, program, scenario, 1, faults=[read_fault(rig, fault)])
    return run, account_of(run, law)


def test_what_the_controller_forgets_is_idle() -> None:
    """A page on which a fill runs on for ever after a power cut hides that nothing is watched any more."""
    run, account = night()
    assert run.kept, [judged for judged in run.expectations if not judged.kept]
    bars = {row.name: row.bars for row in account.strips[0].rows}
    assert [bar.word for bar in bars["fill"]] == ["opening", "filling"]
    assert bars["fill"][-1].end_s == CUT_MS / 1000
    assert [(bar.start_s >= CUT_MS / 1000, bar.end_s) for bar in bars["tap_water"]] == [
        (False, CUT_MS / 1000),
        (True, 1800.0),
    ]
    said = [s.text for s in account.story if s.now_ms == CUT_MS]
    assert "fill is idle (the controller is gone and forgets it)." in said


def test_after_a_restart_it_is_said_who_waits_for_a_person() -> None:
    """Taps that stay dead all day, and no word why, make a person search the pump."""
    _, account = night()
    waits = [s for s in account.story if s.text.endswith("waits for a person's reset.")]
    assert [(s.now_ms, s.text) for s in waits] == [
        (BACK_MS, "tap_water does not begin by itself again: it waits for a person's reset.")
    ]


def test_a_restart_within_one_scan_forgets_as_much() -> None:
    """A watchdog that restarts the controller in an instant leaves no gap in which it could be missed."""
    run, _ = night("controller restarted from 4 min")
    rows = [tuple(row) for row in run.records.tolist() if row[0] == CUT_MS]
    fill = run.program.sequence("fill")
    order = [row[1:] for row in rows if row[1] in (P_CONTROLLER, codes.R_STATE)]
    assert order[0] == (P_CONTROLLER, 0, 0, 0)
    assert (codes.R_STATE, fill, codes.IDLE, codes.FORGOTTEN) in order
    assert order.index((P_CONTROLLER, 0, 1, 0)) > order.index((codes.R_STATE, fill, codes.IDLE, codes.FORGOTTEN))
