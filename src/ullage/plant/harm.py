"""What each fault does to the plant: the columns that are neutral in health, written anew at each edge.

Faults add up: where two befall one part, the worse figure counts or both apply.
"""

from __future__ import annotations

from ullage.control.record import note
from ullage.control.timers import NEVER_MS
from ullage.kernels import kernel
from ullage.plant import faults as f
from ullage.plant import layout as at
from ullage.plant.codes import SAG
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.words import P_FAULT


@kernel
def next_edge_ms(n: Integers, now_ms: int) -> int:
    """When the next fault begins or ends [ms], later than now."""
    soonest = NEVER_MS
    for row in range(n[at.FAULTS]):
        start, end = of(n, at.FAULT_START_MS, row), of(n, at.FAULT_END_MS, row)
        if start > now_ms:
            soonest = min(soonest, start)
        if end > now_ms:
            soonest = min(soonest, end)
    return soonest


@kernel
def inflict(n: Integers, r: Reals, records: Integers, now_ms: int) -> int:
    """Set what is wrong at a time [ms]; return how many faults have begun or ended."""
    edges = 0
    for row in range(n[at.FAULTS]):
        on = 1 if of(n, at.FAULT_START_MS, row) <= now_ms < of(n, at.FAULT_END_MS, row) else 0
        if on != of(n, at.FAULT_ON, row):
            n[n[at.FAULT_ON] + row] = on
            note(records, P_FAULT, row, on, of(n, at.FAULT_KIND, row))
            edges += 1
    if edges > 0:
        heal(n, r)
        for row in range(n[at.FAULTS]):
            if of(n, at.FAULT_ON, row):
                befall(n, r, row)
    return edges


@kernel
def _fill(n: Integers, column: int, length: int, number: int) -> None:
    for i in range(length):
        n[n[column] + i] = number


@kernel
def _fill_real(n: Integers, r: Reals, column: int, length: int, number: float) -> None:
    for i in range(length):
        r[n[column] + i] = number


@kernel
def heal(n: Integers, r: Reals) -> None:
    """Put every column that a fault writes back to health."""
    for signal in range(n[at.SIGNALS]):
        n[n[at.SWAPPED] + signal] = signal
    _fill(n, at.STUCK, n[at.SIGNALS], 0)
    _fill(n, at.DEAD, n[at.SIGNALS], 0)
    _fill(n, at.FORCED, n[at.SIGNALS], -1)
    _fill(n, at.FLOAT_HANGS, n[at.FLOATS], -1)
    _fill(n, at.FLOAT_BROKEN, n[at.FLOATS], 0)
    _fill_real(n, r, at.OFFSET_FAULT, n[at.SIGNALS], 0.0)
    _fill_real(n, r, at.NOISE_FAULT, n[at.SIGNALS], 0.0)
    for valve in range(n[at.VALVES]):
        n[n[at.CROSSED] + valve] = valve
    _fill(n, at.VALVE_STUCK, n[at.VALVES], 0)
    _fill(n, at.MUTE, n[at.VALVES], 0)
    _fill(n, at.VALVE_WELDED, n[at.VALVES], 0)
    _fill_real(n, r, at.SLOW, n[at.VALVES], 1.0)
    _fill_real(n, r, at.SEEP, n[at.VALVES], 0.0)
    _fill(n, at.PUMP_WELDED, n[at.PUMPS], 0)
    _fill(n, at.PUMP_FAILED, n[at.PUMPS], 0)
    _fill(n, at.RUNNING_ON, n[at.PUMPS], 0)
    _fill(n, at.LOST, n[at.BOARDS], 0)
    _fill(n, at.LATE_MS, n[at.BOARDS], 0)
    _fill(n, at.AGAIN_MS, n[at.BOARDS], 0)
    _fill(n, at.POWER_LOST, 1, 0)
    _fill(n, at.BROWN_OUT, 1, 0)
    _fill(n, at.CONTROLLER_GONE, 1, 0)
    _fill(n, at.LEAKING, n[at.LINKS], 0)
    _fill_real(n, r, at.LEAK, n[at.LINKS], 0.0)
    _fill_real(n, r, at.CLEAR, n[at.LINKS], 1.0)
    _fill_real(n, r, at.PRESSURE_INSTEAD, n[at.PORTS], -1.0)
    _fill_real(n, r, at.POUR, n[at.TANKS], 0.0)
    _fill_real(n, r, at.BURST, n[at.FIXTURES], 0.0)
    _fill_real(n, r, at.WIDTH, n[at.PORTS], 1.0)


@kernel
def befall(n: Integers, r: Reals, row: int) -> None:
    """Write one fault into the columns."""
    kind = of(n, at.FAULT_KIND, row)
    part, other, amount = of(n, at.FAULT_PART, row), of(n, at.FAULT_OTHER, row), real(n, r, at.FAULT_AMOUNT, row)
    if kind <= f.METER_JAMMED:
        _befall_source(n, r, kind, part, other, amount)
    elif kind <= f.VALVE_RELAY_WELDED:
        _befall_valve(n, r, kind, part, other, amount)
    elif kind <= f.CHECK_LEAKING:
        _befall_pump(n, r, kind, part, other, amount)
    elif kind <= f.OUTFALL_BACK_PRESSURE:
        _befall_port(n, r, kind, part, amount)
    elif kind <= f.SUPERVISOR_GONE:
        _befall_control(n, r, kind, part, amount)
    elif kind == f.VENT_BLOCKED:
        _narrow(n, r, of(n, at.VENT, part), amount)
        _narrow(n, r, of(n, at.SPILL, part), amount)
    elif kind == f.HOSE_BURST:
        r[n[at.BURST] + part] = max(real(n, r, at.BURST, part), amount)
    else:
        r[n[at.POUR] + part] += f.POUR_RATE


@kernel
def _befall_source(n: Integers, r: Reals, kind: int, signal: int, other: int, amount: float) -> None:
    if kind == f.SENDER_STUCK:
        n[n[at.STUCK] + signal] = 1
    elif kind == f.SENDER_OFFSET:
        r[n[at.OFFSET_FAULT] + signal] += amount
    elif kind == f.SENDER_NOISY:
        r[n[at.NOISE_FAULT] + signal] += amount
    elif kind == f.SENDER_DEAD:
        n[n[at.DEAD] + signal] = 1
    elif kind == f.SENDER_SWAPPED:
        n[n[at.SWAPPED] + signal], n[n[at.SWAPPED] + other] = other, signal
    elif kind == f.METER_JAMMED:
        n[n[at.FORCED] + signal] = 0
    else:
        _befall_float(n, kind, signal)


@kernel
def _befall_float(n: Integers, kind: int, row: int) -> None:
    """A float, as it sits in the wire of a coil and as it is read."""
    hangs = 1 if kind == f.FLOAT_STUCK_WET else 0
    if kind == f.FLOAT_WIRE_BROKEN:
        n[n[at.FLOAT_BROKEN] + row] = 1
    else:
        n[n[at.FLOAT_HANGS] + row] = hangs
    signal = of(n, at.FLOAT_SIGNAL, row)
    if signal >= 0:
        n[n[at.FORCED] + signal] = of(n, at.BROKEN_READS, signal) if kind == f.FLOAT_WIRE_BROKEN else hangs


@kernel
def _befall_valve(n: Integers, r: Reals, kind: int, valve: int, other: int, amount: float) -> None:
    if kind == f.VALVE_STUCK:
        n[n[at.VALVE_STUCK] + valve] = 1
    elif kind == f.VALVE_SLOW:
        r[n[at.SLOW] + valve] = max(real(n, r, at.SLOW, valve), amount)
    elif kind == f.VALVE_SEEPING:
        r[n[at.SEEP] + valve] = max(real(n, r, at.SEEP, valve), amount)
    elif kind == f.VALVE_NOT_CONFIRMING:
        n[n[at.MUTE] + valve] = 1
    elif kind == f.VALVES_CROSSED:
        n[n[at.CROSSED] + valve], n[n[at.CROSSED] + other] = other, valve
    else:
        n[n[at.VALVE_WELDED] + valve] = 1


@kernel
def _befall_pump(n: Integers, r: Reals, kind: int, part: int, barrier: int, amount: float) -> None:
    if kind == f.PUMP_RELAY_WELDED:
        n[n[at.PUMP_WELDED] + part] = 1
    elif kind == f.PUMP_FAILED:
        n[n[at.PUMP_FAILED] + part] = 1
    elif kind == f.PUMP_RUNNING_ON:
        n[n[at.RUNNING_ON] + part] = 1
    else:
        _leak(n, r, of(n, at.PUMP_LINK, part) if kind == f.PUMP_LEAKING_BACK else part, barrier, amount)


@kernel
def _leak(n: Integers, r: Reals, link: int, barrier: int, amount: float) -> None:
    """Let one of a line's one-way parts leak: water comes back where all of them do, as the tightest lets it."""
    leaking, leak = of(n, at.LEAKING, link), real(n, r, at.LEAK, link)
    if leaking & barrier:
        amount = max(leak, amount)
    elif leaking:
        amount = min(leak, amount)
    n[n[at.LEAKING] + link] = leaking | barrier
    r[n[at.LEAK] + link] = amount


@kernel
def _befall_port(n: Integers, r: Reals, kind: int, port: int, amount: float) -> None:
    if kind == f.WRONG_HOSE:
        r[n[at.WIDTH] + port] = amount
    elif kind == f.OUTFALL_BLOCKED:
        _narrow(n, r, of(n, at.PORT_LINK, port), amount)
    else:
        r[n[at.PRESSURE_INSTEAD] + port] = max(real(n, r, at.PRESSURE_INSTEAD, port), amount)


@kernel
def _narrow(n: Integers, r: Reals, link: int, clear: float) -> None:
    r[n[at.CLEAR] + link] = min(real(n, r, at.CLEAR, link), clear)


@kernel
def _befall_control(n: Integers, r: Reals, kind: int, board: int, amount: float) -> None:
    if kind == f.LINK_LOST:
        n[n[at.LOST] + board] = 1
    elif kind == f.LINK_DELAYED:
        n[n[at.LATE_MS] + board] = max(of(n, at.LATE_MS, board), int(1000.0 * amount))
    elif kind == f.LINK_DUPLICATED:
        n[n[at.AGAIN_MS] + board] = max(of(n, at.AGAIN_MS, board), int(1000.0 * amount))
    elif kind == f.POWER_LOST or kind == f.POWER_CUT_TWICE:
        n[n[at.POWER_LOST]] = 1
    elif kind == f.BROWN_OUT:
        sag = n[at.SUPPLY] + SAG
        r[sag] = min(r[sag], amount) if of(n, at.BROWN_OUT, 0) else amount
        n[n[at.BROWN_OUT]] = 1
    elif kind == f.SUPERVISOR_GONE:
        n[n[at.CONTROLLER_GONE]] = 1
