"""Evolution of the charts: IEC 61131-3 sequential function chart rules, one evolution per scan.

Rule numbers are those of the SEQ rows of the check list: a transition is enabled when every
step before it is active (2); clearing it leaves all of these and enters all that follow (3);
all that can clear, clear together (4); a step both left and entered stays active (5); a step
is active for at least one evaluation before the next transition is looked at (6). Where
branches divide, the transition listed first has priority.
"""

from __future__ import annotations

from ullage.control import layout as at
from ullage.control.codes import BY_ITSELF, PAUSED, PAUSING, R_STEP, R_TRANSITION, RUNNING, TRUE
from ullage.control.layout import of
from ullage.control.procedure import enter
from ullage.control.program import Buffer, Column
from ullage.control.record import note
from ullage.control.timers import begin, end
from ullage.kernels import kernel


@kernel
def choose(t: Column, before: Column, work: Buffer, q: int) -> int:
    """Mark the transitions of a sequence that clear in this scan; return how many.

    A step gives its token to one transition only: ``work[t[at.SPENT] + s]`` marks steps already spent.
    """
    chosen = 0
    for s in range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)):
        work[t[at.SPENT] + s] = 0
        work[t[at.ENTERED] + s] = 0
    for i in range(of(t, at.TRANSITION_FIRST, q), of(t, at.TRANSITION_FIRST, q + 1)):
        clears = 1
        for k in range(of(t, at.FROM_FIRST, i), of(t, at.FROM_FIRST, i + 1)):
            s = of(t, at.FROM_STEPS, k)
            if not before[t[at.ACTIVE] + s] or work[t[at.SPENT] + s]:
                clears = 0
        guard = of(t, at.TRANSITION_GUARD, i)
        if clears and guard >= 0 and work[t[at.TRUTH] + guard] != TRUE:
            clears = 0
        work[t[at.CLEAR] + i] = clears
        if clears:
            chosen += 1
            for k in range(of(t, at.FROM_FIRST, i), of(t, at.FROM_FIRST, i + 1)):
                work[t[at.SPENT] + of(t, at.FROM_STEPS, k)] = 1
            for k in range(of(t, at.TO_FIRST, i), of(t, at.TO_FIRST, i + 1)):
                work[t[at.ENTERED] + of(t, at.TO_STEPS, k)] = 1
    return chosen


@kernel
def move(t: Column, out: Buffer, work: Buffer, q: int, log: Buffer) -> None:
    """Leave and enter the steps of the chosen transitions, all at once."""
    for i in range(of(t, at.TRANSITION_FIRST, q), of(t, at.TRANSITION_FIRST, q + 1)):
        if work[t[at.CLEAR] + i]:
            note(log, R_TRANSITION, i, 1, q)
    for s in range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)):
        if work[t[at.SPENT] + s] and not work[t[at.ENTERED] + s]:
            out[t[at.ACTIVE] + s] = 0
            end(t, out, s)
            note(log, R_STEP, s, 0, q)
    for s in range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)):
        if work[t[at.ENTERED] + s] and not out[t[at.ACTIVE] + s]:
            out[t[at.ACTIVE] + s] = 1
            begin(t, out, s)
            note(log, R_STEP, s, 1, q)


@kernel
def evolve(t: Column, before: Column, out: Buffer, work: Buffer, log: Buffer) -> None:
    """One evolution of every chart."""
    for q in range(t[at.SEQUENCES]):
        evolve_chart(t, before, out, work, q, log)


@kernel
def evolve_chart(t: Column, before: Column, out: Buffer, work: Buffer, q: int, log: Buffer) -> None:
    """One evolution of the chart of a sequence, if it was running before this scan and still is.

    A pausing sequence pauses as soon as one of its transitions has cleared. The clocks of
    active steps run only while their sequence runs.
    """
    was_running = before[t[at.SEQUENCE] + q] == RUNNING or before[t[at.SEQUENCE] + q] == PAUSING
    runs = out[t[at.SEQUENCE] + q] == RUNNING or out[t[at.SEQUENCE] + q] == PAUSING
    if was_running and runs and choose(t, before, work, q):
        move(t, out, work, q, log)
        if out[t[at.SEQUENCE] + q] == PAUSING:
            enter(t, out, q, PAUSED, BY_ITSELF, log)
            runs = False
    for s in range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)):
        out[t[at.RUNNING] + s] = 1 if runs and out[t[at.ACTIVE] + s] else 0
