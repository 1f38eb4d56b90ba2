"""Clocks of the law: whole milliseconds that run, stand, and stop at their last mark.

Every time that a table compares is a *mark* of its clock. A clock stops at its last mark,
so a state is finite; and between marks a scan with an unchanged image changes nothing,
which is what lets a simulation or a proof jump over idle time.
"""

from __future__ import annotations

from ullage.control.program import State, Tables
from ullage.kernels import kernel

STEPS, HELDS, ASSOCIATIONS, SEQUENCES, ARMED, VALVES, UP = range(7)
"""Groups of clocks, in the order of `Tables.clock_of`."""

ARMED_MS = 10_000
"""How long an armed start waits for a person to confirm [ms]."""

FOREVER_MS = 1 << 40
"""Longer than any run [ms]: what `quiet_for` returns when no clock has a mark ahead."""


@kernel
def advance(t: Tables, state: State, milliseconds: int) -> None:
    """Move every running clock of a state, in place, stopping each at its last mark."""
    for c in range(len(t.mark_first) - 1):
        if state.running[c]:
            last = t.mark_first[c + 1] - 1
            if last >= t.mark_first[c]:
                state.clock[c] = min(state.clock[c] + milliseconds, t.marks[last])


@kernel
def quiet_for(t: Tables, state: State) -> int:
    """Time until the first running clock reaches its next mark [ms]."""
    soonest = FOREVER_MS
    for c in range(len(t.mark_first) - 1):
        if state.running[c]:
            for m in range(t.mark_first[c], t.mark_first[c + 1]):
                ahead = t.marks[m] - state.clock[c]
                if ahead > 0:
                    soonest = min(soonest, ahead)
                    break
    return soonest


@kernel
def begin(state: State, clock: int) -> None:
    """Start a clock from zero."""
    state.clock[clock] = 0
    state.running[clock] = 1


@kernel
def end(state: State, clock: int) -> None:
    """Put a clock back to zero and let it stand."""
    state.clock[clock] = 0
    state.running[clock] = 0
