"""One scan of the law: ``step(tables, state, image, now)`` gives a new state, outputs and records.

Order of a scan: clocks, readings, truth of every guard (once), commands and procedural
states, one evolution of the charts, actions, interlocks, demands, valve positions. Guards
see the readings of this scan and the steps and positions of the scan before. Only this
package decides anything; it is written once and runs as plain Python or as machine code.
"""

from __future__ import annotations

from typing import Any

from ullage.control.actions import act
from ullage.control.evolve import evolve
from ullage.control.interlocks import demand, interlock
from ullage.control.positions import track
from ullage.control.procedure import proceed
from ullage.control.program import Buffer, Column, Image, Program, State, Tables, Work
from ullage.control.record import Log, Record, log_for, unpack
from ullage.control.timers import advance
from ullage.control.truth import evaluate, sense
from ullage.kernels import kernel


@kernel
def copy(source: Column, target: Buffer) -> None:
    """Copy one column into another of the same length."""
    for i in range(len(source)):
        target[i] = source[i]


@kernel
def copy_state(state: State, out: State) -> None:
    """Copy every column of a state."""
    copy(state.clock, out.clock)
    copy(state.running, out.running)
    copy(state.active, out.active)
    copy(state.was, out.was)
    copy(state.stored, out.stored)
    copy(state.on, out.on)
    copy(state.sequence, out.sequence)
    copy(state.released, out.released)
    copy(state.armed, out.armed)
    copy(state.parameter, out.parameter)
    copy(state.tripped, out.tripped)
    copy(state.goal, out.goal)
    copy(state.at, out.at)
    copy(state.quality, out.quality)
    copy(state.gesture, out.gesture)
    copy(state.demand, out.demand)
    copy(state.ready, out.ready)
    copy(state.last_ms, out.last_ms)


@kernel
def step(t: Tables, state: State, image: Image, now_ms: int, out: State, work: Work, log: Log) -> int:
    """One scan of the law.

    Parameters
    ----------
    t : Tables
        Columns of the Program.
    state : State
        Columns before the scan; only read.
    image : Image
        What is seen now.
    now_ms : int
        Time of this scan [ms]; never less than that of the scan before.
    out : State
        Columns after the scan; every one is written. Its ``demand`` is the output image.
    work : Work
        Scratch.
    log : Log
        Where this scan's records go; earlier ones in it are overwritten.

    Returns
    -------
    int
        Records of this scan (more than the log has room for when some did not fit).
    """
    copy_state(state, out)
    if state.last_ms[0] >= 0:
        advance(t, out, now_ms - state.last_ms[0])
    out.last_ms[0] = now_ms
    log.head[0] = now_ms
    log.head[1] = 0
    sense(t, image, out, work, log)
    evaluate(t, out, work)
    proceed(t, image, out, work, log)
    evolve(t, state, out, work, log)
    act(t, out, work)
    interlock(t, image, out, work, log)
    demand(t, out, work, log)
    track(t, out, work, log)
    return log.head[1]


@kernel
def equal(one: Column, other: Column) -> int:
    """Whether two columns hold the same numbers."""
    for i in range(len(one)):
        if one[i] != other[i]:
            return 0
    return 1


@kernel
def same(state: State, out: State) -> int:
    """Whether two states differ in nothing but their clocks.

    After such a scan, and with an unchanged image, every scan before `timers.quiet_for` has
    passed gives the same outputs and writes no record.
    """
    return (
        equal(state.running, out.running)
        and equal(state.active, out.active)
        and equal(state.was, out.was)
        and equal(state.stored, out.stored)
        and equal(state.on, out.on)
        and equal(state.sequence, out.sequence)
        and equal(state.released, out.released)
        and equal(state.armed, out.armed)
        and equal(state.parameter, out.parameter)
        and equal(state.tripped, out.tripped)
        and equal(state.goal, out.goal)
        and equal(state.at, out.at)
        and equal(state.quality, out.quality)
        and equal(state.gesture, out.gesture)
        and equal(state.demand, out.demand)
        and equal(state.ready, out.ready)
    )


def as_arrays(columns: Any) -> Any:
    """A named tuple of columns as the same named tuple of int64 arrays, for compiled kernels."""
    import numpy

    return type(columns)(*(numpy.array(column, dtype=numpy.int64) for column in columns))


def as_values(columns: Any) -> Any:
    """A named tuple of columns as the same named tuple of tuples of int: a value."""
    return type(columns)(*(tuple(int(n) for n in column) for column in columns))


def work_for(t: Tables) -> Work:
    """Scratch columns for a Program's tables, as lists."""
    return Work(
        value=[0] * (len(t.signal_kind) + len(t.parameter_default)),
        truth=[0] * len(t.op),
        wish=[0] * len(t.output_safe),
        clear=[0] * len(t.transition_guard),
        left=[0] * len(t.step_sequence),
        entered=[0] * len(t.step_sequence),
    )


def records_limit(t: Tables) -> int:
    """No scan can write more rows than this."""
    return (
        1
        + len(t.signal_kind)
        + 6 * len(t.sequence_permit)
        + len(t.transition_guard)
        + 2 * len(t.step_sequence)
        + len(t.interlock_guard)
        + len(t.output_safe)
        + len(t.valve_output)
    )


def scan(
    program: Program, state: State, image: Image, now_ms: int
) -> tuple[State, tuple[int, ...], tuple[Record, ...]]:
    """One scan as values: the new state, the output image, and what happened.

    Parameters
    ----------
    program : Program
        The compiled rig.
    state : State
        The state before.
    image : Image
        What is seen now.
    now_ms : int
        Time of this scan [ms].

    Returns
    -------
    state : State
        The state after.
    demand : tuple of int
        One demand per output.
    records : tuple of Record
        What happened in this scan, in order.
    """
    t = program.tables
    log = log_for(records_limit(t))
    out = State(*([0] * len(column) for column in state))
    step(t, state, image, now_ms, out, work_for(t), log)
    after = as_values(out)
    return after, after.demand, unpack(log)
