"""Where the motor valves are: confirmed by their ends, or presumed after their longest stroke."""

from __future__ import annotations

from ullage.control import layout as at
from ullage.control.codes import (
    AT_CLOSED,
    AT_OPEN,
    FAILED,
    GOOD,
    NOT_KNOWN,
    OPEN,
    R_POSITION,
    TRAVELLING,
)
from ullage.control.layout import of
from ullage.control.program import Buffer, Column
from ullage.control.record import note
from ullage.control.timers import VALVES, begin
from ullage.kernels import kernel


@kernel
def judge(t: Column, out: Buffer, work: Buffer, v: int, passed: int) -> int:
    """Position of a valve from its goal, its ends, and whether its longest stroke has passed.

    The end that the goal asks for confirms it. The other end still made after the stroke, or
    both made at once, is a failure. With no end to confirm it, a position is presumed.
    """
    goal_open = out[t[at.GOAL] + v] == OPEN
    near = of(t, at.VALVE_OPEN_END, v) if goal_open else of(t, at.VALVE_CLOSED_END, v)
    far = of(t, at.VALVE_CLOSED_END, v) if goal_open else of(t, at.VALVE_OPEN_END, v)
    there = AT_OPEN if goal_open else AT_CLOSED
    if (near >= 0 and out[t[at.QUALITY] + near] != GOOD) or (far >= 0 and out[t[at.QUALITY] + far] != GOOD):
        return NOT_KNOWN
    far_made = far >= 0 and work[t[at.VALUE] + far] != 0
    if near >= 0 and work[t[at.VALUE] + near] != 0:
        return FAILED if far_made else there
    if not passed:
        return TRAVELLING
    return FAILED if near >= 0 or far_made else there


@kernel
def track(t: Column, out: Buffer, work: Buffer, log: Buffer) -> None:
    """Follow every motor valve: a changed demand sets a new goal and starts its clock again.

    After a start a valve's own end confirms it at once, without an end only its longest stroke does.
    """
    for v in range(t[at.VALVES]):
        clock = of(t, at.CLOCK_OF, VALVES) + v
        goal = out[t[at.DEMAND] + of(t, at.VALVE_OUTPUT, v)]
        if not out[t[at.RUNNING] + clock]:
            begin(t, out, clock)
        if goal != out[t[at.GOAL] + v]:
            out[t[at.GOAL] + v] = goal
            begin(t, out, clock)
            position = TRAVELLING
        else:
            position = judge(t, out, work, v, out[t[at.CLOCK] + clock] >= of(t, at.VALVE_STROKE_MS, v))
        if position != out[t[at.AT] + v]:
            out[t[at.AT] + v] = position
            note(log, R_POSITION, v, position, goal)
