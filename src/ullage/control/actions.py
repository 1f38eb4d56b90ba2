"""Actions: the qualifiers of IEC 61131-3 turned into one wish per output.

Each association (a step, a qualifier, a time) keeps its own store and clock; the action is
on while any of its associations is on and none of its resets is active.
"""

from __future__ import annotations

from ullage.control.codes import COMPLETE, HOLDING, Q_D, Q_DS, Q_L, Q_N, Q_P0, Q_P1, Q_R, Q_S, Q_SD, Q_SL, STOPPING
from ullage.control.procedure import live
from ullage.control.program import State, Tables, Work
from ullage.control.timers import ASSOCIATIONS, SEQUENCES, begin, end
from ullage.kernels import kernel

NO_WISH = -1
"""No sequence asks anything of the output."""


@kernel
def timed(out: State, k: int, clock: int, qualifier: int, ms: int) -> int:
    """Whether an association with a time is on, by its clock and its store."""
    passed = out.clock[clock] >= ms
    if qualifier == Q_L:
        return 1 if out.running[clock] and not passed else 0
    if qualifier == Q_D:
        return 1 if out.running[clock] and passed else 0
    if qualifier == Q_SL:
        return 1 if out.stored[k] and not passed else 0
    if qualifier == Q_DS:
        if out.running[clock] and passed:
            out.stored[k] = 1
        return out.stored[k]
    return 1 if out.stored[k] and passed else 0


@kernel
def associate(t: Tables, out: State, k: int) -> int:
    """Bring one association of a live sequence up to date; whether it is on."""
    s = t.association_step[k]
    qualifier = t.association_qualifier[k]
    clock = t.clock_of[ASSOCIATIONS] + k
    here = out.active[s]
    arrives = here and not out.was[s]
    if qualifier == Q_N:
        return here
    if qualifier == Q_P1:
        return 1 if arrives else 0
    if qualifier == Q_P0:
        return 1 if out.was[s] and not here else 0
    if qualifier == Q_S:
        out.stored[k] = 1 if here or out.stored[k] else 0
        return out.stored[k]
    if qualifier == Q_SD or qualifier == Q_SL:
        if arrives and not out.stored[k]:
            out.stored[k] = 1
            begin(out, clock)
        out.running[clock] = out.stored[k]
    elif arrives:
        begin(out, clock)
    elif here:
        out.running[clock] = 1
    else:
        end(out, clock)
    return timed(out, k, clock, qualifier, t.association_ms[k])


@kernel
def action_on(t: Tables, out: State, a: int) -> int:
    """Whether an action of a live sequence is on."""
    on = 0
    reset = 0
    for k in range(t.association_first[a], t.association_first[a + 1]):
        if t.association_qualifier[k] == Q_R:
            if out.active[t.association_step[k]]:
                reset = 1
        elif associate(t, out, k):
            on = 1
    if reset:
        for k in range(t.association_first[a], t.association_first[a + 1]):
            out.stored[k] = 0
            end(out, t.clock_of[ASSOCIATIONS] + k)
        return 0
    return on


@kernel
def stand(t: Tables, out: State, a: int) -> int:
    """Whether an action goes on although its sequence is no longer live.

    While a sequence holds or stops, each output keeps its demand for the delay that the rig
    states for going safe (pump first, then valves); an abort gives no delay.
    """
    q = t.action_sequence[a]
    for k in range(t.association_first[a], t.association_first[a + 1]):
        out.running[t.clock_of[ASSOCIATIONS] + k] = 0
    state = out.sequence[q]
    if state != HOLDING and state != STOPPING:
        return 0
    waits = out.clock[t.clock_of[SEQUENCES] + q] < t.output_safe_after_ms[t.action_output[a]]
    return 1 if out.on[a] and waits else 0


@kernel
def act(t: Tables, out: State, work: Work) -> None:
    """Bring all actions up to date and gather one wish per output.

    A complete sequence still shows what its final step says (a lamp; the check refuses one that
    moves water). Where two actions ask opposite things of an output, it gets its safe demand.
    """
    for o in range(len(t.output_safe)):
        work.wish[o] = NO_WISH
    for a in range(len(t.action_output)):
        state = out.sequence[t.action_sequence[a]]
        out.on[a] = action_on(t, out, a) if live(state) or state == COMPLETE else stand(t, out, a)
        if out.on[a]:
            o = t.action_output[a]
            agrees = work.wish[o] == NO_WISH or work.wish[o] == t.action_value[a]
            work.wish[o] = t.action_value[a] if agrees else t.output_safe[o]
    for q in range(len(t.sequence_permit)):
        if live(out.sequence[q]):
            for s in range(t.step_first[q], t.step_first[q + 1]):
                out.was[s] = out.active[s]
