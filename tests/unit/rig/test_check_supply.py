"""Findings on battery, loads, handset and heat: each on one broken rig, and its absence on one that looks alike."""

from __future__ import annotations

import pytest

from tests.unit.rig.breaking import Case, Edits, changed, told
from ullage.rig.read import read_rig

PUMP = "switch: {cut_in: 1.4 bar, cut_out: 2.8 bar}, board"
GROUP = "boards: {main_board"
TAP = "at_pressure: 1 bar, drains_to: waste"
HEATER = "{volume: 10 L, bore: 13 mm, relief: 4 bar}"
HOSE = "hose: {bore: 12.5 mm, length: 10 m"
HANDSET = "handset:\n"


def load(said: str) -> Edits:
    """A fridge among the loads."""
    return {GROUP: f"loads: {{fridge: {{{said}}}}}\n{GROUP}"}


def power(said: str) -> Edits:
    """A battery."""
    return {GROUP: f"power: {{{said}}}\n{GROUP}"}


def wakes(*said: str) -> Edits:
    """What the handset wakes for."""
    return {
        HANDSET: HANDSET + "  wakes: {" + ", ".join(f"wake_{at}: {{{wake}}}" for at, wake in enumerate(said)) + "}\n"
    }


def hot(keeps: str, mixed: str) -> Edits:
    """A heater that keeps its water hot, and a tap that mixes it."""
    return {HEATER: HEATER.replace("}", f", keeps: {keeps}}}"), TAP: f"{TAP}, mixed: {mixed}"}


CASES = [
    Case("B701", "fridge", load("daily: 8 h"), load("draws: 3 A, daily: 8 h")),
    Case("B701", "fridge", load("draws: 3 A, power: 40 W"), load("power: 40 W")),
    Case(
        "B702",
        "wake_0",
        wakes("draws: 40 mA, lasts: 1 min, every: 2 s"),
        wakes("draws: 40 mA, lasts: 2 s, every: 1 min"),
    ),
    Case("B702", "wake_0", wakes("draws: 40 mA, lasts: 0 s, every: 0 s"), {}),
    Case(
        "B702",
        "handset",
        wakes("draws: 40 mA, lasts: 3 s, every: 4 s", "draws: 9 mA, lasts: 2 s, every: 4 s"),
        wakes("draws: 40 mA, lasts: 2 s, every: 4 s", "draws: 9 mA, lasts: 2 s, every: 4 s"),
    ),
    Case(
        "B703",
        "power",
        power("capacity: 100 Ah, quicker: {capacity: 110 Ah, over: 5 h}"),
        power("capacity: 100 Ah, quicker: {capacity: 80 Ah, over: 5 h}"),
    ),
    Case(
        "B703",
        "power",
        power("capacity: 100 Ah, quicker: {capacity: 25 Ah, over: 5 h}"),
        power("capacity: 100 Ah, quicker: {capacity: 26 Ah, over: 5 h}"),
    ),
    Case(
        "B703",
        "power",
        power("capacity: 100 Ah, rated_over: 5 h, quicker: {capacity: 80 Ah, over: 5 h}"),
        power("capacity: 100 Ah, rated_over: 10 h, quicker: {capacity: 80 Ah, over: 5 h}"),
    ),
    Case("B704", "hose", {HOSE: f"{HOSE}, in_frost: used"}, {HOSE: f"{HOSE}, in_frost: used, outdoors: true"}),
    Case("B704", "hose", {HOSE: f"{HOSE}, heated: 20 W"}, {HOSE: f"{HOSE}, heated: 20 W, outdoors: true"}),
    Case("B705", "tap", hot("35 degC", "38 degC"), hot("60 degC", "38 degC")),
    Case(
        "B705",
        "tap",
        {TAP: f"{TAP}, mixed: 38 degC", ", heater]": "]", f"heaters: {{heater: {HEATER}}}\n": ""},
        {TAP: f"{TAP}, mixed: 38 degC"},
    ),
    Case("B706", "power", power("voltage: 12.8 V, least: 12.8 V"), power("voltage: 12.8 V, least: 12.7 V")),
    Case(
        "B707",
        "pump",
        {PUMP: PUMP.replace("board", "draws: 7 A, inrush: 6 A, board")},
        {PUMP: PUMP.replace("board", "draws: 7 A, inrush: 7 A, board")},
    ),
    Case("B707", "fridge", load("draws: 3 A, inrush: 2 A"), load("power: 40 W, inrush: 2 A")),
    Case("B708", "heater", {HEATER: HEATER.replace("}", ", keeps: 1 degC}")}, hot("60 degC", "38 degC")),
    Case("B708", "tap", hot("60 degC", "0.5 degC"), hot("60 degC", "2 degC")),
    Case("N203", "fridge", load("draws: 3 A, board: near_board"), load("draws: 3 A, board: far_board")),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_what_cannot_be_is_found_and_its_like_is_not(case: Case) -> None:
    """Figures that cannot be together end in a life, a time or a size that nobody gets."""
    assert case.code in told(case.broken, case.at)
    assert case.code not in told(case.near_miss)


@pytest.mark.parametrize(
    ("edits", "code"),
    [
        (load("draws: 3 A, wire: {length: 4 m, size: 14 AGW}"), "R116"),
        (load("draws: 3 A, wire: {length: 4 m, size: 40 AWG}"), "R117"),
        (load("draws: 3 A, wire: {length: 4 m, size: 2.5 mm}"), "R116"),
        (load("draws: 3 A, wire: {length: 4 m}"), "R114"),
        (load("draws: 3 A, daily: 25 h"), "R117"),
        (load("draws: 3 A, wire: {length: 4 m, size: 14 AWG, serves: safty}"), "R115"),
        ({GROUP: f"frost: {{air: 5 degC, lasts: 8 h}}\n{GROUP}"}, "R117"),
        ({HEATER: HEATER.replace("}", ", efficiency: 0 %}")}, "R117"),
    ],
)
def test_a_bad_figure_is_a_finding_with_its_place(edits: Edits, code: str) -> None:
    """A traceback in place of a line number is where a person stops describing the rig."""
    rig, findings, _ = read_rig(changed(edits), "sound.yaml")
    assert rig is None
    assert [(finding.code, finding.place.line > 1) for finding in findings] == [(code, True)]
