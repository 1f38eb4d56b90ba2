"""Clocks of the law: whole milliseconds that run, stand, and stop at their last mark.

Every time that a table compares is a *mark* of its clock. A clock stops at its last mark,
so a state is finite; and between marks a scan with an unchanged image changes nothing,
which is what lets a simulation or a proof jump over idle time.
"""

from __future__ import annotations

from ullage.control import layout as at
from ullage.control.layout import of
from ullage.control.program import Buffer, Column
from ullage.kernels import kernel

STEPS, HELDS, ASSOCIATIONS, SEQUENCES, ARMED, VALVES, UP = range(7)
"""Groups of clocks, in the order of `Tables.clock_of`."""

ARMED_MS = 10_000
"""How long an armed start waits for a person to confirm [ms]."""

SCAN_LATE = 50
"""A scan comes at most so late after its time [ms]; the law's clocks run by the times, not by the scans."""

NEVER_MS = 1 << 40
"""Later than any run ends [ms]: when what does not come comes, and what does not end ends."""


@kernel
def advance(t: Column, state: Buffer, milliseconds: int) -> None:
    """Move every running clock of a state, in place, stopping each at its last mark."""
    for c in range(t[at.CLOCKS]):
        advance_clock(t, state, c, milliseconds)


@kernel
def advance_clock(t: Column, state: Buffer, c: int, milliseconds: int) -> None:
    """Move one clock of a state where it runs, stopping it at its last mark."""
    last = of(t, at.MARK_FIRST, c + 1) - 1
    if state[t[at.RUNNING] + c] and last >= of(t, at.MARK_FIRST, c):
        state[t[at.CLOCK] + c] = min(state[t[at.CLOCK] + c] + milliseconds, of(t, at.MARKS, last))


@kernel
def quiet_for(t: Column, state: Buffer) -> int:
    """Time until the first running clock reaches its next mark [ms], `NEVER_MS` when none has one ahead."""
    soonest = NEVER_MS
    for c in range(t[at.CLOCKS]):
        if state[t[at.RUNNING] + c]:
            for m in range(of(t, at.MARK_FIRST, c), of(t, at.MARK_FIRST, c + 1)):
                ahead = of(t, at.MARKS, m) - state[t[at.CLOCK] + c]
                if ahead > 0:
                    soonest = min(soonest, ahead)
                    break
    return soonest


@kernel
def begin(t: Column, state: Buffer, clock: int) -> None:
    """Start a clock from zero."""
    state[t[at.CLOCK] + clock] = 0
    state[t[at.RUNNING] + clock] = 1


@kernel
def end(t: Column, state: Buffer, clock: int) -> None:
    """Put a clock back to zero and let it stand."""
    state[t[at.CLOCK] + clock] = 0
    state[t[at.RUNNING] + clock] = 0
