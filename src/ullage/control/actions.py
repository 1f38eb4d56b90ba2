"""Actions: the qualifiers of IEC 61131-3 turned into one wish per output.

Each association (a step, a qualifier, a time) keeps its own store and clock; the action is
on while any of its associations is on and none of its resets is active.
"""

from __future__ import annotations

from ullage.control import layout as at
from ullage.control.codes import (
    COMPLETE,
    HOLDING,
    PAUSED,
    Q_D,
    Q_DS,
    Q_L,
    Q_N,
    Q_P0,
    Q_P1,
    Q_R,
    Q_S,
    Q_SD,
    Q_SL,
    STOPPING,
)
from ullage.control.layout import of
from ullage.control.procedure import live
from ullage.control.program import Buffer, Column
from ullage.control.timers import ASSOCIATIONS, SEQUENCES, begin, end
from ullage.kernels import kernel

NO_WISH = -1
"""No sequence asks anything of the output."""


@kernel
def timed(t: Column, out: Buffer, k: int, clock: int, qualifier: int, ms: int) -> int:
    """Whether an association with a time is on, by its clock and its store."""
    passed = out[t[at.CLOCK] + clock] >= ms
    if qualifier == Q_L:
        return 1 if out[t[at.RUNNING] + clock] and not passed else 0
    if qualifier == Q_D:
        return 1 if out[t[at.RUNNING] + clock] and passed else 0
    if qualifier == Q_SL:
        return 1 if out[t[at.STORED] + k] and not passed else 0
    if qualifier == Q_DS:
        if out[t[at.RUNNING] + clock] and passed:
            out[t[at.STORED] + k] = 1
        return out[t[at.STORED] + k]
    return 1 if out[t[at.STORED] + k] and passed else 0


@kernel
def associate(t: Column, out: Buffer, k: int) -> int:
    """Bring one association of a live sequence up to date; whether it is on."""
    s = of(t, at.ASSOCIATION_STEP, k)
    qualifier = of(t, at.ASSOCIATION_QUALIFIER, k)
    clock = of(t, at.CLOCK_OF, ASSOCIATIONS) + k
    here = out[t[at.ACTIVE] + s]
    arrives = here and not out[t[at.WAS] + s]
    if qualifier == Q_N:
        return here
    if qualifier == Q_P1:
        return 1 if arrives else 0
    if qualifier == Q_P0:
        return 1 if out[t[at.WAS] + s] and not here else 0
    if qualifier == Q_S:
        out[t[at.STORED] + k] = 1 if here or out[t[at.STORED] + k] else 0
        return out[t[at.STORED] + k]
    if qualifier == Q_SD or qualifier == Q_SL:
        if arrives and not out[t[at.STORED] + k]:
            out[t[at.STORED] + k] = 1
            begin(t, out, clock)
        out[t[at.RUNNING] + clock] = out[t[at.STORED] + k]
    elif arrives:
        begin(t, out, clock)
    elif here:
        out[t[at.RUNNING] + clock] = 1
    else:
        end(t, out, clock)
    return timed(t, out, k, clock, qualifier, of(t, at.ASSOCIATION_MS, k))


@kernel
def action_on(t: Column, out: Buffer, a: int) -> int:
    """Whether an action of a live sequence is on."""
    on = 0
    reset = 0
    for k in range(of(t, at.ASSOCIATION_FIRST, a), of(t, at.ASSOCIATION_FIRST, a + 1)):
        if of(t, at.ASSOCIATION_QUALIFIER, k) == Q_R:
            if out[t[at.ACTIVE] + of(t, at.ASSOCIATION_STEP, k)]:
                reset = 1
        elif associate(t, out, k):
            on = 1
    if reset:
        for k in range(of(t, at.ASSOCIATION_FIRST, a), of(t, at.ASSOCIATION_FIRST, a + 1)):
            out[t[at.STORED] + k] = 0
            end(t, out, of(t, at.CLOCK_OF, ASSOCIATIONS) + k)
        return 0
    return on


@kernel
def stand(t: Column, out: Buffer, a: int) -> int:
    """Whether an action goes on although its sequence is no longer live.

    While a sequence holds, pauses or stops, each output keeps its demand for the delay that the rig
    states for going safe (pump first, then valves); an abort gives no delay.
    """
    q = of(t, at.ACTION_SEQUENCE, a)
    for k in range(of(t, at.ASSOCIATION_FIRST, a), of(t, at.ASSOCIATION_FIRST, a + 1)):
        out[t[at.RUNNING] + of(t, at.CLOCK_OF, ASSOCIATIONS) + k] = 0
    if out[t[at.SEQUENCE] + q] not in (HOLDING, PAUSED, STOPPING):
        return 0
    passed = out[t[at.CLOCK] + of(t, at.CLOCK_OF, SEQUENCES) + q]
    return 1 if out[t[at.ON] + a] and passed < of(t, at.OUTPUT_SAFE_AFTER_MS, of(t, at.ACTION_OUTPUT, a)) else 0


@kernel
def act(t: Column, out: Buffer, work: Buffer) -> None:
    """Bring all actions up to date and gather one wish per output.

    Where two actions ask opposite things of an output, it gets its safe demand.
    """
    for o in range(t[at.OUTPUTS]):
        work[t[at.WISH] + o] = NO_WISH
    for a in range(t[at.ACTIONS]):
        bring_up(t, out, a)
        if out[t[at.ON] + a]:
            o = of(t, at.ACTION_OUTPUT, a)
            agrees = work[t[at.WISH] + o] == NO_WISH or work[t[at.WISH] + o] == of(t, at.ACTION_VALUE, a)
            work[t[at.WISH] + o] = of(t, at.ACTION_VALUE, a) if agrees else of(t, at.OUTPUT_SAFE, o)
    for q in range(t[at.SEQUENCES]):
        remember_steps(t, out, q)


@kernel
def bring_up(t: Column, out: Buffer, a: int) -> None:
    """Bring one action up to date.

    A complete sequence still shows what its final step says (a lamp; the check refuses one that
    moves water).
    """
    state = out[t[at.SEQUENCE] + of(t, at.ACTION_SEQUENCE, a)]
    out[t[at.ON] + a] = action_on(t, out, a) if live(state) or state == COMPLETE else stand(t, out, a)


@kernel
def remember_steps(t: Column, out: Buffer, q: int) -> None:
    """Keep which steps of a live sequence are active, for the actions of the next scan."""
    if live(out[t[at.SEQUENCE] + q]):
        for s in range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)):
            out[t[at.WAS] + s] = out[t[at.ACTIVE] + s]
