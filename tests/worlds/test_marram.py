"""What Marram's file promises of a sound rig: waste and drinking water apart, and room above each fill."""

from __future__ import annotations

import pytest

from tests.share import share
from tests.worlds.test_margins import MARRAM, changed
from ullage.control.check import examine
from ullage.simulate.run import Run, simulate
from ullage.simulate.scenario import read_scenario

APART = "never (gray_dump is open) and (shore_in is open) and (shore_guard is open)"

BOTH = """
scenario: Fill and empty at once
hours: 0.2
starts: {belly: 40 %, loft: 20 %, gray: 60 %}
happenings:
  - {at: 1 s, hose: shore, pressure: 4 bar}
"""

AT_ONCE = {
    "start": ("30 s, start: empty", "31 s, start: fill", "31 s, confirm: empty"),
    "restart": (
        *("30 s, start: fill", "60 s, hold: fill", "90 s, start: empty", "91 s, confirm: empty", "110 s, hold: empty"),
        *("140 s, restart: fill", "140 s, restart: empty"),
    ),
    "resume": (
        *("30 s, start: fill", "33 s, pause: fill", "70 s, start: empty", "71 s, confirm: empty", "73 s, pause: empty"),
        *("120 s, resume: fill", "120 s, resume: empty"),
    ),
    "resume beside the other": (
        *("30 s, start: empty", "31 s, confirm: empty", "33 s, pause: empty", "80 s, start: fill"),
        "120 s, resume: empty",
    ),
}
"""Ways to set both going in one scan."""

UNAWARE = {
    "stay: (port_board is linked) and (shore_in is closed) and (shore_guard is closed)": "stay: port_board is linked",
    (
        "- ready -> opening when (not (empty is running)) and (not (empty is pausing))"
        " and (not (empty is at opening)) and (not (empty is at draining))"
    ): "- ready -> opening",
    (
        "- ready -> opening when (shore_in is closed) and (shore_guard is closed)"
        " and (not (fill is at opening)) and (not (fill is at filling))"
    ): "- ready -> opening",
}
"""What keeps each of the two from going on beside the other, left out."""


def played(text: str, rig: str = MARRAM, seed: int = 1) -> Run:
    """A scenario on Marram."""
    examined = examine(rig, "marram.yaml")
    assert examined.rig is not None
    assert examined.law is not None
    assert examined.program is not None
    scenario, findings = read_scenario(text, "both.yaml", examined.rig, examined.law)
    assert scenario is not None, findings
    return simulate(examined.rig, examined.program, scenario, seed)


@pytest.mark.parametrize("way", AT_ONCE)
def test_a_fill_and_an_emptying_never_begin_in_one_scan(way: str) -> None:
    """A guard sees the scan before, so two that are set going at once must not both find the other at rest."""
    text = BOTH + "".join(f"  - {{at: {line}}}\n" for line in AT_ONCE[way])
    kept = {judged.expectation.text: judged.kept for judged in played(text).expectations}
    assert kept[APART]
    careless = {judged.expectation.text: judged.kept for judged in played(text, changed(UNAWARE, MARRAM)).expectations}
    assert not careless[APART], "the commands do set both going where nothing keeps them apart"


AT_WORST = """
scenario: All that runs into belly and into loft at once, from the strongest hose
hours: 0.6
starts: {belly: 60 %, loft: 60 %, gray: 30 %}
slope: {ahead: LEAN deg, across: 2 deg}
errors: {belly_level: ERROR %, loft_level: ERROR %}
happenings:
  - {at: 1 s, hose: shore, pressure: 4 bar}
  - {at: 15 s, start: drop}
  - {at: 16 s, start: fill}
  - {at: 20 min, start: lift_up}
  - {at: 25 min, start: fill}
  - {at: 25 min, start: lift_up}
expect:
  - fill reaches filled
  - lift_up reaches lifted
"""


@pytest.mark.parametrize("lean", [-3, 3])
@pytest.mark.parametrize("error", [-100, 100])
def test_in_health_room_is_left_above_the_highest_fill(lean: int, error: int) -> None:
    """Spillage is the first that a person sees of a target set too high for the slope."""
    text = AT_WORST.replace("LEAN", str(lean)).replace("ERROR", str(error))
    for seed in range(1, 1 + share(50, 2)):
        run = played(text, seed=seed)
        assert {judged.expectation.text for judged in run.expectations} >= {
            "never belly over 120 L",
            "never loft over 42 L",
        }
        assert [judged.expectation.text for judged in run.expectations if not judged.kept] == []
