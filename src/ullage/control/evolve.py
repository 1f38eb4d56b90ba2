"""Evolution of the charts: IEC 61131-3 sequential function chart rules, one evolution per scan.

Rule numbers are those of the SEQ rows of the check list: a transition is enabled when every
step before it is active (2); clearing it leaves all of these and enters all that follow (3);
all that can clear, clear together (4); a step both left and entered stays active (5); a step
is active for at least one evaluation before the next transition is looked at (6). Where
branches divide, the transition listed first has priority.
"""

from __future__ import annotations

from ullage.control.codes import BY_ITSELF, PAUSED, PAUSING, R_STEP, R_TRANSITION, RUNNING, TRUE
from ullage.control.procedure import enter
from ullage.control.program import State, Tables, Work
from ullage.control.record import Log, note
from ullage.control.timers import begin, end
from ullage.kernels import kernel


@kernel
def choose(t: Tables, before: State, work: Work, q: int) -> int:
    """Mark the transitions of a sequence that clear in this scan; return how many.

    A step gives its token to one transition only: ``work.left[s]`` marks steps already spent.
    """
    chosen = 0
    for s in range(t.step_first[q], t.step_first[q + 1]):
        work.left[s] = 0
        work.entered[s] = 0
    for i in range(t.transition_first[q], t.transition_first[q + 1]):
        guard = t.transition_guard[i]
        clears = 1 if guard < 0 or work.truth[guard] == TRUE else 0
        for k in range(t.from_first[i], t.from_first[i + 1]):
            s = t.from_steps[k]
            if not before.active[s] or work.left[s]:
                clears = 0
        work.clear[i] = clears
        if clears:
            chosen += 1
            for k in range(t.from_first[i], t.from_first[i + 1]):
                work.left[t.from_steps[k]] = 1
            for k in range(t.to_first[i], t.to_first[i + 1]):
                work.entered[t.to_steps[k]] = 1
    return chosen


@kernel
def move(t: Tables, out: State, work: Work, q: int, log: Log) -> None:
    """Leave and enter the steps of the chosen transitions, all at once."""
    for i in range(t.transition_first[q], t.transition_first[q + 1]):
        if work.clear[i]:
            note(log, R_TRANSITION, i, 1, q)
    for s in range(t.step_first[q], t.step_first[q + 1]):
        if work.left[s] and not work.entered[s]:
            out.active[s] = 0
            end(out, s)
            note(log, R_STEP, s, 0, q)
    for s in range(t.step_first[q], t.step_first[q + 1]):
        if work.entered[s] and not out.active[s]:
            out.active[s] = 1
            begin(out, s)
            note(log, R_STEP, s, 1, q)


@kernel
def evolve(t: Tables, before: State, out: State, work: Work, log: Log) -> None:
    """One evolution of every sequence that was running before this scan and still is.

    A pausing sequence pauses as soon as one of its transitions has cleared. The clocks of
    active steps run only while their sequence runs.
    """
    for q in range(len(t.sequence_permit)):
        was_running = before.sequence[q] == RUNNING or before.sequence[q] == PAUSING
        runs = out.sequence[q] == RUNNING or out.sequence[q] == PAUSING
        if was_running and runs and choose(t, before, work, q):
            move(t, out, work, q, log)
            if out.sequence[q] == PAUSING:
                enter(t, out, q, PAUSED, BY_ITSELF, log)
                runs = False
        for s in range(t.step_first[q], t.step_first[q + 1]):
            out.running[s] = 1 if runs and out.active[s] else 0
