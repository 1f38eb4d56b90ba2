"""Interlocks: evaluated last, and they always win over sequences."""

from __future__ import annotations

from ullage.control.actions import NO_WISH
from ullage.control.codes import CLEAR, FALSE, HOLDING, LATCHED, OVERRIDDEN, R_DEMAND, R_INTERLOCK, TRIPPED
from ullage.control.procedure import enter, live
from ullage.control.program import Image, State, Tables, Work
from ullage.control.record import Log, note
from ullage.kernels import kernel


@kernel
def trip_state(t: Tables, image: Image, out: State, work: Work, i: int) -> int:
    """State of an interlock: an unknown condition acts; a latch is reset by a person once it is false."""
    if work.truth[t.interlock_guard[i]] != FALSE:
        return TRIPPED
    if t.interlock_latch[i] and out.tripped[i] != CLEAR and not image.reset[i]:
        return LATCHED
    return CLEAR


@kernel
def interlock(t: Tables, image: Image, out: State, work: Work, log: Log) -> None:
    """Let every interlock drive its outputs, the one of highest priority last."""
    for i in range(len(t.interlock_guard)):
        state = trip_state(t, image, out, work, i)
        if state != out.tripped[i]:
            out.tripped[i] = state
            note(log, R_INTERLOCK, i, state, work.truth[t.interlock_guard[i]])
        if state != CLEAR:
            for k in range(t.drive_first[i], t.drive_first[i + 1]):
                work.wish[t.drive_output[k]] = t.drive_value[k]


@kernel
def overridden(t: Tables, out: State, q: int) -> int:
    """Whether an action of a sequence is on and its output is driven otherwise."""
    for a in range(len(t.action_output)):
        if t.action_sequence[a] == q and out.on[a] and out.demand[t.action_output[a]] != t.action_value[a]:
            return 1
    return 0


@kernel
def demand(t: Tables, out: State, work: Work, log: Log) -> None:
    """Turn wishes into demands, everything safe until the first complete image; hold who is overridden."""
    for o in range(len(t.output_safe)):
        wish = work.wish[o] if work.wish[o] != NO_WISH and out.ready[0] else t.output_safe[o]
        if wish != out.demand[o]:
            note(log, R_DEMAND, o, wish, out.demand[o])
            out.demand[o] = wish
    for q in range(len(t.sequence_permit)):
        if live(out.sequence[q]) and overridden(t, out, q):
            enter(t, out, q, HOLDING, OVERRIDDEN, log)
