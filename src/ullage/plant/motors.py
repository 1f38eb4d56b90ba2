"""Motor valves on their way, and what they do without power.

A valve turns at an even speed over its stroke. Where the voltage does not suffice a motor stops
midway; a spring closes its valve by itself; a stored charge closes it once, if it was full.
"""

from __future__ import annotations

from math import floor, inf, log

from ullage.control.record import note
from ullage.hydraulics.fittings import EQUAL_PERCENTAGE, RANGEABILITY
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.codes import SPRING_CLOSED, SPRING_OPEN, STORED_CHARGE, VOLTAGE
from ullage.plant.contacts import passes
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.words import P_VALVE

CLOSED_END, OPEN_END = 0.0, 0.99
"""Openings at which the ends report. A ball is tight a little before its stop: openings count from there."""


@kernel
def opening_at(n: Integers, r: Reals, valve: int, when: float) -> float:
    """Opening of a valve's ball [0..1] at a time [s], without what seeps."""
    opening, turn = real(n, r, at.OPENING, valve), real(n, r, at.TURN, valve)
    if turn == 0.0:
        return opening
    return min(max(opening + turn * (when - real(n, r, at.SINCE, valve)), 0.0), 1.0)


@kernel
def set_openings(n: Integers, r: Reals, when: float) -> None:
    """Write the openings of all valves at a time [s] for the solver."""
    for valve in range(n[at.VALVES]):
        opening = opening_at(n, r, valve, when)
        seep = real(n, r, at.SEEP, valve)
        if seep > 0.0:
            opening = max(opening, seeping_opening(of(n, at.THROTTLE_KIND, valve), seep))
        r[n[at.THROTTLE] + of(n, at.VALVE_THROTTLE, valve)] = opening


@kernel
def seeping_opening(kind: int, part: float) -> float:
    """Opening at which a throttle passes a part of its full Kv."""
    if kind == EQUAL_PERCENTAGE:
        return log(1.0 + part * (RANGEABILITY - 1.0)) / log(RANGEABILITY)
    return part


@kernel
def next_arrival(n: Integers, r: Reals) -> float:
    """When the next valve reaches its end [s]; infinite when none moves."""
    soonest = inf
    for valve in range(n[at.VALVES]):
        soonest = min(soonest, real(n, r, at.ARRIVES, valve))
    return soonest


@kernel
def any_turns(n: Integers, r: Reals) -> int:
    """Whether a valve is on its way."""
    for valve in range(n[at.VALVES]):
        if real(n, r, at.TURN, valve) != 0.0:
            return 1
    return 0


@kernel
def powered(n: Integers, r: Reals, valve: int) -> int:
    """Whether the supply suffices for a valve's motor, and a float in its wire lets it pass."""
    if not passes(n, of(n, at.VALVE_FLOAT, valve), of(n, at.VALVE_FLOAT_MADE, valve)):
        return 0
    enough = real(n, r, at.SUPPLY, VOLTAGE) >= real(n, r, at.LEAST_VOLTAGE, valve)
    return 1 if of(n, at.POWERED, 0) and enough else 0


@kernel
def wanted_end(n: Integers, r: Reals, valve: int, when: float) -> int:
    """End that a valve strives for: 1 open, 0 closed, -1 none."""
    if not of(n, at.MOTORISED, valve) or of(n, at.VALVE_STUCK, valve):
        return -1
    if powered(n, r, valve):
        return 1 if of(n, at.VALVE_WELDED, valve) else of(n, at.VALVE_RELAY, of(n, at.CROSSED, valve))
    kind = of(n, at.WITHOUT_POWER, valve)
    if kind == SPRING_CLOSED:
        return 0
    if kind == SPRING_OPEN:
        return 1
    full_at = real(n, r, at.FULL_AT, valve)
    if kind == STORED_CHARGE and (full_at <= when or (full_at == inf and real(n, r, at.TURN, valve) < 0.0)):
        return 0
    return -1


@kernel
def drive_valves(n: Integers, r: Reals, records: Integers, when: float) -> int:
    """Set every valve on the way that it must now go; return how many changed their motion."""
    changed = 0
    for valve in range(n[at.VALVES]):
        end = wanted_end(n, r, valve, when)
        charge_stored(n, r, valve, when, end)
        opening = opening_at(n, r, valve, when)
        pace = 1.0 / (real(n, r, at.STROKE, valve) * real(n, r, at.SLOW, valve))
        turn = 0.0
        if end == 1 and opening < 1.0:
            turn = pace
        elif end == 0 and opening > 0.0:
            turn = -pace
        if turn != real(n, r, at.TURN, valve):
            set_out(n, r, records, valve, when, opening, turn)
            changed += 1
    return changed


@kernel
def charge_stored(n: Integers, r: Reals, valve: int, when: float, end: int) -> None:
    """Stored charge: filled anew from the moment the power is back, gone (infinite) once it drives."""
    if of(n, at.WITHOUT_POWER, valve) != STORED_CHARGE:
        return
    full_at = n[at.FULL_AT] + valve
    if powered(n, r, valve):
        if r[full_at] == inf:
            r[full_at] = when + real(n, r, at.CHARGE_TIME, valve)
    elif end == 0 or r[full_at] > when:
        r[full_at] = inf


@kernel
def set_out(n: Integers, r: Reals, records: Integers, valve: int, when: float, opening: float, turn: float) -> None:
    """Let a valve go on from here at a speed [1/s], and note it."""
    before = real(n, r, at.TURN, valve)
    r[n[at.OPENING] + valve], r[n[at.SINCE] + valve], r[n[at.TURN] + valve] = opening, when, turn
    if turn > 0.0:
        r[n[at.ARRIVES] + valve] = when + (1.0 - opening) / turn
    elif turn < 0.0:
        r[n[at.ARRIVES] + valve] = when - opening / turn
    else:
        r[n[at.ARRIVES] + valve] = inf
    if turn != 0.0:
        note(records, P_VALVE, valve, 3, int(floor(1000.0 * opening + 0.5)))
    elif before != 0.0 and 0.0 < opening < 1.0:
        note(records, P_VALVE, valve, 2, int(floor(1000.0 * opening + 0.5)))


@kernel
def arrive(n: Integers, r: Reals, records: Integers, when: float) -> int:
    """Stop the valves that have reached their ends by now; return how many."""
    arrived = 0
    for valve in range(n[at.VALVES]):
        if real(n, r, at.ARRIVES, valve) <= when:
            end = 1 if real(n, r, at.TURN, valve) > 0.0 else 0
            r[n[at.OPENING] + valve], r[n[at.SINCE] + valve] = float(end), when
            r[n[at.TURN] + valve], r[n[at.ARRIVES] + valve] = 0.0, inf
            note(records, P_VALVE, valve, end, 1000 * end)
            arrived += 1
    return arrived


@kernel
def motor_current(n: Integers, r: Reals) -> float:
    """What all motors on their way draw from the supply [A]; springs draw nothing."""
    current = 0.0
    for valve in range(n[at.VALVES]):
        if real(n, r, at.TURN, valve) != 0.0 and powered(n, r, valve):
            current += real(n, r, at.VALVE_DRAWS, valve)
    return current
