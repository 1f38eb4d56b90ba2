"""Where the motor valves are: confirmed by their ends, or presumed after their longest stroke.

What drives a valve may obey an older demand until that one's lease has run out: *late* is how
long. So nothing that was seen sooner than *late* after a change of the goal says anything about
the new goal, and the longest stroke counts from *late* on.
"""

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
def near_end(t: Column, out: Column, v: int) -> int:
    """Signal of the end that a valve's goal asks for (-1: none)."""
    return of(t, at.VALVE_OPEN_END if out[t[at.GOAL] + v] == OPEN else at.VALVE_CLOSED_END, v)


@kernel
def far_end(t: Column, out: Column, v: int) -> int:
    """Signal of the other end (-1: none)."""
    return of(t, at.VALVE_CLOSED_END if out[t[at.GOAL] + v] == OPEN else at.VALVE_OPEN_END, v)


@kernel
def is_over(t: Column, out: Column, v: int) -> int:
    """Whether a valve's clock has run out: every good reading was taken after the valve must be there."""
    clock = of(t, at.CLOCK_OF, VALVES) + v
    return 1 if out[t[at.CLOCK] + clock] >= of(t, at.MARKS, of(t, at.MARK_FIRST, clock + 1) - 1) else 0


@kernel
def judge(t: Column, image: Column, out: Buffer, work: Buffer, v: int) -> int:
    """Position of a valve from its goal, its ends, and the time since its goal changed.

    The end that the goal asks for confirms it by a reading that was taken *late* after the goal
    changed. With no such end a position is presumed *late* and the longest stroke after it. What
    the ends then say otherwise is a failure, once no reading can be older than that.
    """
    near, far = near_end(t, out, v), far_end(t, out, v)
    if (near >= 0 and out[t[at.QUALITY] + near] != GOOD) or (far >= 0 and out[t[at.QUALITY] + far] != GOOD):
        return NOT_KNOWN
    there = AT_OPEN if out[t[at.GOAL] + v] == OPEN else AT_CLOSED
    otherwise = FAILED if is_over(t, out, v) else TRAVELLING
    far_made = far >= 0 and work[t[at.VALUE] + far] != 0
    since, late = out[t[at.CLOCK] + of(t, at.CLOCK_OF, VALVES) + v], of(t, at.VALVE_LATE_MS, v)
    if near >= 0:
        if work[t[at.VALUE] + near] == 0 or since - image[t[at.SEEN_AGE_MS] + near] < late:
            return otherwise
        return FAILED if far_made and otherwise == FAILED else there
    return there if since >= late + of(t, at.VALVE_STROKE_MS, v) and not far_made else otherwise


@kernel
def track(t: Column, image: Column, out: Buffer, work: Buffer, log: Buffer) -> None:
    """Follow every motor valve: a changed demand sets a new goal and starts its clock again.

    A start does the same, since boards may still obey what was asked for before it.
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
            position = judge(t, image, out, work, v)
        if position != out[t[at.AT] + v]:
            out[t[at.AT] + v] = position
            note(log, R_POSITION, v, position, goal)


@kernel
def any_awaits(t: Column, out: Column) -> int:
    """Whether a valve could be confirmed by a reading that says the same again, since that is newer."""
    for v in range(t[at.VALVES]):
        position = out[t[at.AT] + v]
        if (position == TRAVELLING or position == NOT_KNOWN) and near_end(t, out, v) >= 0 and not is_over(t, out, v):
            return 1
    return 0
