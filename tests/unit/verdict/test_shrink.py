"""Stories are made short: whatever a harm does not need is left out, and the harm stays."""

from __future__ import annotations

from tests.worlds.wrong_rigs import WRONG, both, changed, statement_of, transition, without_interlock
from ullage.rig.meaning import Statement
from ullage.simulate.scenario import Scenario, read_scenario
from ullage.verdict.shrink import shrunk
from ullage.verdict.trial import Trials

LONG = """
scenario: Much is done, and one thing counts
hours: 4
starts: {gray: 10 %, loft: 40 %}
slope: {ahead: 2 deg, across: -1 deg}
errors: {belly_level: -100 %, loft_level: 50 %}
happenings:
  - {at: 5 s, hose: shore, pressure: 3.5 bar}
  - {at: 20 s, use: basin, for: 30 s}
  - {at: 61 s, start: fill, with: {target: 75 %}}
  - {at: 70 s, start: fill, with: {target: 75 %}}
  - {at: 90 s, start: rinse_down}
  - {at: 2 min, fault: gray_level stuck}
  - {at: 3 min, fault: port_board lost, until: 3:00:00}
  - {at: 100 min, use: galley, for: 5 min}
  - {at: 3 h, start: fill}
"""


def tried(text: str, harm: str) -> tuple[Trials, Scenario, Statement]:
    """A scenario on a Marram whose fill waits for its time-out alone."""
    change = both(
        without_interlock("belly_full", "belly_high"), transition("fill", "filling -> closing", "since step 60 min")
    )
    examined = changed("marram", change)
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    scenario, findings = read_scenario(text, "long.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    return Trials(examined.rig, examined.program), scenario, statement_of(harm, examined)


def test_only_what_counts_is_left() -> None:
    """Of two hours of doings nobody reads out which valve it was."""
    trials, long, statement = tried(
        LONG.replace("port_board lost, until: 3:00:00", "loft_level dead"), "belly over 130 L"
    )
    law = changed("marram").law
    assert law is not None
    assert trials.make(long, 1, statement) is not None
    short, seed = shrunk(trials, law, long, 7, statement)
    assert trials.make(short, seed, statement) is not None
    assert [one.part for one in short.happenings] == ["shore", "fill"]
    assert (short.faults, short.errors, short.starts, seed) == ((), {}, {}, 1)
    assert short.stands == Scenario().stands
    assert short.happenings[0].amount == 2e5, "the usual pressure does it too"
    assert all(one.ms % 1000 == 0 for one in short.happenings)
    assert short.hours < 0.5


def test_a_fault_that_counts_stays() -> None:
    """A story without its cause would be told of a rig that never does it."""
    wrong = WRONG[0]
    examined = changed(wrong.rig, wrong.change)
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    text = LONG.replace("port_board lost, until: 3:00:00", "belly_level stuck")
    scenario, findings = read_scenario(text, "long.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    trials, statement = Trials(examined.rig, examined.program), statement_of(wrong.harm, examined)
    short, _ = shrunk(trials, examined.law, scenario, 1, statement)
    assert [str(fault) for fault in short.faults] == ["belly_level stuck"]
    assert [one.part for one in short.happenings] == ["shore", "fill"]


def test_nothing_is_shortened_that_does_no_harm() -> None:
    """A story that lost its harm on the way would be thrown away, and with it what was found."""
    trials, long, statement = tried("hours: 1\nhappenings:\n  - {at: 1 min, start: fill}\n", "belly over 130 L")
    law = changed("marram").law
    assert law is not None
    assert shrunk(trials, law, long, 3, statement) == (long, 3)
