"""Procedural states of a sequence: ISA-88 commands, and what a sequence does by itself."""

from __future__ import annotations

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
from ullage.control.program import Column, Image, State, Tables, Work
from ullage.control.record import Log, note
from ullage.control.timers import ARMED, ARMED_MS, ASSOCIATIONS, SEQUENCES, begin, end
from ullage.kernels import kernel


@kernel
def live(state: int) -> int:
    """Whether a sequence in this state drives its outputs."""
    return 1 if state == RUNNING or state == PAUSING or state == RESTARTING else 0


@kernel
def forget_actions(t: Tables, out: State, q: int) -> None:
    """Clear what the actions of a sequence have stored."""
    for a in range(len(t.action_output)):
        if t.action_sequence[a] == q:
            out.on[a] = 0
            for k in range(t.association_first[a], t.association_first[a + 1]):
                out.stored[k] = 0
                end(out, t.clock_of[ASSOCIATIONS] + k)


@kernel
def enter(t: Tables, out: State, q: int, state: int, cause: int, log: Log) -> None:
    """Put a sequence into a state; going idle also puts its chart back to the initial situation."""
    out.sequence[q] = state
    begin(out, t.clock_of[SEQUENCES] + q)
    if state == COMPLETE or state == STOPPED or state == ABORTED or state == IDLE:
        forget_actions(t, out, q)
    if state == IDLE:
        for s in range(t.step_first[q], t.step_first[q + 1]):
            out.active[s] = t.step_initial[s]
            out.was[s] = 0
            end(out, s)
    note(log, R_STATE, q, state, cause)


@kernel
def needs_good(t: Tables, out: State, q: int) -> int:
    """Whether every signal that the active steps of a sequence need is good."""
    for s in range(t.step_first[q], t.step_first[q + 1]):
        if out.active[s]:
            for k in range(t.needs_first[s], t.needs_first[s + 1]):
                if out.quality[t.needs[k]] != GOOD:
                    return 0
    return 1


@kernel
def holds(row: int, work: Work) -> int:
    """Whether a permissive is true (none stated: always)."""
    return 1 if row < 0 or work.truth[row] == TRUE else 0


@kernel
def wishes_in_range(t: Tables, image: Image, q: int) -> int:
    """Whether every parameter of a sequence lies within its declared range."""
    for p in range(len(t.parameter_default)):
        if t.parameter_sequence[p] == q and not (t.parameter_least[p] <= image.parameter[p] <= t.parameter_most[p]):
            return 0
    return 1


@kernel
def refusal(t: Tables, image: Image, out: State, work: Work, q: int, command: int) -> int:
    """Why a start, restart or resume is refused (`BY_COMMAND`: it is not)."""
    state = out.sequence[q]
    if (command == RESTART and state != HELD) or (command == RESUME and state != PAUSED):
        return NOT_ACCEPTED
    if (command == START or command == CONFIRM) and state != IDLE:
        return NOT_ACCEPTED
    if not out.ready[0]:
        return NOT_READY
    if command == CONFIRM and not out.armed[q]:
        return NOT_ARMED
    if (command == START or command == CONFIRM) and not wishes_in_range(t, image, q):
        return OUT_OF_RANGE
    if command != RESUME and not holds(t.sequence_permit[q], work):
        return NOT_PERMITTED
    if not holds(t.sequence_stay[q], work):
        return STAY_NOT_TRUE
    if not needs_good(t, out, q):
        return SIGNAL_NOT_GOOD
    if command == START and t.sequence_confirm[q]:
        return NEEDS_CONFIRMING
    return BY_COMMAND


@kernel
def next_state(state: int, command: int) -> int:
    """Where a command that needs no permissive leads (-1: not accepted in this state).

    Stop and abort are accepted in every state; where there is nothing to end they change nothing.
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
    if command == RESET and ended:
        return IDLE
    return -1


@kernel
def disarm(t: Tables, out: State, q: int) -> None:
    """Let no start wait for a confirmation any more."""
    out.armed[q] = 0
    end(out, t.clock_of[ARMED] + q)


@kernel
def run(t: Tables, wish: Column, out: State, q: int, cause: int, log: Log) -> None:
    """Let a sequence run from its initial situation with these parameters."""
    for p in range(len(t.parameter_default)):
        if t.parameter_sequence[p] == q:
            out.parameter[p] = wish[p]
    disarm(t, out, q)
    enter(t, out, q, RUNNING, cause, log)


@kernel
def set_going(t: Tables, image: Image, out: State, work: Work, q: int, command: int, cause: int, log: Log) -> None:
    """Carry out or refuse a start, confirm, restart or resume."""
    reason = refusal(t, image, out, work, q, command)
    note(log, R_COMMAND, q, command, reason)
    if reason == NEEDS_CONFIRMING:
        out.armed[q] = 1
        begin(out, t.clock_of[ARMED] + q)
        note(log, R_ARMED, q, 1, 0)
    elif reason == BY_COMMAND:
        out.released[q] = 1
        if command == RESTART:
            enter(t, out, q, RESTARTING, cause, log)
        elif command == RESUME:
            enter(t, out, q, RUNNING, cause, log)
        else:
            run(t, image.parameter, out, q, cause, log)


@kernel
def obey(t: Tables, image: Image, out: State, work: Work, q: int, command: int, cause: int, log: Log) -> None:
    """Carry out or refuse one command, and record which."""
    if command == START or command == CONFIRM or command == RESTART or command == RESUME:
        set_going(t, image, out, work, q, command, cause, log)
        return
    state = next_state(out.sequence[q], command)
    note(log, R_COMMAND, q, command, BY_COMMAND if state >= 0 else NOT_ACCEPTED)
    if command == STOP or command == ABORT:
        disarm(t, out, q)
    if command == RESET:
        out.released[q] = 1
    if state >= 0 and state != out.sequence[q]:
        enter(t, out, q, state, cause, log)


@kernel
def outputs_safe(t: Tables, out: State, q: int) -> int:
    """Whether the outputs of a sequence have had their delay and their valves have ended their travel."""
    for k in range(t.sequence_outputs_first[q], t.sequence_outputs_first[q + 1]):
        o = t.sequence_outputs[k]
        if out.clock[t.clock_of[SEQUENCES] + q] < t.output_safe_after_ms[o]:
            return 0
        for v in range(len(t.valve_output)):
            if t.valve_output[v] == o and out.goal[v] == t.output_safe[o] and out.at[v] == TRAVELLING:
                return 0
    return 1


@kernel
def finished(t: Tables, out: State, q: int) -> int:
    """Whether a final step of a sequence is active."""
    for s in range(t.step_first[q], t.step_first[q + 1]):
        if out.active[s] and t.step_final[s]:
            return 1
    return 0


@kernel
def begins_itself(t: Tables, out: State, work: Work, q: int) -> int:
    """Whether an idle sequence is released, permitted and asked to begin by its own condition."""
    row = t.sequence_begins[q]
    if row < 0 or not out.ready[0] or not out.released[q] or work.truth[row] != TRUE:
        return 0
    return holds(t.sequence_permit[q], work) and holds(t.sequence_stay[q], work)


@kernel
def go_on(t: Tables, out: State, work: Work, q: int, log: Log) -> None:
    """What a sequence does by itself: finish, hold, end an acting state, begin."""
    state = out.sequence[q]
    if live(state):
        if state != RESTARTING and finished(t, out, q):
            enter(t, out, q, COMPLETE, FINISHED, log)
        elif not needs_good(t, out, q):
            enter(t, out, q, HOLDING, SIGNAL_NOT_GOOD, log)
        elif not holds(t.sequence_stay[q], work):
            enter(t, out, q, HOLDING, STAY_NOT_TRUE, log)
        elif state == RESTARTING:
            enter(t, out, q, RUNNING, BY_ITSELF, log)
    elif state == IDLE:
        if begins_itself(t, out, work, q):
            run(t, t.parameter_default, out, q, BY_ITSELF, log)
    elif state == COMPLETE:
        if t.sequence_again[q]:
            enter(t, out, q, IDLE, BY_ITSELF, log)
    elif outputs_safe(t, out, q):
        if state == HOLDING:
            enter(t, out, q, HELD, OUTPUTS_SAFE, log)
        elif state == STOPPING:
            enter(t, out, q, STOPPED, OUTPUTS_SAFE, log)
        elif state == ABORTING:
            enter(t, out, q, ABORTED, OUTPUTS_SAFE, log)


@kernel
def gesture_for(t: Tables, out: State, work: Work, q: int) -> int:
    """The command that a gesture gives a sequence in this scan: when its condition becomes true."""
    for g in range(len(t.gesture_guard)):
        if t.gesture_sequence[g] == q:
            if work.truth[t.gesture_guard[g]] == TRUE and out.gesture[g] != TRUE:
                return t.gesture_command[g]
    return NO_COMMAND


@kernel
def proceed(t: Tables, image: Image, out: State, work: Work, log: Log) -> None:
    """Commands and own moves of every sequence: one change of state in a scan, commands first.

    A stop or abort in the image is never displaced by a gesture.
    """
    for q in range(len(t.sequence_permit)):
        before = out.sequence[q]
        command = image.command[q]
        cause = BY_COMMAND
        if command == NO_COMMAND:
            command = gesture_for(t, out, work, q)
            cause = BY_GESTURE
        if command != NO_COMMAND:
            obey(t, image, out, work, q, command, cause, log)
        if out.sequence[q] == before:
            go_on(t, out, work, q, log)
        if out.armed[q] and out.clock[t.clock_of[ARMED] + q] >= ARMED_MS:
            disarm(t, out, q)
            note(log, R_ARMED, q, 0, 0)
    for g in range(len(t.gesture_guard)):
        out.gesture[g] = work.truth[t.gesture_guard[g]]
