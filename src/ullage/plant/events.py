"""What changes at once: pumps start and stop, valves arrive, openings come out of the water.

After any change the plant is *settled*: supply, motors, pumps, ports and taps are set from what
now stands, all flows are found, and pressure switches that this moves are moved, until nothing
changes any more.
"""

from __future__ import annotations

from math import ceil, inf

from ullage.control.record import note
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.codes import (
    AT_CUSHION,
    AT_MARK,
    AT_SWITCH,
    CALM,
    CHANGED,
    CHARGE,
    CURRENT,
    END,
    FILM,
    FULL_CHARGE,
    FULL_VOLTAGE,
    MARK_BRIM,
    MARK_EMPTY,
    MARK_OPENING,
    METRE,
    RESISTANCE,
    SAG,
    START,
    STEP,
    VOLTAGE,
)
from ullage.plant.contacts import feel, passes
from ullage.plant.flow import STILL_FLOW, commit, cut, plan, switch_wish
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.motors import arrive, drive_valves, motor_current, next_arrival
from ullage.plant.pipes import Pipes, lay, rates
from ullage.plant.prime import COVERED, breathe, next_breath, watch_prime
from ullage.plant.words import (
    P_BRIM,
    P_CUSHION,
    P_INDOORS,
    P_OVERFLOW,
    P_PUMP,
    P_SWITCH,
    P_TANK_EMPTY,
    P_UNCOVERED,
)

STEP_FIRST = 2.0
"""Step to try after something changed [s]."""

SETTLINGS = 8
"""After so many rounds the plant is taken as it is; what still wants to move does so after its rest."""

SWITCH_REST = 0.25
"""A pressure switch that has moved does not move again for this long [s]: common practice, no source."""

EMPTY_BATTERY = 0.06
"""Part of its voltage that a battery at rest loses from full to empty: lead-acid, common practice, no source."""

PUMP_LEAST = 0.4
"""Below this part of its voltage a pump stands still: common practice, no source."""

DRY_CURRENT = 0.5
"""A pump that runs dry draws this part of its current: common practice, no source."""

STIRRING = 2e-5
"""A change of flow into or out of a tank that makes waves [m3/s]."""

EVENTS_LIMIT = 10_000_000
"""More events than this in one call are our own fault."""


@kernel
def stamp(n: Integers, r: Reals, records: Integers) -> None:
    """Note what follows at the first whole millisecond not before the start of the segment."""
    records[0] = int(ceil(real(n, r, at.TIME, START) * 1000.0 - 1e-6))


@kernel
def change(pipes: Pipes, n: Integers, r: Reals, records: Integers, when: float) -> None:
    """Bring the plant to a time within its segment [s], where something is about to change."""
    cut(pipes, n, r, when)
    commit(n, r)
    r[n[at.TIME] + CHANGED] = 1.0
    stamp(n, r, records)


@kernel
def advance(pipes: Pipes, n: Integers, r: Reals, records: Integers, when: float, until: float) -> None:
    """Bring the plant so far that its segment holds a time, doing all that happens up to it.

    Parameters
    ----------
    pipes : Pipes
    n, r : columns
        The plant.
    records : column
        Where what happens is noted.
    when : float
        Time [s], not before the start of the segment.
    until : float
        What is known to stay unchanged stays so up to here [s], not before ``when``.
    """
    time = n[at.TIME]
    for _ in range(EVENTS_LIMIT):
        if r[time + CHANGED] > 0.0:
            settle(pipes, n, r, records)
        elif r[time + END] > when or r[time + START] >= until:
            return
        else:
            commit(n, r)
            stamp(n, r, records)
            happen(n, r, records)
        if r[time + CHANGED] == 0.0:
            plan(pipes, n, r, min(until, min(next_arrival(n, r), min(next_rest(n, r), next_breath(n, r)))))


@kernel
def next_rest(n: Integers, r: Reals) -> float:
    """When the next pressure switch may move again [s]."""
    soonest = inf
    for pump in range(n[at.PUMPS]):
        if real(n, r, at.RESTS_UNTIL, pump) > real(n, r, at.TIME, START):
            soonest = min(soonest, real(n, r, at.RESTS_UNTIL, pump))
    return soonest


@kernel
def happen(n: Integers, r: Reals, records: Integers) -> None:
    """Do what the end of the segment brought."""
    when = real(n, r, at.TIME, START)
    changed = arrive(n, r, records, when)
    changed += 1 if next_breath(n, r) <= when else 0
    for pump in range(n[at.PUMPS]):
        if 0.0 < real(n, r, at.RESTS_UNTIL, pump) <= when:
            r[n[at.RESTS_UNTIL] + pump] = 0.0
            changed += 1 if switch_wish(n, r, pump, n[at.HEAD]) >= 0 else 0
    kind, row = of(n, at.EVENT, 0), of(n, at.EVENT, 1)
    if kind == AT_MARK:
        _reach(n, r, records, row)
    elif kind == AT_CUSHION:
        note(records, P_CUSHION, row, 0, 0)
    if changed > 0 or kind == AT_MARK or kind == AT_CUSHION or kind == AT_SWITCH:
        r[n[at.TIME] + CHANGED] = 1.0


@kernel
def _reach(n: Integers, r: Reals, records: Integers, mark: int) -> None:
    """Note that a tank has reached one of its marked volumes."""
    tank = 0
    for run in range(n[at.TANKS] * n[at.STANDS]):
        if of(n, at.MARK_FIRST, run) <= mark < of(n, at.MARK_FIRST, run + 1):
            tank = run // n[at.STANDS]
    rising = 1 if real(n, r, at.RATE, tank) > 0.0 else 0
    kind = of(n, at.MARK_KIND, mark)
    if kind == MARK_EMPTY:
        note(records, P_TANK_EMPTY, tank, 1 - rising, 0)
    elif kind == MARK_OPENING:
        note(records, P_UNCOVERED, of(n, at.MARK_ROW, mark), 1 - rising, tank)
    elif kind == MARK_BRIM:
        note(records, P_BRIM, tank, rising, 0)


@kernel
def settle(pipes: Pipes, n: Integers, r: Reals, records: Integers) -> None:
    """Find the plant's flows anew after a change at the start of the segment, and what follows at once."""
    time = n[at.TIME]
    when = r[time + START]
    stamp(n, r, records)
    breathe(n, r, when)
    for _ in range(SETTLINGS):
        _set_supply(n, r)
        moved = feel(n, r, records) + drive_valves(n, r, records, when)
        moved += _set_pumps(n, r, records)
        lay(pipes, n, r)
        rates(pipes, n, r, when, n[at.VOLUME], n[at.HEAD], n[at.FLOW], n[at.RATE])
        moved += watch_prime(pipes, n, r, records, when)
        moved += _move_switches(n, r, records, when)
        if moved == 0:
            break
    _watch_tanks(n, r, records)
    for tank in range(n[at.TANKS]):
        if abs(real(n, r, at.RATE, tank) - real(n, r, at.RATE_END, tank)) > STIRRING:
            r[n[at.STIRRED] + tank] = when
    r[time + END], r[time + STEP], r[time + CHANGED] = when, STEP_FIRST, 0.0
    n[n[at.LOOP] + CALM] = 0


@kernel
def _set_supply(n: Integers, r: Reals) -> None:
    """Voltage under the present load: a battery that sags with charge and current [V]."""
    supply = n[at.SUPPLY]
    current = motor_current(n, r)
    for pump in range(n[at.PUMPS]):
        if of(n, at.TURNING, pump):
            current += real(n, r, at.PUMP_DRAWS, pump) * (DRY_CURRENT if of(n, at.DRY, pump) else 1.0)
    n[n[at.POWERED]] = 0 if of(n, at.POWER_LOST, 0) else 1
    full = min(max(r[supply + CHARGE] / r[supply + FULL_CHARGE], 0.0), 1.0)
    voltage = r[supply + FULL_VOLTAGE] * (1.0 - EMPTY_BATTERY * (1.0 - full)) - r[supply + RESISTANCE] * current
    if of(n, at.BROWN_OUT, 0):
        voltage = min(voltage, r[supply + SAG])
    on = of(n, at.POWERED, 0)
    r[supply + CURRENT], r[supply + VOLTAGE] = (current, voltage) if on else (0.0, 0.0)


@kernel
def _set_pumps(n: Integers, r: Reals, records: Integers) -> int:
    """Turn pumps on and off; return how many changed."""
    changed = 0
    ratio = real(n, r, at.SUPPLY, VOLTAGE) / real(n, r, at.SUPPLY, FULL_VOLTAGE)
    for pump in range(n[at.PUMPS]):
        driven = of(n, at.PUMP_RELAY, pump) or of(n, at.PUMP_WELDED, pump)
        driven = driven and passes(n, of(n, at.PUMP_FLOAT, pump), of(n, at.PUMP_FLOAT_MADE, pump))
        made = of(n, at.CONTACTS, pump) or of(n, at.RUNNING_ON, pump)
        turns = 1 if driven and made and not of(n, at.PUMP_FAILED, pump) and ratio >= PUMP_LEAST else 0
        r[n[at.SPEED] + pump] = ratio if turns else 0.0
        if turns != of(n, at.TURNING, pump):
            n[n[at.TURNING] + pump] = turns
            note(records, P_PUMP, pump, turns, 0)
            changed += 1
    return changed


@kernel
def _move_switches(n: Integers, r: Reals, records: Integers, when: float) -> int:
    """Move the pressure switches that want to and may; return how many moved."""
    moved = 0
    for pump in range(n[at.PUMPS]):
        wish = switch_wish(n, r, pump, n[at.HEAD])
        if wish >= 0 and real(n, r, at.RESTS_UNTIL, pump) <= when:
            n[n[at.CONTACTS] + pump] = wish
            r[n[at.RESTS_UNTIL] + pump] = when + SWITCH_REST
            node = of(n, at.PUMP_OUTLET, pump)
            gauge = real(n, r, at.HEAD, node) - real(n, r, at.ELEVATION, of(n, at.STAND, 0) * n[at.NODES] + node)
            note(records, P_SWITCH, pump, wish, int(gauge * real(n, r, at.WHOLE, METRE)))
            moved += 1
    return moved


@kernel
def _watch_tanks(n: Integers, r: Reals, records: Integers) -> None:
    """Note overflows and water indoors that begin or cease: with its feed, an overflow ends at a film over its rim."""
    tanks, links, wet = n[at.TANKS], n[at.LINKS], n[at.WET]
    for tank in range(tanks):
        link = of(n, at.OVERFLOW, tank)
        over, spilled = 0, 0.0
        if link >= 0:
            spilled = real(n, r, at.THROUGH, link)
            sill = real(n, r, at.START_SILL, of(n, at.STAND, 0) * links + link)
            deep = real(n, r, at.HEAD, of(n, at.FACE, tank)) - sill
            fed = real(n, r, at.RATE, tank) + real(n, r, at.FLOW, link) > STILL_FLOW
            over = 1 if deep > FILM + COVERED or (deep > -COVERED and fed) else 0
        if over != n[wet + tank]:
            n[wet + tank] = over
            note(records, P_OVERFLOW, tank, over, int(1e6 * spilled))
        backed = links + tanks + tank
        inside = 1 if real(n, r, at.FLOW, backed) > 0.0 or (over and of(n, at.SPILLS_INDOORS, tank)) else 0
        if inside != n[wet + tanks + tank]:
            n[wet + tanks + tank] = inside
            so_far = real(n, r, at.THROUGH, backed) + (spilled if of(n, at.SPILLS_INDOORS, tank) else 0.0)
            note(records, P_INDOORS, tank, inside, int(1e6 * so_far))
