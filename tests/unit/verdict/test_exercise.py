"""How a fault shows when every sequence is started in turn."""

from __future__ import annotations

from tests.shipped import marram
from ullage.plant.faults import read_fault
from ullage.verdict.exercise import Noticed, exercise, noticed


def shown(words: str) -> Noticed:
    """How a fault of Marram shows."""
    examined = marram()
    assert examined.rig is not None
    assert examined.program is not None
    health, faulty = exercise(examined), exercise(examined, [read_fault(examined.rig, words)])
    assert health.completed == {name for name, part in examined.rig.sequences.items() if part.begins is None}
    assert not health.alarms
    return noticed(faulty, health, examined.program)


def test_a_dead_sender_and_a_silent_meter() -> None:
    """What an alarm tells is mended; what nothing tells of waits for the second fault."""
    dead = shown("belly_level dead")
    assert "belly_high" in dead.interlocks
    assert "fill" in dead.hindered
    assert dead.anything
    assert not shown("house_meter jammed").anything


def test_a_valve_that_does_not_confirm_is_told_by_name() -> None:
    """'Something is wrong with the waste' sends a person under the wrong axle."""
    assert "gray_dump" in shown("gray_dump not confirming").valves


def test_lost_power_is_noticed() -> None:
    """A rig in the dark raises no alarm, and nobody needs one."""
    assert shown("power lost").dark
