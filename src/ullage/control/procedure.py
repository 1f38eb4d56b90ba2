"""Procedural states of a sequence: ISA-88 commands, and what a sequence does by itself."""

from __future__ import annotations

from ullage.control import layout as at
from ullage.control.codes import (
    ABORT,
    ABORTED,
    ABORTING,
    BY_COMMAND,
    BY_GESTURE,
    BY_ITSELF,
    COMPLETE,
    CONFIRM,
    FINISHED,
    GOOD,
    HELD,
    HOLD,
    HOLDING,
    IDLE,
    NEEDS_CONFIRMING,
    NO_COMMAND,
    NOT_ACCEPTED,
    NOT_ARMED,
    NOT_PERMITTED,
    NOT_READY,
    OUT_OF_RANGE,
    OUTPUTS_SAFE,
    PAUSE,
    PAUSED,
    PAUSING,
    R_ARMED,
    R_COMMAND,
    R_STATE,
    R_WISH,
    RESET,
    RESTART,
    RESTARTING,
    RESUME,
    RUNNING,
    SIGNAL_NOT_GOOD,
    START,
    STAY_NOT_TRUE,
    STOP,
    STOPPED,
    STOPPING,
    TRAVELLING,
    TRUE,
)
from ullage.control.layout import of
from ullage.control.program import Buffer, Column
from ullage.control.record import note
from ullage.control.timers import ARMED, ARMED_MS, ASSOCIATIONS, SEQUENCES, begin, end
from ullage.kernels import kernel


@kernel
def live(state: int) -> int:
    """Whether a sequence in this state drives its outputs."""
    return 1 if state == RUNNING or state == PAUSING or state == RESTARTING else 0


@kernel
def forget_actions(t: Column, out: Buffer, q: int) -> None:
    """Clear what the actions of a sequence have stored."""
    for a in range(t[at.ACTIONS]):
        if of(t, at.ACTION_SEQUENCE, a) == q:
            out[t[at.ON] + a] = 0
            for k in range(of(t, at.ASSOCIATION_FIRST, a), of(t, at.ASSOCIATION_FIRST, a + 1)):
                out[t[at.STORED] + k] = 0
                end(t, out, of(t, at.CLOCK_OF, ASSOCIATIONS) + k)


@kernel
def enter(t: Column, out: Buffer, q: int, state: int, cause: int, log: Buffer) -> None:
    """Put a sequence into a state; going idle also puts its chart back to the initial situation."""
    out[t[at.SEQUENCE] + q] = state
    begin(t, out, of(t, at.CLOCK_OF, SEQUENCES) + q)
    if state == COMPLETE or state == STOPPED or state == ABORTED or state == IDLE:
        forget_actions(t, out, q)
    if state == IDLE:
        for s in range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)):
            out[t[at.ACTIVE] + s] = of(t, at.STEP_INITIAL, s)
            out[t[at.WAS] + s] = 0
            end(t, out, s)
    note(log, R_STATE, q, state, cause)


@kernel
def needs_good(t: Column, out: Buffer, q: int) -> int:
    """Whether every signal that the active steps of a sequence need is good."""
    for s in range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)):
        if out[t[at.ACTIVE] + s]:
            for k in range(of(t, at.NEEDS_FIRST, s), of(t, at.NEEDS_FIRST, s + 1)):
                if out[t[at.QUALITY] + of(t, at.NEEDS, k)] != GOOD:
                    return 0
    return 1


@kernel
def holds(t: Column, row: int, work: Buffer) -> int:
    """Whether a permissive is true (none stated: always)."""
    return 1 if row < 0 or work[t[at.TRUTH] + row] == TRUE else 0


@kernel
def in_range(t: Column, image: Column, p: int) -> int:
    """Whether the wish for a parameter lies within its declared range."""
    wish = image[t[at.SEEN_PARAMETER] + p]
    return 1 if of(t, at.PARAMETER_LEAST, p) <= wish <= of(t, at.PARAMETER_MOST, p) else 0


@kernel
def wishes_in_range(t: Column, image: Column, q: int) -> int:
    """Whether every parameter of a sequence lies within its declared range."""
    for p in range(t[at.PARAMETERS]):
        if of(t, at.PARAMETER_SEQUENCE, p) == q and not in_range(t, image, p):
            return 0
    return 1


@kernel
def name_wishes(t: Column, image: Column, q: int, log: Buffer) -> None:
    """Record each wish of a sequence that is out of its range."""
    for p in range(t[at.PARAMETERS]):
        if of(t, at.PARAMETER_SEQUENCE, p) == q and not in_range(t, image, p):
            note(log, R_WISH, p, image[t[at.SEEN_PARAMETER] + p], q)


@kernel
def refusal(t: Column, image: Column, out: Buffer, work: Buffer, q: int, command: int) -> int:
    """Why a start, restart or resume is refused (`BY_COMMAND`: it is not)."""
    state = out[t[at.SEQUENCE] + q]
    if (command == RESTART and state != HELD) or (command == RESUME and state != PAUSED):
        return NOT_ACCEPTED
    if (command == START or command == CONFIRM) and state != IDLE:
        return NOT_ACCEPTED
    if not out[t[at.READY]]:
        return NOT_READY
    if command == CONFIRM and not out[t[at.ARMED] + q]:
        return NOT_ARMED
    if (command == START or command == CONFIRM) and not wishes_in_range(t, image, q):
        return OUT_OF_RANGE
    if command != RESUME and not holds(t, of(t, at.SEQUENCE_PERMIT, q), work):
        return NOT_PERMITTED
    if not holds(t, of(t, at.SEQUENCE_STAY, q), work):
        return STAY_NOT_TRUE
    if not needs_good(t, out, q):
        return SIGNAL_NOT_GOOD
    if command == START and of(t, at.SEQUENCE_CONFIRM, q):
        return NEEDS_CONFIRMING
    return BY_COMMAND


@kernel
def next_state(state: int, command: int) -> int:
    """Where a command that needs no permissive leads (-1: not accepted in this state).

    Stop and abort are accepted in every state; where there is nothing to end they change nothing.
    A reset of an idle sequence changes nothing either, but releases one that begins by itself.
    """
    ended = state == STOPPED or state == ABORTED or state == COMPLETE
    if command == ABORT:
        return state if state == ABORTED or state == ABORTING else ABORTING
    if command == STOP:
        return state if ended or state == IDLE or state == STOPPING or state == ABORTING else STOPPING
    if command == HOLD and (live(state) or state == PAUSED):
        return HOLDING
    if command == PAUSE and state == RUNNING:
        return PAUSING
    if command == RESET and (ended or state == IDLE):
        return IDLE
    return -1


@kernel
def disarm(t: Column, out: Buffer, q: int) -> None:
    """Let no start wait for a confirmation any more."""
    out[t[at.ARMED] + q] = 0
    end(t, out, of(t, at.CLOCK_OF, ARMED) + q)


@kernel
def run(t: Column, wish: Column, first: int, out: Buffer, q: int, cause: int, log: Buffer) -> None:
    """Let a sequence run from its initial situation with parameters that begin at ``wish[first]``."""
    for p in range(t[at.PARAMETERS]):
        if of(t, at.PARAMETER_SEQUENCE, p) == q:
            out[t[at.PARAMETER] + p] = wish[first + p]
    disarm(t, out, q)
    enter(t, out, q, RUNNING, cause, log)


@kernel
def set_going(
    t: Column, image: Column, out: Buffer, work: Buffer, q: int, command: int, cause: int, log: Buffer
) -> None:
    """Carry out or refuse a start, confirm, restart or resume."""
    reason = refusal(t, image, out, work, q, command)
    note(log, R_COMMAND, q, command, reason)
    if reason == OUT_OF_RANGE:
        name_wishes(t, image, q, log)
    if reason == NEEDS_CONFIRMING:
        out[t[at.ARMED] + q] = 1
        begin(t, out, of(t, at.CLOCK_OF, ARMED) + q)
        note(log, R_ARMED, q, 1, 0)
    elif reason == BY_COMMAND:
        out[t[at.RELEASED] + q] = 1
        if command == RESTART:
            enter(t, out, q, RESTARTING, cause, log)
        elif command == RESUME:
            enter(t, out, q, RUNNING, cause, log)
        else:
            run(t, image, t[at.SEEN_PARAMETER], out, q, cause, log)


@kernel
def obey(t: Column, image: Column, out: Buffer, work: Buffer, q: int, command: int, cause: int, log: Buffer) -> None:
    """Carry out or refuse one command, and record which."""
    if command == START or command == CONFIRM or command == RESTART or command == RESUME:
        set_going(t, image, out, work, q, command, cause, log)
        return
    state = next_state(out[t[at.SEQUENCE] + q], command)
    note(log, R_COMMAND, q, command, BY_COMMAND if state >= 0 else NOT_ACCEPTED)
    if command == STOP or command == ABORT:
        disarm(t, out, q)
    if command == RESET:
        out[t[at.RELEASED] + q] = 1
    if state >= 0 and state != out[t[at.SEQUENCE] + q]:
        enter(t, out, q, state, cause, log)


@kernel
def outputs_safe(t: Column, out: Buffer, q: int) -> int:
    """Whether a sequence drives nothing any more and its valves have ended their travel.

    A valve that another sequence keeps away from its safe position is not waited for.
    """
    for a in range(t[at.ACTIONS]):
        if of(t, at.ACTION_SEQUENCE, a) == q and out[t[at.ON] + a]:
            return 0
    for k in range(of(t, at.SEQUENCE_OUTPUTS_FIRST, q), of(t, at.SEQUENCE_OUTPUTS_FIRST, q + 1)):
        o = of(t, at.SEQUENCE_OUTPUTS, k)
        for v in range(t[at.VALVES]):
            if (
                of(t, at.VALVE_OUTPUT, v) == o
                and out[t[at.GOAL] + v] == of(t, at.OUTPUT_SAFE, o)
                and out[t[at.AT] + v] == TRAVELLING
            ):
                return 0
    return 1


@kernel
def finished(t: Column, out: Buffer, q: int) -> int:
    """Whether a final step of a sequence is active."""
    for s in range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)):
        if out[t[at.ACTIVE] + s] and of(t, at.STEP_FINAL, s):
            return 1
    return 0


@kernel
def begins_itself(t: Column, out: Buffer, work: Buffer, q: int) -> int:
    """Whether an idle sequence is released, permitted and asked to begin by its own condition."""
    row = of(t, at.SEQUENCE_BEGINS, q)
    if row < 0 or not out[t[at.READY]] or not out[t[at.RELEASED] + q] or work[t[at.TRUTH] + row] != TRUE:
        return 0
    return holds(t, of(t, at.SEQUENCE_PERMIT, q), work) and holds(t, of(t, at.SEQUENCE_STAY, q), work)


@kernel
def go_on(t: Column, out: Buffer, work: Buffer, q: int, log: Buffer) -> None:
    """What a sequence does by itself: finish, hold, end an acting state, begin."""
    state = out[t[at.SEQUENCE] + q]
    if live(state):
        if state != RESTARTING and finished(t, out, q):
            enter(t, out, q, COMPLETE, FINISHED, log)
        elif not needs_good(t, out, q):
            enter(t, out, q, HOLDING, SIGNAL_NOT_GOOD, log)
        elif not holds(t, of(t, at.SEQUENCE_STAY, q), work):
            enter(t, out, q, HOLDING, STAY_NOT_TRUE, log)
        elif state == RESTARTING:
            enter(t, out, q, RUNNING, BY_ITSELF, log)
    elif state == IDLE:
        if begins_itself(t, out, work, q):
            run(t, t, t[at.PARAMETER_DEFAULT], out, q, BY_ITSELF, log)
    elif state == COMPLETE:
        if of(t, at.SEQUENCE_AGAIN, q):
            enter(t, out, q, IDLE, BY_ITSELF, log)
    elif outputs_safe(t, out, q):
        if state == HOLDING:
            enter(t, out, q, HELD, OUTPUTS_SAFE, log)
        elif state == STOPPING:
            enter(t, out, q, STOPPED, OUTPUTS_SAFE, log)
        elif state == ABORTING:
            enter(t, out, q, ABORTED, OUTPUTS_SAFE, log)


@kernel
def gesture_for(t: Column, out: Buffer, work: Buffer, q: int) -> int:
    """The command that a gesture gives a sequence in this scan: when its condition becomes true."""
    command = NO_COMMAND
    for g in range(of(t, at.GESTURE_FIRST, q), of(t, at.GESTURE_FIRST, q + 1)):
        truth = work[t[at.TRUTH] + of(t, at.GESTURE_GUARD, g)]
        if truth == TRUE and out[t[at.GESTURE] + g] != TRUE:
            command = of(t, at.GESTURE_COMMAND, g)
        out[t[at.GESTURE] + g] = truth
    return command


@kernel
def proceed(t: Column, image: Column, out: Buffer, work: Buffer, log: Buffer) -> None:
    """Commands and own moves of every sequence."""
    for q in range(t[at.SEQUENCES]):
        take_turn(t, image, out, work, q, log)


@kernel
def take_turn(t: Column, image: Column, out: Buffer, work: Buffer, q: int, log: Buffer) -> None:
    """Commands and own moves of one sequence: one change of state in a scan, commands first.

    A stop or abort in the image is never displaced by a gesture.
    """
    before = out[t[at.SEQUENCE] + q]
    command = image[t[at.SEEN_COMMAND] + q]
    cause = BY_COMMAND
    gestured = gesture_for(t, out, work, q)
    if command == NO_COMMAND:
        command = gestured
        cause = BY_GESTURE
    if command != NO_COMMAND:
        obey(t, image, out, work, q, command, cause, log)
    if out[t[at.SEQUENCE] + q] == before:
        go_on(t, out, work, q, log)
    if out[t[at.ARMED] + q] and out[t[at.CLOCK] + of(t, at.CLOCK_OF, ARMED) + q] >= ARMED_MS:
        disarm(t, out, q)
        note(log, R_ARMED, q, 0, 0)
