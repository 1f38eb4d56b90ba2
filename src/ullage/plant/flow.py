"""Water on the move: from rates of flow to volumes, step by step, with the events in between.

Bogacki and Shampine's pair of orders 2 and 3 (1989), its last stage the first of the next step.
A *segment* is one accepted step; inside it volumes follow the cubic through both ends and their
rates, so that a reading between the ends costs nothing, and it may be cut short at any time.
Where nothing moves, a segment is as long as it may be.
"""

from __future__ import annotations

from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.codes import (
    AT_CUSHION,
    AT_MARK,
    AT_SWITCH,
    CHARGE,
    CURRENT,
    END,
    ERROR,
    NO_EVENT,
    START,
    STEP,
)
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.motors import any_turns
from ullage.plant.pipes import Pipes, rates

STILL_FLOW = 1e-10
"""A flow into or out of a vessel that is less is none [m3/s]: 9 mL a day."""

SHRINK, GROW, SAFETY = 0.2, 5.0, 0.9
"""Bounds of a step over the step before, and the part of the ideal step that is tried."""

ATTEMPTS = 40
"""A step is shortened at most so often; the last one is taken as it is."""

LEAST_STEP = 1e-4
"""No step is tried that is shorter [s]."""

SWITCH_CLOSE = 0.005
"""A pressure switch is found to this head [m]."""

SEARCHES = 30
"""Tries of a search for the time at which a pressure switch moves."""

HALVINGS = 50
"""Halvings of a search for the time at which a volume is reached."""

NEVER = 2.0
"""Part of a segment that is none: it does not happen in it."""


@kernel
def copy(r: Reals, source: int, goal: int, length: int) -> None:
    """Copy a column."""
    for i in range(length):
        r[goal + i] = r[source + i]


@kernel
def _try(n: Integers, r: Reals, step: float, one: float, two: float, three: float) -> None:
    """Volumes of a stage: the start plus the step times the weighted rates so far."""
    for vessel in range(n[at.VESSELS]):
        slope = one * real(n, r, at.RATE, vessel) + two * real(n, r, at.RATE_HALF, vessel)
        slope += three * real(n, r, at.RATE_LATE, vessel)
        r[n[at.TRIED] + vessel] = real(n, r, at.VOLUME, vessel) + step * slope


@kernel
def _take_step(pipes: Pipes, n: Integers, r: Reals, step: float) -> float:
    """Take one step from the start of the segment; return its error over the allowed one."""
    start, rows, head = real(n, r, at.TIME, START), n[at.ROWS], n[at.HEAD_END]
    copy(r, n[at.FLOW], n[at.FLOW_HALF], rows)
    copy(r, n[at.HEAD], head, n[at.NODES])
    _try(n, r, step, 0.5, 0.0, 0.0)
    rates(pipes, n, r, start + 0.5 * step, n[at.TRIED], head, n[at.FLOW_HALF], n[at.RATE_HALF])
    copy(r, n[at.FLOW_HALF], n[at.FLOW_LATE], rows)
    _try(n, r, step, 0.0, 0.75, 0.0)
    rates(pipes, n, r, start + 0.75 * step, n[at.TRIED], head, n[at.FLOW_LATE], n[at.RATE_LATE])
    copy(r, n[at.FLOW_LATE], n[at.FLOW_END], rows)
    _try(n, r, step, 2.0 / 9.0, 3.0 / 9.0, 4.0 / 9.0)
    copy(r, n[at.TRIED], n[at.VOLUME_END], n[at.VESSELS])
    rates(pipes, n, r, start + step, n[at.VOLUME_END], head, n[at.FLOW_END], n[at.RATE_END])
    worst = 0.0
    for v in range(n[at.VESSELS]):
        slope = real(n, r, at.RATE_HALF, v) / 12.0 + real(n, r, at.RATE_LATE, v) / 9.0
        slope -= 5.0 * real(n, r, at.RATE, v) / 72.0 + real(n, r, at.RATE_END, v) / 8.0
        worst = max(worst, abs(step * slope) / real(n, r, at.LOOSENESS, v))
    for row in range(rows):
        flow = 2.0 * real(n, r, at.FLOW, row) + 3.0 * real(n, r, at.FLOW_HALF, row)
        r[n[at.GAIN] + row] = step * (flow + 4.0 * real(n, r, at.FLOW_LATE, row)) / 9.0
    return worst / real(n, r, at.WHOLE, ERROR)


@kernel
def plan(pipes: Pipes, n: Integers, r: Reals, until: float) -> None:
    """Work out the next segment: one step, no further than ``until`` [s] and the first event in it.

    Flows, heads and rates at its start must be those of its volumes (see `ullage.plant.events`).
    """
    time = n[at.TIME]
    n[n[at.EVENT]], n[n[at.EVENT] + 1] = NO_EVENT, -1
    span = until - r[time + START]
    if span <= 0.0 or is_still(n, r):
        stand_still(n, r, max(until, r[time + START]))
        return
    step = min(r[time + STEP], span)
    wish = GROW
    for _ in range(ATTEMPTS):
        worst = _take_step(pipes, n, r, step)
        wish = GROW if worst <= 0.0 else min(GROW, max(SHRINK, SAFETY * worst ** (-1.0 / 3.0)))
        if worst <= 1.0 or step <= LEAST_STEP:
            break
        step = max(step * min(wish, SAFETY), LEAST_STEP)
    r[time + END] = r[time + START] + step
    r[time + STEP] = step * wish if step < span else max(step * wish, r[time + STEP])
    find_event(pipes, n, r)


@kernel
def touches(n: Integers, row: int) -> int:
    """Whether a row of the ledger draws from a vessel or leads to one."""
    return 1 if of(n, at.DRAWN_FROM, row) >= 0 or of(n, at.LED_TO, row) >= 0 else 0


@kernel
def is_still(n: Integers, r: Reals) -> int:
    """Whether no vessel gains or loses anything and no valve is on its way."""
    for row in range(n[at.ROWS]):
        if abs(real(n, r, at.FLOW, row)) > STILL_FLOW and touches(n, row):
            return 0
    return 1 - any_turns(n, r)


@kernel
def stand_still(n: Integers, r: Reals, until: float) -> None:
    """A segment over which all flows stay as they are and no vessel changes."""
    span = until - real(n, r, at.TIME, START)
    r[n[at.TIME] + END] = until
    copy(r, n[at.VOLUME], n[at.VOLUME_END], n[at.VESSELS])
    copy(r, n[at.RATE], n[at.RATE_END], n[at.VESSELS])
    copy(r, n[at.FLOW], n[at.FLOW_END], n[at.ROWS])
    copy(r, n[at.HEAD], n[at.HEAD_END], n[at.NODES])
    for row in range(n[at.ROWS]):
        r[n[at.GAIN] + row] = 0.0 if touches(n, row) else span * real(n, r, at.FLOW, row)


@kernel
def bent(part: float, span: float, change: float, first: float, last: float) -> float:
    """Change since the start at a part 0..1 of a segment: the cubic through both ends and their rates."""
    square = 3.0 * change - span * (2.0 * first + last)
    cube = span * (first + last) - 2.0 * change
    return part * (span * first + part * (square + part * cube))


@kernel
def part_at(n: Integers, r: Reals, when: float) -> float:
    """Part of the segment, 0..1, that has passed at a time [s]."""
    start, end = real(n, r, at.TIME, START), real(n, r, at.TIME, END)
    if end <= start:
        return 0.0
    return min(max((when - start) / (end - start), 0.0), 1.0)


@kernel
def volume_at(n: Integers, r: Reals, vessel: int, when: float) -> float:
    """Volume of a vessel [m3] at a time within the segment [s]."""
    span = real(n, r, at.TIME, END) - real(n, r, at.TIME, START)
    start = real(n, r, at.VOLUME, vessel)
    change = real(n, r, at.VOLUME_END, vessel) - start
    first, last = real(n, r, at.RATE, vessel), real(n, r, at.RATE_END, vessel)
    return start + bent(part_at(n, r, when), span, change, first, last)


@kernel
def flow_at(n: Integers, r: Reals, row: int, when: float) -> float:
    """Flow of a row of the ledger [m3/s] at a time within the segment [s], on a straight line."""
    start = real(n, r, at.FLOW, row)
    return start + (real(n, r, at.FLOW_END, row) - start) * part_at(n, r, when)


@kernel
def head_at(n: Integers, r: Reals, node: int, when: float) -> float:
    """Head of a node [m] at a time within the segment [s], on a straight line."""
    start = real(n, r, at.HEAD, node)
    return start + (real(n, r, at.HEAD_END, node) - start) * part_at(n, r, when)


@kernel
def cut(pipes: Pipes, n: Integers, r: Reals, when: float) -> None:
    """End the segment at a time within it [s]; the event at its old end is then none of it."""
    end = real(n, r, at.TIME, END)
    if when >= end:
        return
    span = end - real(n, r, at.TIME, START)
    part = part_at(n, r, when)
    for row in range(n[at.ROWS]):
        gain = n[at.GAIN] + row
        r[gain] = bent(part, span, r[gain], real(n, r, at.FLOW, row), real(n, r, at.FLOW_END, row))
    for vessel in range(n[at.VESSELS]):
        r[n[at.TRIED] + vessel] = volume_at(n, r, vessel, when)
    copy(r, n[at.TRIED], n[at.VOLUME_END], n[at.VESSELS])
    r[n[at.TIME] + END] = when
    n[n[at.EVENT]], n[n[at.EVENT] + 1] = NO_EVENT, -1
    rates(pipes, n, r, when, n[at.VOLUME_END], n[at.HEAD_END], n[at.FLOW_END], n[at.RATE_END])


@kernel
def commit(n: Integers, r: Reals) -> None:
    """Go to the end of the segment: the ledger is written and a new segment of no length starts there."""
    time = n[at.TIME]
    span = r[time + END] - r[time + START]
    for row in range(n[at.ROWS]):
        gain = real(n, r, at.GAIN, row)
        r[n[at.THROUGH] + row] += gain
        if gain < 0.0:
            r[n[at.BACK] + row] -= gain
        r[n[at.GAIN] + row] = 0.0
    for vessel in range(n[at.VESSELS]):
        end = real(n, r, at.VOLUME_END, vessel)
        r[n[at.LOW] + vessel] = min(real(n, r, at.LOW, vessel), end)
        r[n[at.HIGH] + vessel] = max(real(n, r, at.HIGH, vessel), end)
    for pump in range(n[at.PUMPS]):
        r[n[at.TURNED] + pump] += span * of(n, at.TURNING, pump)
        r[n[at.DRIED] + pump] += span * of(n, at.DRY, pump)
    r[n[at.SUPPLY] + CHARGE] -= span * real(n, r, at.SUPPLY, CURRENT)
    copy(r, n[at.VOLUME_END], n[at.VOLUME], n[at.VESSELS])
    copy(r, n[at.RATE_END], n[at.RATE], n[at.VESSELS])
    copy(r, n[at.FLOW_END], n[at.FLOW], n[at.ROWS])
    copy(r, n[at.HEAD_END], n[at.HEAD], n[at.NODES])
    r[time + START] = r[time + END]


@kernel
def find_event(pipes: Pipes, n: Integers, r: Reals) -> None:
    """End the segment at the first event in it, if there is one."""
    tanks = n[at.TANKS]
    first, kind, row, goal, exact = NEVER, NO_EVENT, -1, 0, 0.0
    for tank in range(tanks):
        run = tank * n[at.STANDS] + of(n, at.STAND, 0)
        for mark in range(of(n, at.MARK_FIRST, run), of(n, at.MARK_FIRST, run + 1)):
            part = _crossing(n, r, tank, real(n, r, at.MARK_VOLUME, mark))
            if part < first:
                first, kind, row, goal, exact = part, AT_MARK, mark, tank, real(n, r, at.MARK_VOLUME, mark)
    for cushion in range(n[at.CUSHIONS]):
        part = _crossing(n, r, tanks + cushion, 0.0)
        if part < first:
            first, kind, row, goal, exact = part, AT_CUSHION, cushion, tanks + cushion, 0.0
    if kind != NO_EVENT:
        start, end = real(n, r, at.TIME, START), real(n, r, at.TIME, END)
        if first < 1.0:
            cut(pipes, n, r, start + first * (end - start))
        n[n[at.EVENT]], n[n[at.EVENT] + 1] = kind, row
        r[n[at.VOLUME_END] + goal] = exact
    _find_switch(pipes, n, r)


@kernel
def _crossing(n: Integers, r: Reals, vessel: int, mark: float) -> float:
    """Part of the segment after which a vessel reaches a mark [m3], `NEVER` when it does not."""
    start, end = real(n, r, at.VOLUME, vessel) - mark, real(n, r, at.VOLUME_END, vessel) - mark
    if start == 0.0 or start * end > 0.0:
        return NEVER
    if end == 0.0:
        return 1.0
    span = real(n, r, at.TIME, END) - real(n, r, at.TIME, START)
    first, last = real(n, r, at.RATE, vessel), real(n, r, at.RATE_END, vessel)
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        if (start + bent(middle, span, end - start, first, last)) * start > 0.0:
            low = middle
        else:
            high = middle
    return high


@kernel
def switch_wish(n: Integers, r: Reals, pump: int, head: int) -> int:
    """What a pressure switch does at the heads that begin there: 1 close, 0 open, -1 stay."""
    node = of(n, at.PUMP_OUTLET, pump)
    gauge = r[head + node] - real(n, r, at.ELEVATION, of(n, at.STAND, 0) * n[at.NODES] + node)
    if of(n, at.CONTACTS, pump):
        return 0 if gauge >= real(n, r, at.CUT_OUT, pump) - SWITCH_CLOSE else -1
    return 1 if gauge <= real(n, r, at.CUT_IN, pump) + SWITCH_CLOSE else -1


@kernel
def _find_switch(pipes: Pipes, n: Integers, r: Reals) -> None:
    """End the segment where a pressure switch moves, by false position with a solution at each try."""
    time = n[at.TIME]
    for pump in range(n[at.PUMPS]):
        if real(n, r, at.RESTS_UNTIL, pump) > r[time + END] or switch_wish(n, r, pump, n[at.HEAD_END]) < 0:
            continue
        node = of(n, at.PUMP_OUTLET, pump)
        level = real(n, r, at.ELEVATION, of(n, at.STAND, 0) * n[at.NODES] + node)
        level += real(n, r, at.CUT_OUT, pump) if of(n, at.CONTACTS, pump) else real(n, r, at.CUT_IN, pump)
        for _ in range(SEARCHES):
            over, under = real(n, r, at.HEAD_END, node) - level, real(n, r, at.HEAD, node) - level
            span = r[time + END] - r[time + START]
            if abs(over) <= SWITCH_CLOSE or over * under >= 0.0 or span <= LEAST_STEP:
                break
            cut(pipes, n, r, r[time + START] + span * max(0.02, min(0.98, under / (under - over))))
            if switch_wish(n, r, pump, n[at.HEAD_END]) < 0:
                return
        n[n[at.EVENT]], n[n[at.EVENT] + 1] = AT_SWITCH, pump
