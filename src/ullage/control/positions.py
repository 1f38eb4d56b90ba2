"""Where the motor valves are: confirmed by their ends, or presumed after their longest stroke."""

from __future__ import annotations

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
from ullage.control.program import State, Tables, Work
from ullage.control.record import Log, note
from ullage.control.timers import VALVES, begin
from ullage.kernels import kernel


@kernel
def judge(t: Tables, out: State, work: Work, v: int, passed: int) -> int:
    """Position of a valve from its goal, its ends, and whether its longest stroke has passed.

    The end that the goal asks for confirms it. The other end still made after the stroke, or
    both made at once, is a failure. With no end to confirm it, a position is presumed.
    """
    goal_open = out.goal[v] == OPEN
    near = t.valve_open_end[v] if goal_open else t.valve_closed_end[v]
    far = t.valve_closed_end[v] if goal_open else t.valve_open_end[v]
    there = AT_OPEN if goal_open else AT_CLOSED
    if (near >= 0 and out.quality[near] != GOOD) or (far >= 0 and out.quality[far] != GOOD):
        return NOT_KNOWN
    far_made = far >= 0 and work.value[far] != 0
    if near >= 0 and work.value[near] != 0:
        return FAILED if far_made else there
    if not passed:
        return TRAVELLING
    return FAILED if near >= 0 or far_made else there


@kernel
def track(t: Tables, out: State, work: Work, log: Log) -> None:
    """Follow every motor valve: a changed demand sets a new goal and starts its clock again."""
    for v in range(len(t.valve_output)):
        clock = t.clock_of[VALVES] + v
        goal = out.demand[t.valve_output[v]]
        if goal != out.goal[v] or not out.running[clock]:
            out.goal[v] = goal
            begin(out, clock)
            at = TRAVELLING
        else:
            at = judge(t, out, work, v, out.clock[clock] >= t.valve_stroke_ms[v])
        if at != out.at[v]:
            out.at[v] = at
            note(log, R_POSITION, v, at, goal)
