"""A guard that must last is watched to the end of its time, also where nothing else happens then."""

from __future__ import annotations

from tests.shipped import marram
from ullage.simulate.scenario import read_scenario
from ullage.verdict.trial import Trials

STAYS_OPEN = """
scenario: A fill that loses its link while both valves hang
hours: 0.1
happenings:
  - {at: 1 s, hose: shore, pressure: 2 bar}
  - {at: 10 s, start: fill}
  - {at: 30 s, fault: shore_in stuck}
  - {at: 30 s, fault: shore_guard stuck}
  - {at: 40 s, fault: port_board lost, until: 70 s}
"""


def test_what_lasts_is_found_however_seldom_the_water_is_sampled() -> None:
    """A search samples nothing that it need not: a link that is lost for long enough was not noticed in it."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    scenario, findings = read_scenario(STAYS_OPEN, "open.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    line = next(line for line in examined.law.never if "(shore_guard is open)) held 15 s" in line.text)
    trials = Trials(examined.rig, examined.program)
    seldom, often = (trials.play(scenario, 1, line.statement, every)[1] for every in (360_000, 500))
    assert seldom is not None
    assert often is not None
    assert often.ms - 500 <= seldom.ms <= often.ms
