"""One scan of the law: ``step(tables, state, image, now)`` gives a new state, outputs and records.

Order of a scan: clocks, readings, truth of every guard (once), commands and procedural
states, one evolution of the charts, actions, interlocks, demands, valve positions. Guards
see the readings of this scan and the steps and positions of the scan before. Only this
package decides anything; it is written once and runs as plain Python or as machine code.
"""

from __future__ import annotations

from ullage.control import layout as at
from ullage.control.actions import act
from ullage.control.codes import SWITCH
from ullage.control.evolve import evolve
from ullage.control.interlocks import demand, interlock
from ullage.control.layout import of
from ullage.control.positions import any_awaits, track
from ullage.control.procedure import proceed
from ullage.control.program import Buffer, Column, Image, Program, State
from ullage.control.record import Record, log_for, unpack
from ullage.control.timers import advance
from ullage.control.truth import evaluate, leaf, quality_of, sense, value_of
from ullage.kernels import kernel


@kernel
def step(t: Column, state: Column, image: Column, now_ms: int, out: Buffer, work: Buffer, log: Buffer) -> int:
    """One scan of the law.

    Parameters
    ----------
    t : column of int
        The Program (`Program.column`); see `layout` for this and the next ones.
    state : column of int
        The state before; only read.
    image : column of int
        What is seen now.
    now_ms : int
        Time of this scan [ms]; never less than that of the scan before.
    out : column of int
        The state after; every entry is written. Its column *demand* is the output image.
    work : column of int
        Scratch; carries nothing from scan to scan.
    log : column of int
        Where this scan's records go (`record.note`); earlier ones in it are overwritten.

    Returns
    -------
    int
        Records of this scan (more than the log has room for when some did not fit).
    """
    for i in range(t[at.STATE_SIZE]):
        out[i] = state[i]
    last = t[at.LAST_MS]
    if state[last] >= 0:
        advance(t, out, now_ms - state[last])
    out[last] = now_ms
    log[0] = now_ms
    log[1] = 0
    sense(t, image, out, work, log)
    evaluate(t, out, work)
    proceed(t, image, out, work, log)
    evolve(t, state, out, work, log)
    act(t, out, work)
    interlock(t, state, image, out, work, log)
    demand(t, out, work, log)
    track(t, image, out, work, log)
    return log[1]


@kernel
def same(t: Column, state: Column, out: Column) -> int:
    """Whether two states differ in nothing but their clocks and their time, and no valve awaits its end.

    After such a scan, and with an unchanged image, every scan before `timers.quiet_for` has
    passed gives the same outputs and writes no record. A reading that says the same again is
    no change then; to a valve that awaits its end it is one, since it is newer.
    """
    if any_awaits(t, out):
        return 0
    for i in range(t[at.RUNNING], t[at.LAST_MS]):
        if state[i] != out[i]:
            return 0
    return 1


@kernel
def stirs(t: Column, state: Column, image: Column, work: Buffer, signal: int) -> int:
    """Whether a changed signal could make the next scan do anything but advance clocks.

    Asked after a scan that left the state the `same`, with the scratch that this scan used. A
    reading enters the law only through its quality, through the comparisons that read it, and,
    of a switch, through its value; so where none of these has changed nothing else can.
    Commands and resets always stir.
    """
    if quality_of(t, image, signal) != state[t[at.QUALITY] + signal]:
        return 1
    value = value_of(t, signal, image[t[at.SEEN_RAW] + signal])
    if of(t, at.SIGNAL_KIND, signal) == SWITCH and value != work[t[at.VALUE] + signal]:
        return 1
    work[t[at.VALUE] + signal] = value
    for k in range(of(t, at.READER_FIRST, signal), of(t, at.READER_FIRST, signal + 1)):
        row = of(t, at.READERS, k)
        if leaf(t, state, work, row) != work[t[at.TRUTH] + row]:
            return 1
    return 0


def records_limit(t: Column) -> int:
    """No scan can write more records than this."""
    rows = t[at.SIGNALS] + t[at.TRANSITIONS] + t[at.INTERLOCKS] + t[at.OUTPUTS] + t[at.VALVES]
    return 1 + rows + 2 * t[at.STEPS] + 6 * t[at.SEQUENCES] + t[at.PARAMETERS]


def scan(program: Program, state: State, image: Image, now_ms: int) -> tuple[State, Column, tuple[Record, ...]]:
    """One scan as values, in plain Python: the new state, the output image, and what happened.

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
    t = program.column
    out = [0] * t[at.STATE_SIZE]
    work = [0] * t[at.WORK_SIZE]
    log = log_for(records_limit(t))
    step(t, at.join(state), at.join(image), now_ms, out, work, log)
    after = at.split_state(program, out)
    return after, after.demand, unpack(log)
