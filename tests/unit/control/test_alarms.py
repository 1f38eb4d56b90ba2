"""Alarm states: SEQ-03 (OPC UA Part 9 clause 4.8, mirroring ISA-18.2) and SEQ-23 (ISA-18.2-2016 figure 5)."""

from __future__ import annotations

import pytest

from tests.unit.control.desk import Desk
from ullage.control.alarms import FLOOD, Alarm, Event, after, alarms_of, busiest
from ullage.control.codes import CLEAR, LATCHED, R_INTERLOCK, TRIPPED
from ullage.control.record import Record


def passed(events: str, latching: bool = False) -> str:
    """States that an alarm goes through, beginning with normal."""
    alarm, seen = Alarm("high", latching), "A"
    for word in events.split():
        event: Event = word  # type: ignore[assignment]
        alarm = after(alarm, event, 0)
        seen += alarm.state
    return seen


@pytest.mark.parametrize(
    ("row", "events", "latching", "states"),
    [
        ("SEQ-23", "occurs acknowledge returns", False, "ABCA"),
        ("SEQ-23", "occurs returns acknowledge", False, "ABDA"),
        ("SEQ-23", "occurs returns occurs", False, "ABDB"),
        ("SEQ-03, SEQ-23", "occurs returns acknowledge reset", True, "ABEFA"),
        ("SEQ-03, SEQ-23", "occurs acknowledge returns reset", True, "ABCFA"),
        ("SEQ-23", "occurs returns occurs reset", True, "ABEBB"),
        ("SEQ-03", "occurs reset acknowledge reset", True, "ABBCC"),
        ("SEQ-03", "occurs shelve returns unshelve", False, "ABGGA"),
        ("SEQ-03", "shelve occurs unshelve", False, "AGGB"),
        ("SEQ-03", "suppress occurs unsuppress", False, "AHHB"),
        ("SEQ-03", "remove occurs replace", False, "AIIA"),
        ("SEQ-23", "remove unshelve", False, "AII"),
    ],
)
def test_states(row: str, events: str, latching: bool, states: str) -> None:
    """An alarm that clears by itself, or a shelved one that forgets, hides what a person must know."""
    assert passed(events, latching) == states, row


def test_an_interlock_raises_one_latched_alarm() -> None:
    """The story of a run must say what tripped, and that nobody has looked at it yet."""
    desk = Desk(
        """
sequences: {run: {steps: {one: initial, end: final}, transitions: [one -> end when a]}}
interlocks: {high: {when: c, drive: {inlet: closed}, latch: true, why: the brim is near}}
"""
    )
    desk.scan(c=1)
    desk.scan(c=0)
    (alarm,) = alarms_of(desk.program, desk.records)
    assert (alarm.source, alarm.state, alarm.times) == ("high", "E", 1)
    assert (alarm.raised_ms, alarm.returned_ms) == (500, 1000)


def test_a_float_that_flickers_is_one_alarm() -> None:
    """Waves under a float would count as ten alarms, and a person looks for nine that are none."""
    high = "interlocks: {high: {when: c, drive: {inlet: closed}, latch: true, why: the brim is near}}"
    desk = Desk("sequences: {run: {steps: {one: initial, end: final}, transitions: [one -> end when a]}}\n" + high)
    for c in (1, 0) * 12:
        desk.scan(c=c)
    (alarm,) = alarms_of(desk.program, desk.records)
    assert (alarm.state, alarm.times) == ("E", 1)
    assert busiest(desk.records, desk.program) == 1


def test_an_interlock_of_ordinary_use_calls_nobody() -> None:
    """A lock that acts at every emptying teaches a person to look away from alarms."""
    desk = Desk(
        """
sequences: {run: {steps: {one: initial, end: final}, transitions: [one -> end when a]}}
interlocks: {apart: {when: c, drive: {inlet: closed}, alarm: false, why: two hoses are never open at once}}
"""
    )
    desk.scan(c=1)
    assert any(record.kind == R_INTERLOCK for record in desk.records), "it is told"
    assert alarms_of(desk.program, desk.records) == ()
    assert busiest(desk.records, desk.program) == 0


def test_a_hold_that_nobody_asked_for_is_an_alarm() -> None:
    """A fill that stands still for want of a reading must not look like one that a person holds."""
    body = """
sequences: {run: {steps: {one: initial, on: {demand: {inlet: open}}, end: final},
                  transitions: [one -> on, on -> end when level > 50 %]}}
"""
    blind, asked = Desk(body), Desk(body)
    for desk in (blind, asked):
        desk.start()
        desk.scan()
    blind.age["level"] = 9000
    blind.scan()
    asked.scan("hold")
    assert [alarm.source for alarm in alarms_of(blind.program, blind.records)] == ["run"]
    assert alarms_of(asked.program, asked.records) == ()


def test_seq_26_a_flood_is_counted() -> None:
    """SEQ-26 (from memory): more than ten new alarms in ten minutes are too many for one person."""
    desk = Desk(
        """
sequences: {run: {steps: {one: initial, end: final}, transitions: [one -> end when a]}}
interlocks: {high: {when: c, drive: {inlet: closed}, why: the brim is near}}
"""
    )
    calm = [Record(i * 700_000 + k, R_INTERLOCK, 0, (TRIPPED, CLEAR)[k], 0) for i in range(20) for k in (0, 1)]
    storm = [Record(i * 50_000 + k, R_INTERLOCK, 0, (TRIPPED, CLEAR)[k], 0) for i in range(20) for k in (0, 1)]
    assert busiest(calm, desk.program) == 1
    assert busiest(storm, desk.program) == 12 > FLOOD
    assert busiest([Record(0, R_INTERLOCK, 0, LATCHED, 0)], desk.program) == 0
