"""Findings on tanks, lines and pumps: each on one broken rig, and its absence on one that looks alike."""

from __future__ import annotations

import pytest

from tests.unit.rig.breaking import Case, told

FLOAT = "{on: fresh, at: 240 mm, board: main_board}"
SWITCH = "switch: {cut_in: 1.4 bar, cut_out: 2.8 bar}"
LEVEL = "{on: fresh, error: 2 %, every: 2 s, stale: 6 s, board: main_board}"
DUMP = "motor: {stroke: 4 s .. 8 s, without_power: spring closed}, board: main_board, lease: 3 s, on_lapse: closed}"
LOW = "fresh_low: {when: fresh_level < 7 %, drive: {pump: off}, why: the pump would run dry}"

PUMP = "switch: {cut_in: 1.4 bar, cut_out: 2.8 bar}, board"
BOTTOM = {"floats:\n": "floats:\n  bottom: {on: fresh, at: 30 mm}\n", LOW: ""}
"""A low float, and no interlock that could stop the pump instead."""


def in_the_wire(wired: str) -> dict[str, str]:
    """The low float in the pump's wire."""
    return {**BOTTOM, PUMP: PUMP.replace("board", f"wired: {wired}, board")}


GUARD = "kv: 2 m3/h, motor: {without_power: spring closed"

CASES = [
    Case("P301", "fresh", {"    vent: {bore: 16 mm, length: 1 m}\n": ""}, {"vent: {bore: 16": "vent: {bore: 3"}),
    Case("P302", "waste", {"    overflow: {bore: 40 mm, at: 250 mm}\n": ""}, {"{bore: 40 mm, at": "{bore: 9 mm, at"}),
    Case("P303", "waste", {"{bore: 40 mm, at: 250 mm": "{bore: 40 mm, at: 250 mm, to: indoors"}, {}),
    Case(
        "P304",
        "waste",
        {"bore: 40 mm, at: 250": "bore: 40 mm, at: 300"},
        {"bore: 40 mm, at: 250": "bore: 40 mm, at: 294"},
    ),
    Case("P304", "fresh", {"top: {at: 290": "top: {at: 301"}, {"top: {at: 290": "top: {at: 300"}),
    Case(
        "P326",
        "waste.drain",
        {"[dump, waste_pipe], to: outfall}": "[dump, waste_pipe], to: outfall, crest: {z: 0.2 m}}"},
        {"[dump, waste_pipe], to: outfall}": "[dump, waste_pipe], to: outfall, crest: {z: 1.2 m}}"},
    ),
    Case("P312", "fresh", {"fresh_level: " + LEVEL: ""}, {}),
    Case(
        "P313",
        "fresh_level",
        {LEVEL: LEVEL.replace("error", "full_at: 320 mm, error")},
        {LEVEL: LEVEL.replace("error", "full_at: 300 mm, error")},
    ),
    Case(
        "P313",
        "fresh_level",
        {LEVEL: LEVEL.replace("error", "zero_at: 310 mm, error")},
        {LEVEL: LEVEL.replace("error", "zero_at: 20 mm, error")},
    ),
    Case(
        "P322",
        "fresh_level",
        {LEVEL: LEVEL.replace("error", "full_at: 240 mm, error")},
        {LEVEL: LEVEL.replace("error", "full_at: 250 mm, error")},
    ),
    Case("P321", "fresh_float", {FLOAT: FLOAT.replace("240", "250")}, {FLOAT: FLOAT.replace("240", "249")}),
    Case("P316", "waste", {"drive: {pump: off, rinse": "drive: {rinse"}, {"drains_to: waste": "drains_to: outdoors"}),
    Case(
        "P305", "waste", {"rinse: {at: 295 mm}": "rinse: {at: 200 mm}"}, {"rinse: {at: 295 mm}": "rinse: {at: 251 mm}"}
    ),
    Case("P305", "tap", {"drains_to: waste": "drains_to: fresh"}, {"drains_to: waste": "drains_to: outdoors"}),
    Case(
        "P325",
        "tap",
        {"from: manifold, through: [to_tap, heater], to: tap": "from: tap, through: [to_tap, heater], to: manifold"},
        {"from: manifold, through: [to_tap, heater], to: tap": "from: manifold, through: [heater, to_tap], to: tap"},
    ),
    Case("P306", "outfall", {", air_gap: true": ""}, {}),
    Case(
        "P307",
        "shore",
        {"top: {at: 290": "top: {at: 200", "hose, shore_check, ": "hose, ", "checks: {shore_check: {kv: 2 m3/h}}": ""},
        {"top: {at: 290": "top: {at: 200"},
    ),
    Case("P308", "inlet_valve", {"6 s, without_power: stays": "6 s"}, {}),
    Case(
        "P309",
        "to_tap",
        {
            "accumulators: {cushion: {at: manifold,": "accumulators: {cushion: {at: inlet,",
            "to_tap, heater]": "to_tap]",
            "heaters: {heater: {volume: 10 L, bore: 13 mm, relief: 4 bar}}": "",
        },
        {"to_tap, heater]": "to_tap]", "heaters: {heater: {volume: 10 L, bore: 13 mm, relief: 4 bar}}": ""},
    ),
    Case(
        "P314",
        "shore",
        {GUARD: GUARD.replace("spring closed", "stays")},
        {GUARD: GUARD.replace("spring closed", "stored charge closed, charge_time: 60 s")},
    ),
    Case(
        "P315",
        "shore",
        {
            "[hose, shore_check, guard, inlet_valve, shore_meter]": "[hose, shore_check, shore_meter]",
            "[suction, stopcock": "[suction, guard, inlet_valve, stopcock",
        },
        {},
    ),
    Case(
        "P318",
        "guard",
        {GUARD: GUARD.replace("spring closed", "stored charge closed")},
        {GUARD: GUARD.replace("spring closed", "stored charge closed, charge_time: 9 s")},
    ),
    Case(
        "P320",
        "heater",
        {", relief: 4 bar": "", "accumulators: {cushion: {at: manifold,": "accumulators: {cushion: {at: inlet,"},
        {", relief: 4 bar": ""},
    ),
    Case("P323", "dump", {DUMP: "rests: open, " + DUMP}, {DUMP: "rests: closed, " + DUMP}),
    Case("P310", "pump", {SWITCH + ", ": ""}, {SWITCH: "relief: 3 bar"}),
    Case(
        "P310",
        "pump",
        {SWITCH + ", ": "", "fresh_level < 7 %": "pump_current > 8 L"},
        {SWITCH + ", ": "", "fresh_level < 7 %": "(pump_current > 8 A) held 2 s"},
    ),
    Case("P311", "pump", {LOW: ""}, {"fresh_level < 7 %": "(pump_current < 1 A) held 9 s"}),
    Case("P311", "pump", BOTTOM, in_the_wire("{float: bottom, while: wet}")),
    Case("I517", "pump", in_the_wire("{float: bottom, while: dry}"), in_the_wire("{float: bottom, while: wet}")),
    Case(
        "I517",
        "pump",
        {**in_the_wire("{float: bottom, while: wet}"), "floats:\n": "floats:\n  bottom: {on: fresh, at: 10 mm}\n"},
        {**in_the_wire("{float: bottom, while: wet}"), "floats:\n": "floats:\n  bottom: {on: fresh, at: 11 mm}\n"},
    ),
    Case("P319", "pump", {"cut_out: 2.8 bar": "cut_out: 3 bar"}, {"cut_out: 2.8 bar": "cut_out: 2.99 bar"}),
    Case("P319", "pump", {"cut_in: 1.4 bar": "cut_in: 2.8 bar"}, {"cut_in: 1.4 bar": "cut_in: 2.7 bar"}),
    Case("P324", "pump", {"fresh_level < 7 %": "fresh_level < 4.3 L"}, {"fresh_level < 7 %": "fresh_level < 4.5 L"}),
    Case(
        "P324",
        "pump",
        {"fresh_level < 7 %": "fresh_level < 4.3 L"},
        {"fresh_level < 7 %": "(fresh_level < 4.3 L) or (pump_current < 1 A)"},
    ),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_broken_rig_is_told(case: Case) -> None:
    """A rig that can flood, poison or burst is refused; one that cannot is let pass."""
    assert case.code in told(case.broken, on=case.at)
    near_miss = told(case.near_miss)
    assert case.code not in near_miss
    assert not [code for code in near_miss if code[0] == "R"]
