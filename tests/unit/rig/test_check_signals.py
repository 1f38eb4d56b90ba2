"""Findings on demands, signals and interlocks: each on one broken rig, and its absence on one that looks alike."""

from __future__ import annotations

import pytest

from tests.unit.rig.breaking import Case, found, told

FLOAT = "{on: fresh, at: 240 mm, board: main_board}"
LEVEL = "{on: fresh, error: 2 %, every: 2 s, stale: 6 s, board: main_board}"
WIRED = "main_board: {link: wired}"
LOSSY = "main_board: {link: radio, loss: 5 %}"
DUMP = "motor: {stroke: 4 s .. 8 s, without_power: spring closed}, board: main_board, lease: 3 s, on_lapse: closed}"
DRAINED = "draining -> emptied when ((waste_level < 4 %) held 10 s) or (since step 15 min)"
FILLED_LATE = " or (since step 45 min)"
LOW = "fresh_low: {when: fresh_level < 7 %, drive: {pump: off}, why: the pump would run dry}"
HIGH = "fresh_float or (fresh_level > 94 %)"
DRY_FLOAT = "(not fresh_float) or (fresh_level > 94 %)"

DRY = "wired: {float: fresh_float, while: dry}"

UNWISHED = {"default: 80 %, least: 10 %, most: 85 %": "default: 80 %, least: 10 %, most: 85 %, of: fresh"}

CASES = [
    Case(
        "I515",
        "stopcock",
        {"stopcock: {kind: ball, kv: 4 m3/h": f"stopcock: {{kind: ball, kv: 4 m3/h, {DRY}"},
        {"guard: {kind: solenoid, kv: 2 m3/h": f"guard: {{kind: solenoid, kv: 2 m3/h, {DRY}"},
    ),
    Case(
        "I516",
        "inlet_valve",
        {"inlet_valve: {kind: ball, kv: 4 m3/h": f"inlet_valve: {{kind: ball, kv: 4 m3/h, {DRY}"},
        {
            "inlet_valve: {kind: ball, kv: 4 m3/h": f"inlet_valve: {{kind: ball, kv: 4 m3/h, {DRY}",
            "6 s, without_power: stays": "6 s, without_power: stored charge closed, charge_time: 9 s",
        },
    ),
    Case(
        "S419",
        "rinse_waste",
        {"closing: {demand: {port_lamp: red}}": "closing: {demand: {guard: closed}}"},
        {
            "closing: {demand: {port_lamp: red}}": "closing: {demand: {guard: closed}}",
            "fresh_level < target - 3 %": "(rinse_waste is idle) and (fresh_level < target - 3 %)",
            "permit: waste_level < 40 %": "permit: (fill is complete) and (waste_level < 40 %)",
        },
    ),
    Case("S421", "fill", {"most: 85 %": "most: 94 %"}, {"most: 85 %": "most: 93.9 %"}),
    Case("S421", "fill", {FLOAT: FLOAT.replace("240 mm", "212 mm")}, {FLOAT: FLOAT.replace("240 mm", "213 mm")}),
    Case("S421", "fill", {"(fresh_level >= target)": "(fresh_level >= 94 %)", **UNWISHED}, UNWISHED),
    Case(
        "S421",
        "tap_water",
        {"fresh_level < 9 %": "fresh_level < 7 %"},
        {"fresh_level < 9 %": "(fresh_level < 9 %) or (fresh_level < 2 %)"},
    ),
    Case(
        "S422",
        "empty",
        {DRAINED: "draining -> emptied when since step 60 s"},
        {
            DRAINED: "draining -> emptied when since step 60 s",
            "drive: {pump: off, rinse_valve: closed}": "drive: {pump: off, rinse_valve: closed, dump: closed}",
        },
    ),
    Case(
        "S424",
        "empty",
        {"confirm: true\n": "begins: waste_level > 80 %\n"},
        {"tap_water:\n": "tap_water:\n    begins: fresh_level > 20 %\n"},
    ),
    Case("S425", "", {"attitude: docked": "attitude: upright"}, {"attitude: docked": "attitude: flat"}),
    Case(
        "S427",
        "tap_water",
        {"on: {demand: {pump: on}}": "on: {actions: [{demand: {pump: on}, as: S}]}"},
        {
            "on: {demand: {pump: on}}": "on: {actions: [{demand: {pump: on}, as: S}]}",
            "off: final": "off: {final: true, actions: [{demand: {pump: on}, as: R}]}",
        },
    ),
    Case(
        "S430",
        "fill",
        {
            "(fresh_level >= target)": "(fresh_level >= 80 %)",
            "target - 3 %": "77 %",
            "parameters: {target: {default: 80 %,": "parameters: {target: {of: fresh, default: 80 %,",
        },
        {"(fresh_level >= target)": "(fresh_level >= 80 %)"},
    ),
    Case(
        "S431",
        "fill",
        {FILLED_LATE: " or (shore_meter < 1 L/min)"},
        {FILLED_LATE: " or ((since step 45 min) held 1 s)"},
    ),
    Case(
        "S431",
        "empty",
        {
            DRAINED: "draining -> emptied when (waste_level < 4 %) or (dump is open)",
            DUMP: DUMP.replace("closed},", "closed, feedback: open_end},", 1),
        },
        {DRAINED: "draining -> emptied when (waste_level < 4 %) or (dump is open)"},
    ),
    Case(
        "S431",
        "empty",
        {DRAINED: "draining -> emptied when (waste_level < 4 %) or (dump is closed)"},
        {DRAINED: "draining -> emptied when (waste_level < 4 %) or (handset is upright)"},
    ),
    Case(
        "S431",
        "tap_water",
        {"switch: {cut_in: 1.4 bar, cut_out: 2.8 bar}, ": "relief: 3 bar, "},
        {"filled when inlet_valve is closed": "filled when fresh_level > 5 %"},
    ),
    Case(
        "S432",
        "empty",
        {"confirm: true\n": "confirm: false\n"},
        {
            "draining: {demand: {dump: open}}": "draining: {demand: {dump: closed}}",
            "confirm: true\n": "confirm: false\n",
        },
    ),
    Case("I501", "dump", {DUMP: DUMP.replace(", lease: 3 s", "")}, {DUMP: DUMP.replace("3 s,", "9 s,")}),
    Case("I502", "dump", {DUMP: DUMP.replace("lapse: closed", "lapse: stays")}, {}),
    Case("I502", "dump", {DUMP: DUMP.replace(", on_lapse: closed", "")}, {}),
    Case("I503", "dump", {DUMP: DUMP.replace("lapse: closed", "lapse: open")}, {}),
    Case(
        "I504",
        "fresh_level",
        {LEVEL: LEVEL.replace("stale", "published: on change, stale")},
        {LEVEL: LEVEL.replace("stale", "published: on change, heartbeat: 5 s, stale")},
    ),
    Case(
        "I505",
        "waste_level",
        {"{on: waste, error: 2 %, every: 2 s, stale: 6 s": "{on: waste, error: 2 %, every: 2 s, stale: 2.4 s"},
        {"{on: waste, error: 2 %, every: 2 s, stale: 6 s": "{on: waste, error: 2 %, every: 2 s, stale: 2.5 s"},
    ),
    Case(
        "I505",
        "fresh_level",
        {LEVEL: LEVEL.replace("stale", "published: on change, heartbeat: 6 s, stale")},
        {LEVEL: LEVEL.replace("stale", "published: on change, heartbeat: 5 s, stale")},
    ),
    Case(
        "I505",
        "far_board",
        {"delay: 50 ms .. 400 ms": "delay: 50 ms .. 400 ms, stale: 0.9 s"},
        {"delay: 50 ms .. 400 ms": "delay: 50 ms .. 400 ms, stale: 0.91 s"},
    ),
    Case(
        "I514",
        "fresh_high",
        {WIRED: LOSSY},
        {WIRED: LOSSY, FLOAT: FLOAT.replace("mm", "mm, stale: 5 s"), LEVEL: LEVEL.replace("6 s", "13 s")},
    ),
    Case("I514", "fresh_high", {WIRED: LOSSY}, {WIRED: LOSSY, "latch: true": "until: fresh_level < 90 %"}),
    Case(
        "I514",
        "fresh_high",
        {WIRED: LOSSY.replace("5 %", "60 %"), HIGH: "not (main_board is linked)"},
        {WIRED: LOSSY.replace("5 %", "60 %, stale: 20 s"), HIGH: "not (main_board is linked)"},
    ),
    Case(
        "I505",
        "fresh_level",
        {LEVEL: "{on: fresh, error: 2 %, every: 200 ms, board: far_board}"},
        {LEVEL: "{on: fresh, error: 2 %, every: 201 ms, board: far_board}"},
    ),
    Case(
        "I505",
        "fresh_level",
        {LEVEL: LEVEL.replace("stale: 6 s", "stale: 19 s, published: on change, heartbeat: 20 s")},
        {LEVEL: LEVEL.replace("stale: 6 s", "published: on change, heartbeat: 20 s")},
    ),
    Case(
        "I506",
        "fresh_low",
        {"drive: {pump: off, rinse": "drive: {pump: on, rinse"},
        {
            "90 %, drive: {pump: off, rinse": "90 %, priority: 1, drive: {pump: on, rinse",
            "fresh_low: {when": "fresh_low: {priority: 2, when",
        },
    ),
    Case("I507", "dump", {DUMP: DUMP.replace("board: main_board, ", "")}, {}),
    Case(
        "I508",
        "fresh_low",
        {LOW: LOW.replace("{pump: off}", "{rinse_valve: open}")},
        {LOW: LOW.replace("{pump: off}", "{rinse_valve: closed}")},
    ),
    Case(
        "I508",
        "fresh_low",
        {LOW: LOW.replace("{pump: off}", "{}")},
        {LOW: LOW.replace("{pump: off}", "{port_lamp: red}")},
    ),
    Case(
        "I509",
        "fresh_float",
        {FLOAT: FLOAT.replace(", b", ", broken_reads: empty, b")},
        {FLOAT: FLOAT.replace(", b", ", broken_reads: full, b")},
    ),
    Case(
        "I509",
        "fresh_float",
        {HIGH: DRY_FLOAT},
        {HIGH: DRY_FLOAT, FLOAT: FLOAT.replace(", b", ", broken_reads: empty, b")},
    ),
    Case("I511", "fresh_low", {"fresh_level < 7 %": "fresh_level < 0 L"}, {"fresh_level < 7 %": "fresh_level < 1 mL"}),
    Case(
        "I512", "fresh_low", {"fresh_level < 7 %": "fresh_level < 121 L"}, {"fresh_level < 7 %": "fresh_level < 119 L"}
    ),
    Case(
        "I513",
        "fresh_low",
        {"fresh_level < 7 %": "fresh_level < 7 %, until: fresh_level < 6 %"},
        {"fresh_level < 7 %": "fresh_level < 7 %, until: fresh_level > 9 %"},
    ),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_broken_rig_is_told(case: Case) -> None:
    """A rig that moves water unseen, or goes on when the link is gone, is refused; one that does not is let pass."""
    assert case.code in told(case.broken, on=case.at)
    near_miss = told(case.near_miss)
    assert case.code not in near_miss
    assert not [code for code in near_miss if code[0] == "R"]


def test_a_limit_past_an_interlock_names_what_acts() -> None:
    """An interlock has several limbs; told only its litres, a person searches the wrong one."""
    by_float = {FLOAT: FLOAT.replace("240 mm", "212 mm")}
    told = next(f.what for f in found(by_float) if f.code == "S421")
    assert told.endswith("(the float 'fresh_float' at 212 mm)")
    by_level = next(f.what for f in found({"most: 85 %": "most: 94 %"}) if f.code == "S421")
    assert by_level.endswith("('fresh_level')")


def test_an_interlock_that_is_unclear_is_not_called_missing() -> None:
    """A missing unit in an interlock must not send a person to add a second one."""
    blind = {DRAINED: "draining -> emptied when since step 60 s"}
    guarded = {
        **blind,
        "drive: {pump: off, rinse_valve: closed}": "drive: {pump: off, rinse_valve: closed, dump: closed}",
    }
    codes = {f.code for f in found({**guarded, "waste_level > 90 %": "waste_level > 90"})}
    assert "R116" in codes
    assert "S422" not in codes


def test_a_missing_unit_of_a_level_may_be_a_percentage() -> None:
    """Most levels are written in percent; a list of units without it teaches that they may not be."""
    told = next(f for f in found({"waste_level > 90 %": "waste_level > 90"}) if f.code == "R116")
    assert told.expected.endswith("in % of 'waste'")


def test_an_opening_of_a_tank_that_fixtures_drain_to_is_explained() -> None:
    """Who gives a sump an inlet for its basin would draw a line that is not there."""
    spare = {"drain: {at: 0 mm}": "drain: {at: 0 mm}, inlet: {at: 150 mm}"}
    told = next(f for f in found(spare) if f.code == "N207")
    assert "drains_to" in told.expected
