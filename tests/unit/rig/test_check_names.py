"""Findings on names and references: each on one broken rig, and its absence on one that looks alike."""

from __future__ import annotations

import pytest

from tests.unit.rig.breaking import Case, told

LEVEL = "{on: fresh, error: 2 %, every: 2 s, stale: 6 s, board: main_board}"
FILLING = "filling -> closing when (fresh_level >= target) or (fresh_float held 1 s) or (since step 45 min)"
EMPTY_STEPS = "draining: {demand: {dump: open}}"

CASES = [
    Case("N200", "fill", {FILLING: FILLING.replace("fresh_level", "fresh_levl")}, {}),
    Case("N200", "", {"pump runs dry": "pmp runs dry"}, {}),
    Case("N201", "manifold", {"heaters: {heater:": "heaters: {manifold:", "to_tap, heater]": "to_tap, manifold]"}, {}),
    Case("N201", "fill", {"{target:": "{tap:", "< target": "< tap", ">= target": ">= tap"}, {}),
    Case("N202", "held", {"checks: {shore_check:": "checks: {held:", "shore_check, guard": "held, guard"}, {}),
    Case("N202", "empty", {EMPTY_STEPS: "since: {}"}, {EMPTY_STEPS: EMPTY_STEPS + "\n      sink: final"}),
    Case("N202", "all", {"  tap_water:\n": "  all:\n"}, {"  tap_water:\n": "  every:\n"}),
    Case("N203", "fresh_level", {LEVEL: LEVEL.replace("fresh", "frsh")}, {}),
    Case("N203", "fill", {"inlet_valve: open}}\n      closing": "outlet_valve: open}}\n      closing"}, {}),
    Case("N203", "empties", {"does: start fill": "does: start empties"}, {"does: start fill": "does: start tap_water"}),
    Case(
        "N203",
        "pump",
        {"pumps:\n  pump: {": "pumps:\n  pump: {wired: {float: fresh_flaot, while: wet}, "},
        {"pumps:\n  pump: {": "pumps:\n  pump: {wired: {float: fresh_float, while: wet}, "},
    ),
    Case("N203", "cushion", {"{at: manifold,": "{at: manifld,"}, {"{at: manifold,": "{at: inlet,"}),
    Case("N203", "tap", {"drains_to: waste": "drains_to: wast"}, {"drains_to: waste": "drains_to: outdoors"}),
    Case("N203", "pump_current", {"{of: pump,": "{of: guard_rail,"}, {"{of: pump,": "{of: guard,"}),
    Case("N204", "", {"from: shore,": "from: shor,"}, {}),
    Case("N204", "fresh", {"to: fresh.top": "to: fresh.tops"}, {}),
    Case("N204", "fresh", {"to: fresh.top": "to: fresh"}, {}),
    Case("N205", "empty", {"{dump: open}": "{dump: opn}"}, {}),
    Case("N205", "fill", {"{port_lamp: red}": "{port_lamp: blue}"}, {"{port_lamp: red}": "{port_lamp: green}"}),
    Case("N205", "fill", {"inlet_valve is closed": "inlet_valve is shut"}, {"valve is closed": "valve is failed"}),
    Case("N206", "", {"does: stop all": "does: halt all"}, {"does: stop all": "does: abort all"}),
    Case("N207", "hose", {"[hose, shore_check": "[shore_check"}, {}),
    Case("N207", "fresh", {"low: {at: 5 mm}": "low: {at: 5 mm}, spare: {at: 9 mm}"}, {}),
    Case("N208", "hose", {"rinse_valve, to_rinse": "rinse_valve, hose, to_rinse"}, {}),
    Case("N209", "fill", {"filling -> closing": "filling -> closng"}, {"filling -> closing": "filling -> filled"}),
    Case("N209", "", {"fill reaches filled": "fill reaches full"}, {"fill reaches filled": "fill reaches closing"}),
    Case("N210", "", {"never:": "accepts: [{finding: P999, why: it is not so bad here}]\nnever:"}, {}),
    Case(
        "N210",
        "",
        {"never:": "accepts: [{finding: P301, why: it is not so bad here}]\nnever:"},
        {"never:": "accepts: [{finding: P302, why: it is not so bad here}]\nnever:"},
    ),
    Case("N211", "empty", {"{dump: open}": "{stopcock: open}"}, {}),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_broken_rig_is_told(case: Case) -> None:
    """A name that stands for nothing, or for two things, would make the rig do something else than it says."""
    assert case.code in told(case.broken, on=case.at)
    near_miss = told(case.near_miss)
    assert case.code not in near_miss
    assert not [code for code in near_miss if code[0] == "R"]
