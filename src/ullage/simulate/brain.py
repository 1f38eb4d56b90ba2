"""The law's columns in a run, and what becomes of them when the controller goes and starts anew."""

from __future__ import annotations

from typing import NamedTuple

from ullage.control import layout as lay
from ullage.control.codes import (
    CLEAR,
    FORGOTTEN,
    IDLE,
    NOT_RELEASED,
    R_ARMED,
    R_DEMAND,
    R_INTERLOCK,
    R_STATE,
    R_STEP,
    UNKNOWN,
)
from ullage.control.record import note
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.codes import RING
from ullage.plant.layout import Integers, of


class Brain(NamedTuple):
    """The law's columns: Program, state, next state, fresh state, image, scratch, log of one scan."""

    t: Integers
    state: Integers
    out: Integers
    fresh: Integers
    image: Integers
    work: Integers
    log: Integers


@kernel
def forget(records: Integers, brain: Brain) -> None:
    """Note all that ends because the controller is gone: else its sequences would seem to run on for ever."""
    t, state, fresh = brain.t, brain.state, brain.fresh
    for q in range(t[lay.SEQUENCES]):
        if state[t[lay.ARMED] + q]:
            note(records, R_ARMED, q, 0, 0)
        if state[t[lay.SEQUENCE] + q] == IDLE:
            continue
        for s in range(of(t, lay.STEP_FIRST, q), of(t, lay.STEP_FIRST, q + 1)):
            if state[t[lay.ACTIVE] + s]:
                note(records, R_STEP, s, 0, q)
        note(records, R_STATE, q, IDLE, FORGOTTEN)
    for lock in range(t[lay.INTERLOCKS]):
        if state[t[lay.TRIPPED] + lock] != CLEAR:
            note(records, R_INTERLOCK, lock, CLEAR, UNKNOWN)
    for output in range(t[lay.OUTPUTS]):
        demand, safe = state[t[lay.DEMAND] + output], fresh[t[lay.DEMAND] + output]
        if demand != safe:
            note(records, R_DEMAND, output, safe, demand)


@kernel
def await_release(records: Integers, brain: Brain) -> None:
    """Note the sequences that begin by themselves: after a restart each waits for a person."""
    t = brain.t
    for q in range(t[lay.SEQUENCES]):
        if of(t, lay.SEQUENCE_BEGINS, q) >= 0:
            note(records, R_STATE, q, IDLE, NOT_RELEASED)


@kernel
def start_anew(n: Integers, brain: Brain) -> None:
    """The controller starts: its fresh state, nothing heard, every demand safe."""
    t = brain.t
    for i in range(t[lay.STATE_SIZE]):
        brain.state[i] = brain.fresh[i]
    for signal in range(n[at.SIGNALS]):
        n[n[at.HEARD_MS] + signal] = -1
        for k in range(RING):
            n[n[at.RING_ARRIVAL_MS] + signal * RING + k] = -1
    for output in range(n[at.OUTPUTS]):
        n[n[at.DEMAND] + output] = of(n, at.OUTPUT_SAFE, output)
    for q in range(t[lay.SEQUENCES]):
        brain.image[t[lay.SEEN_COMMAND] + q] = 0
