"""Action qualifiers by the timing rows SEQ-13 to SEQ-21 (IEC 61131-3 action control; from third-party restatements).

A scan is 0.5 s, so the rows' ``T#2`` is four scans; ``#`` is lit, ``.`` dark.
"""

from __future__ import annotations

import pytest

from tests.unit.control.desk import Desk

CHART = """
sequences:
  run:
    steps:
      one: initial
      two: {{actions: [{{demand: {{red: lit}}, as: {qualifier}{time}}}]}}
      three: {{}}
      four: {{actions: [{{demand: {{red: lit}}, as: R}}]}}
      end: final
    transitions:
      - one -> two when a
      - two -> three when b
      - three -> four when c
      - four -> end when (a) and (b)
"""


def played(qualifier: str, time: str, active_scans: int, then: int = 8) -> str:
    """The lamp from the activation of step two, which lasts so many scans."""
    desk = Desk(CHART.format(qualifier=qualifier, time=f", time: {time}" if time else ""))
    desk.start()
    desk.scan(a=1)
    assert desk.active() == {"two"}
    seen = desk.lit(active_scans - 1)
    desk.raw["b"] = 1
    return seen + desk.lit(then + 1)


@pytest.mark.parametrize(
    ("row", "qualifier", "time", "active", "lit"),
    [
        ("SEQ-13", "N", "", 10, "##########......"),
        ("SEQ-15", "L", "2 s", 10, "####............"),
        ("SEQ-15", "L", "2 s", 2, "##.............."),
        ("SEQ-16", "D", "2 s", 10, "....######......"),
        ("SEQ-16", "D", "2 s", 2, "................"),
        ("SEQ-17", "P", "", 5, "#..............."),
        ("SEQ-17", "P1", "", 5, "#..............."),
        ("SEQ-17", "P0", "", 5, ".....#.........."),
        ("SEQ-14", "S", "", 2, "################"),
        ("SEQ-18", "SD", "2 s", 2, "....############"),
        ("SEQ-19", "DS", "2 s", 2, "................"),
        ("SEQ-19", "DS", "2 s", 10, "....############"),
        ("SEQ-20", "SL", "2 s", 2, "####............"),
    ],
)
def test_qualifier(row: str, qualifier: str, time: str, active: int, lit: str) -> None:
    """An action that lasts a moment too long is water on the floor; too short, a valve half open."""
    assert played(qualifier, time, active, len(lit) - active) == lit, row


@pytest.mark.parametrize("qualifier", ["S", "SD, time: 1 s", "DS, time: 1 s"])
def test_seq_14_reset_overrides(qualifier: str) -> None:
    """SEQ-14, SEQ-18, SEQ-19: what is stored must end when a step resets it, and not come back."""
    desk = Desk(CHART.format(qualifier=qualifier, time=""))
    desk.start()
    desk.scan(a=1)
    desk.scans(4)
    desk.scan(b=1)
    desk.scans(2)
    assert desk.demand("red") == "lit"
    desk.scan(a=0, c=1)
    assert desk.active() == {"four"}
    assert desk.lit(6) == "......"


def test_seq_21_no_final_scan() -> None:
    """SEQ-21: this law has no final scan; an action of a step that was left is off in the same scan."""
    desk = Desk(CHART.format(qualifier="N", time=""))
    desk.start()
    desk.scan(a=1)
    desk.scan(b=1)
    assert desk.active() == {"three"}
    assert desk.demand("red") == "dark"


def test_stored_actions_end_with_the_sequence() -> None:
    """A stored action must not outlive its sequence: nobody would be left to end it."""
    desk = Desk(CHART.format(qualifier="S", time=""))
    desk.start()
    desk.scan(a=1)
    desk.scan("stop")
    desk.scans(4)
    assert desk.doing() == "stopped"
    assert desk.demand("red") == "dark"


def test_opposite_wishes_give_the_safe_demand() -> None:
    """Two sequences at odds over a valve must leave it shut, not as the later one says."""
    body = """
sequences:
  run: {steps: {one: initial, on: {demand: {inlet: open}}, end: final}, transitions: [one -> on, on -> end when c]}
  other: {steps: {one: initial, on: {demand: {inlet: closed}}, end: final}, transitions: [one -> on, on -> end when c]}
"""
    desk = Desk(body)
    desk.start()
    desk.scan()
    assert desk.demand("inlet") == "open"
    desk.scan("start", "other")
    desk.scan()
    assert desk.demand("inlet") == "closed"
    desk.scans(4)
    assert desk.doing() in ("holding", "held")
