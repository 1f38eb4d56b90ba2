"""Interlocks: evaluated last, and they always win over sequences."""

from __future__ import annotations

from ullage.control import layout as at
from ullage.control.actions import NO_WISH
from ullage.control.codes import CLEAR, FALSE, HOLDING, LATCHED, OVERRIDDEN, R_DEMAND, R_INTERLOCK, TRIPPED, TRUE
from ullage.control.layout import of
from ullage.control.procedure import enter, live
from ullage.control.program import Buffer, Column
from ullage.control.record import note
from ullage.kernels import kernel


@kernel
def trip_state(t: Column, image: Column, out: Buffer, work: Buffer, i: int) -> int:
    """State of an interlock: an unknown condition acts; a latch is reset by a person once it is false.

    One that has tripped stays as it is while its condition to let go is not true.
    """
    if work[t[at.TRUTH] + of(t, at.INTERLOCK_GUARD, i)] != FALSE:
        return TRIPPED
    state = out[t[at.TRIPPED] + i]
    if state == CLEAR:
        return CLEAR
    until = of(t, at.INTERLOCK_UNTIL, i)
    if until >= 0 and work[t[at.TRUTH] + until] != TRUE:
        return state
    return LATCHED if of(t, at.INTERLOCK_LATCH, i) and not image[t[at.SEEN_RESET] + i] else CLEAR


@kernel
def interlock(t: Column, before: Column, image: Column, out: Buffer, work: Buffer, log: Buffer) -> None:
    """Let every interlock drive its outputs, the one of highest priority last.

    Until a scan has begun with a complete image behind it, an interlock acts without tripping:
    everything is safe anyway, and what is merely not known yet must not latch or alarm a person.
    """
    watched = before[t[at.READY]]
    for i in range(t[at.INTERLOCKS]):
        state = trip_state(t, image, out, work, i)
        if watched and state != out[t[at.TRIPPED] + i]:
            out[t[at.TRIPPED] + i] = state
            note(log, R_INTERLOCK, i, state, work[t[at.TRUTH] + of(t, at.INTERLOCK_GUARD, i)])
        if state != CLEAR:
            for k in range(of(t, at.DRIVE_FIRST, i), of(t, at.DRIVE_FIRST, i + 1)):
                work[t[at.WISH] + of(t, at.DRIVE_OUTPUT, k)] = of(t, at.DRIVE_VALUE, k)


@kernel
def overridden(t: Column, out: Buffer, q: int) -> int:
    """Whether an action of a sequence is on and its output is driven otherwise."""
    for a in range(t[at.ACTIONS]):
        if (
            of(t, at.ACTION_SEQUENCE, a) == q
            and out[t[at.ON] + a]
            and out[t[at.DEMAND] + of(t, at.ACTION_OUTPUT, a)] != of(t, at.ACTION_VALUE, a)
        ):
            return 1
    return 0


@kernel
def demand(t: Column, out: Buffer, work: Buffer, log: Buffer) -> None:
    """Turn wishes into demands, everything safe until the first complete image; hold who is overridden."""
    for o in range(t[at.OUTPUTS]):
        wish = (
            work[t[at.WISH] + o] if work[t[at.WISH] + o] != NO_WISH and out[t[at.READY]] else of(t, at.OUTPUT_SAFE, o)
        )
        if wish != out[t[at.DEMAND] + o]:
            note(log, R_DEMAND, o, wish, out[t[at.DEMAND] + o])
            out[t[at.DEMAND] + o] = wish
    for q in range(t[at.SEQUENCES]):
        if live(out[t[at.SEQUENCE] + q]) and overridden(t, out, q):
            enter(t, out, q, HOLDING, OVERRIDDEN, log)
