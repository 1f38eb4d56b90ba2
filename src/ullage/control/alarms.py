"""Alarms: the states of ISA-18.2 (IEC 62682), raised from the records of the law.

An interlock that trips, unless the rig says that it does so in ordinary use, a valve that
fails and a sequence that holds each raise an alarm. Alarms decide nothing; they are what a
person is shown, and are kept apart from the law.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

from ullage.control import codes
from ullage.control.program import Program
from ullage.control.record import Record

State = Literal["A", "B", "C", "D", "E", "F", "G", "H", "I"]
"""Letters of ISA-18.2 figure 5; their words are `WORDS`."""

WORDS: dict[State, str] = {
    "A": "normal",
    "B": "unacknowledged",
    "C": "acknowledged",
    "D": "returned to normal, unacknowledged",
    "E": "latched, unacknowledged",
    "F": "latched, acknowledged",
    "G": "shelved",
    "H": "suppressed by design",
    "I": "out of service",
}

Event = Literal[
    "occurs", "returns", "acknowledge", "reset", "shelve", "unshelve", "suppress", "unsuppress", "remove", "replace"
]
"""What can happen to an alarm: its condition, a person (acknowledge, reset, shelve, remove from
service, replace into it), the logic (suppress)."""

_NEXT: dict[tuple[State, Event], State] = {
    ("A", "occurs"): "B",
    ("B", "acknowledge"): "C",
    ("B", "returns"): "D",
    ("C", "returns"): "A",
    ("D", "acknowledge"): "A",
    ("D", "occurs"): "B",
    ("E", "acknowledge"): "F",
    ("E", "occurs"): "B",
    ("F", "reset"): "A",
    ("F", "occurs"): "B",
}
_LATCHED: dict[State, State] = {"B": "E", "C": "F"}
_ASIDE: dict[Event, State] = {"shelve": "G", "suppress": "H", "remove": "I"}
_BACK: dict[Event, State] = {"unshelve": "G", "unsuppress": "H", "replace": "I"}

FLOOD_MS = 600_000
"""The window in which the load of alarms on a person is counted [ms]: ten minutes."""

FLOOD = 10
"""More new alarms than this in the window are a flood (ISA-18.2 clause 16, from memory)."""


@dataclass(frozen=True, slots=True)
class Alarm:
    """One alarm.

    Attributes
    ----------
    source : str
        Name of the interlock, valve or sequence.
    latching : bool
        Whether it stays after its condition has returned, until a person resets it.
    state : State
    active : bool
        Whether its condition is there; kept also while shelved or suppressed.
    raised_ms, returned_ms : int or None
        When its condition last occurred and last returned [ms].
    times : int
        How often it occurred; while it is latched it has not gone, so that it cannot come anew.
    """

    source: str
    latching: bool = False
    state: State = "A"
    active: bool = False
    raised_ms: int | None = None
    returned_ms: int | None = None
    times: int = 0


def after(alarm: Alarm, event: Event, now_ms: int) -> Alarm:
    """The alarm after an event; an event that its state does not know changes nothing.

    Shelved and suppressed alarms go on being evaluated and come back as what their condition
    then is; one that is out of service is not evaluated, and comes back as normal.
    """
    if event in ("occurs", "returns") and alarm.state != "I":
        occurs = event == "occurs"
        if occurs == alarm.active:
            return alarm
        alarm = replace(
            alarm,
            active=occurs,
            raised_ms=now_ms if occurs else alarm.raised_ms,
            returned_ms=alarm.returned_ms if occurs else now_ms,
            times=alarm.times + (occurs and alarm.state not in ("E", "F")),
        )
    if event in _ASIDE:
        kept = alarm.active and event != "remove"
        return replace(alarm, state=_ASIDE[event], active=kept) if alarm.state not in "GHI" else alarm
    if event in _BACK:
        back: State = "B" if alarm.active else "A"
        return replace(alarm, state=back) if alarm.state == _BACK[event] else alarm
    if event == "returns" and alarm.latching and alarm.state in _LATCHED:
        return replace(alarm, state=_LATCHED[alarm.state])
    return replace(alarm, state=_NEXT.get((alarm.state, event), alarm.state))


def alarms_of(program: Program, records: Iterable[Record]) -> tuple[Alarm, ...]:
    """The alarms that the records of a run raise, in the order in which they first occurred."""
    alarms: dict[str, Alarm] = {}
    for record in records:
        for source, latching, event in _events(program, record):
            alarm = alarms.get(source, Alarm(source, latching))
            alarms[source] = after(alarm, event, record.now_ms)
    return tuple(sorted((a for a in alarms.values() if a.times), key=lambda a: (a.raised_ms or 0, a.source)))


def _events(program: Program, record: Record) -> Iterable[tuple[str, bool, Event]]:
    names, row, value = program.names, record.row, record.value
    if record.kind == codes.R_INTERLOCK and names.alarming[row]:
        latching = bool(program.tables.interlock_latch[row])
        yield names.interlocks[row], latching, "occurs" if value == codes.TRIPPED else "returns"
        if value == codes.CLEAR:
            yield names.interlocks[row], latching, "reset"
    elif record.kind == codes.R_POSITION:
        yield names.valves[row], False, "occurs" if value == codes.FAILED else "returns"
    elif record.kind == codes.R_STATE and record.detail != codes.BY_COMMAND:
        held = value in (codes.HOLDING, codes.HELD)
        yield names.sequences[row], False, "occurs" if held else "returns"


def busiest(records: Iterable[Record], program: Program) -> int:
    """The most new alarms in any ten minutes of a run: more than `FLOOD` is a flood."""
    starts: list[int] = []
    active: dict[str, bool] = {}
    for record in records:
        for source, latching, event in _events(program, record):
            if event == "occurs" and not active.get(source):
                starts.append(record.now_ms)
            if event == "occurs" or event == ("reset" if latching else "returns"):
                active[source] = event == "occurs"
    return max((sum(start <= other < start + FLOOD_MS for other in starts) for start in starts), default=0)
