"""Each form of an expectation, kept and broken, on one played hour: a broken one is never called kept."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from tests.shipped import marram
from ullage.plant.faults import read_fault
from ullage.simulate.judge import Judged
from ullage.simulate.run import simulate
from ullage.simulate.scenario import read_scenario

HOUR = """
scenario: An hour that goes wrong
hours: 1
starts: {belly: 25 %, loft: 20 %, gray: 30 %}
happenings:
  - {at: 1 min, hose: shore, pressure: 2 bar}
  - {at: 2 min, start: fill, with: {target: 75 %}}
  - {at: 3 min, use: basin, for: 1 min}
  - {at: 6 min, fault: belly_level stuck}
  - {at: 6 min, fault: belly_float stuck dry}
"""

PAIRS = [
    ("no water indoors", "no overflow"),
    ("no overflow of gray", "no overflow of belly"),
    ("gray never over its overflow", "belly never over its overflow"),
    ("belly never over 160 L", "belly never over 130 L"),
    ("belly never below 25 L", "belly never below 36 L"),
    ("belly over 40 L at 6 min", "belly over 80 L at 6 min"),
    ("belly below 80 L at 6 min", "belly below 40 L at 6 min"),
    ("belly_high never trips", "belly_high trips"),
    ("fill reaches too_long within 50 min", "fill reaches too_long within 40 min"),
    ("fill reaches given_up", "fill reaches filled"),
    ("fill is running at 30 min", "fill is idle at 30 min"),
    ("shore_in is open at 30 min", "shore_in is closed at 30 min"),
    ("water_pump never runs dry", "gray_high trips within 1 h"),
    ("basin gives at least 2 L", "basin gives at least 6 L"),
    ("shore gives at most 500 L", "shore gives at most 200 L"),
    ("belly over 100 L", "belly over 160 L"),
    ("belly over 100 L within 20 min", "belly over 100 L within 6 min"),
    ("never (gray_dump is open) and (shore_in is open)", "never (shore_in is open) and (belly_level > 60 %)"),
    ("never (shore_in is open) held 46 min", "never (shore_in is open) held 44 min"),
    ("belly_float within 20 min", "gray_float"),
    ("never fill is holding", "fill is at dry_hose"),
    ("water_pump is on", "never water_pump is on"),
    ("shore_meter > 5 L/min within 5 min", "shore_meter > 50 L/min"),
    ("port_board is linked at 30 min", "never port_board is linked"),
]
"""What is so, and what is not, of the hour above: overflows run outdoors for half of it."""


@cache
def judged() -> dict[str, Judged]:
    """All expectations of the pairs, judged on one run."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    lines = "".join(f"  - {text}\n" for pair in PAIRS for text in pair)
    scenario, findings = read_scenario(f"{HOUR}expect:\n{lines}", "hour.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    played = simulate(examined.rig, examined.program, scenario, 1)
    return {judgement.expectation.text: judgement for judgement in played.expectations}


@pytest.mark.parametrize(("so", "not_so"), PAIRS, ids=lambda text: text)
def test_what_is_so_is_kept_and_what_is_not_is_broken(so: str, not_so: str) -> None:
    """A person who tests a sequence believes the word 'kept'."""
    assert judged()[so].kept, judged()[so].found
    assert not judged()[not_so].kept, judged()[not_so].found


def test_what_the_rig_says_must_never_be_is_expected_of_every_run() -> None:
    """A tank that overflows in a run must not pass because the scenario forgot to ask."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    scenario, findings = read_scenario(HOUR, "hour.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    found = {j.expectation.text: j.kept for j in simulate(examined.rig, examined.program, scenario, 1).expectations}
    assert set(found) == {f"never {line.whatever_fails}" for line in examined.rig.never if line.whatever_fails}
    assert [text for text, kept in found.items() if not kept] == ["never belly reaches its overflow"]


IN_HEALTH = [
    "never belly over 120 L",
    "never (gray_dump is open) and (shore_in is open) and (shore_guard is open)",
    "never loft over 42 L",
]
"""What Marram promises of a sound rig."""


def test_what_must_never_be_in_health_is_judged_in_health_only() -> None:
    """A sender that hangs may bring belly near its overflow; a sound rig may not."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    for wrong, judged_so in ((True, []), (False, IN_HEALTH)):
        text = HOUR if wrong else HOUR[: HOUR.index("  - {at: 6 min, fault")]
        scenario, findings = read_scenario(text, "hour.yaml", examined.rig, examined.law)
        assert scenario is not None, findings
        played = simulate(examined.rig, examined.program, scenario, 1).expectations
        assert [j.expectation.text for j in played if j.expectation.healthy_only] == judged_so
        assert all(j.kept for j in played if j.expectation.healthy_only)


def test_what_was_to_be_at_a_time_after_the_end_is_not_kept() -> None:
    """A run that was cut short has shown nothing of the evening."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    text = "scenario: Short\nhours: 1\nexpect: [gray below 40 L at 50 min, shore_in is closed at 50 min]\n"
    scenario, findings = read_scenario(text, "short.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    short = replace(scenario, hours=0.5)
    played = simulate(examined.rig, examined.program, short, 1).expectations[:2]
    assert [judgement.kept for judgement in played] == [False, False]
    assert [judgement.found for judgement in played] == ["the run ended before"] * 2
    assert all(judgement.kept for judgement in simulate(examined.rig, examined.program, scenario, 1).expectations[:2])


def test_a_dry_pump_breaks_its_expectation() -> None:
    """A pump that sucks air wears out in minutes; a run must not call that kept."""
    examined = marram()
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    text = (
        "scenario: Dry\nhours: 0.2\nstarts: {belly: 2 %}\n"
        "happenings: [{at: 1 min, use: basin, for: 3 min}]\nexpect: [water_pump never runs dry]\n"
    )
    scenario, findings = read_scenario(text, "dry.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    stuck = [read_fault(examined.rig, words) for words in ("water_pump welded", "belly_bottom stuck wet")]
    judgement, *_ = simulate(examined.rig, examined.program, scenario, 1, faults=stuck).expectations
    assert not judgement.kept
    assert float(judgement.found.split()[0]) > 10.0
