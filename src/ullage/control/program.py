"""The Program: what a rig's sequences and interlocks compile to.

`Tables` are flat integer columns and nothing else, so that the same rows are stepped here,
explored by the prover and printed as C. Pairs of columns ``x_first`` / ``x`` are runs: row
``i`` owns entries ``x_first[i]`` to ``x_first[i + 1]`` (exclusive). An index of -1 means none.
"""

from __future__ import annotations

from collections.abc import MutableSequence, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from ullage.control import codes

Column = Sequence[int]
"""Read only: a tuple in plain use, an int64 array in compiled use."""

Buffer = MutableSequence[int]
"""Written by kernels: a list in plain use, an int64 array in compiled use."""


class Tables(NamedTuple):
    """The columns of a Program (tuples of int).

    Row order: truth rows are in order of evaluation (operands first); transitions of a
    sequence in order of priority; interlocks in rising priority, so that the last one wins.
    Clocks [ms] are numbered: one per step, per `held` row, per association, per sequence
    (time in its state), per sequence (time since armed), per valve (time since its goal
    changed), and last the time since start. Every clock stops at its last mark.
    """

    # signals: raw to value by a rising integer table (empty run: value = raw)
    signal_kind: Column
    stale_ms: Column
    convert_first: Column
    convert_raw: Column
    convert_value: Column
    least_raw: Column
    most_raw: Column
    # parameters [unit of the signal they are compared with]
    parameter_default: Column
    parameter_least: Column
    parameter_most: Column
    parameter_sequence: Column
    # comparisons that read each signal
    reader_first: Column
    readers: Column
    # truth rows
    op: Column
    left: Column
    right: Column
    amount: Column
    term_source: Column
    term_factor: Column
    # sequences
    sequence_permit: Column
    sequence_stay: Column
    sequence_begins: Column
    sequence_confirm: Column
    sequence_again: Column
    sequence_outputs_first: Column
    sequence_outputs: Column
    # steps
    step_first: Column
    step_sequence: Column
    step_initial: Column
    step_final: Column
    needs_first: Column
    needs: Column
    # transitions
    transition_first: Column
    transition_guard: Column
    from_first: Column
    from_steps: Column
    to_first: Column
    to_steps: Column
    # actions and their associations with steps
    action_sequence: Column
    action_output: Column
    action_value: Column
    association_first: Column
    association_step: Column
    association_qualifier: Column
    association_ms: Column
    # interlocks
    interlock_guard: Column
    interlock_until: Column
    interlock_latch: Column
    drive_first: Column
    drive_output: Column
    drive_value: Column
    # outputs
    output_kind: Column
    output_safe: Column
    output_safe_after_ms: Column
    output_lease_ms: Column
    output_on_lapse: Column
    # motor valves
    valve_output: Column
    valve_late_ms: Column
    valve_stroke_ms: Column
    valve_closed_end: Column
    valve_open_end: Column
    # gestures of each sequence: a truth row that gives a command when it becomes true
    gesture_first: Column
    gesture_guard: Column
    gesture_command: Column
    # clocks
    mark_first: Column
    marks: Column
    # first clock of each group: steps, held rows, associations, sequences, armed, valves, up
    clock_of: Column


@dataclass(frozen=True, slots=True)
class SignalName:
    """A signal: its tag in guards, what it is, and the part it reads.

    Attributes
    ----------
    name : str
        ``belly_level``; a valve's ends are ``shore_in.closed_end`` and ``shore_in.open_end``;
        a board's link is ``port_board.link``; the handset's attitude is ``handset.attitude``.
    kind : int
        One of the signal kinds of `codes`.
    part : str
        Name of the part in the rig (sender, float, meter, probe, valve, board, handset).
    """

    name: str
    kind: int
    part: str


@dataclass(frozen=True, slots=True)
class Names:
    """Names of the rows of `Tables`, in row order."""

    signals: tuple[SignalName, ...]
    outputs: tuple[str, ...]
    output_values: tuple[tuple[str, ...], ...]
    sequences: tuple[str, ...]
    steps: tuple[str, ...]
    """``fill.opening``"""
    transitions: tuple[str, ...]
    """The transition as written: ``filling -> closing when ...``"""
    interlocks: tuple[str, ...]
    alarming: tuple[bool, ...]
    """Whether each interlock raises an alarm when it trips."""
    valves: tuple[str, ...]
    parameters: tuple[str, ...]
    """``fill.target``"""
    truths: tuple[str, ...]
    """The condition of each truth row, as text."""
    says: tuple[str, ...]
    """What each step announces ("" for nothing)."""


@dataclass(frozen=True, slots=True)
class Program:
    """A compiled rig: frozen tables with their names and their hash.

    Attributes
    ----------
    rig : str
        Name of the rig.
    scan_ms : int
        Declared scan period [ms].
    tables : Tables
        The columns, by name.
    column : tuple of int
        The same as the one column that kernels read, see `layout`.
    names : Names
        Names of the rows.
    hash : str
        SHA-256 of the tables and the scan period, in hexadecimal.
    """

    rig: str
    scan_ms: int
    tables: Tables
    column: tuple[int, ...]
    names: Names
    hash: str

    def signal(self, name: str) -> int:
        """Row of a signal. Raises KeyError when there is none of that name."""
        return _row([signal.name for signal in self.names.signals], name)

    def output(self, name: str) -> int:
        """Row of an output. Raises KeyError when there is none of that name."""
        return _row(self.names.outputs, name)

    def sequence(self, name: str) -> int:
        """Row of a sequence. Raises KeyError when there is none of that name."""
        return _row(self.names.sequences, name)

    def step(self, name: str) -> int:
        """Row of a step by its full name ``sequence.step``. Raises KeyError when there is none."""
        return _row(self.names.steps, name)

    def parameter(self, name: str) -> int:
        """Row of a parameter by its full name ``sequence.parameter``. Raises KeyError when there is none."""
        return _row(self.names.parameters, name)

    def interlock(self, name: str) -> int:
        """Row of an interlock. Raises KeyError when there is none of that name."""
        return _row(self.names.interlocks, name)


class State(NamedTuple):
    """What the law remembers between scans. A value: tuples in, new tuples out.

    Discrete columns follow; ``clock`` [ms] and ``last_ms`` are the only ones that move
    while nothing happens.
    """

    clock: Column
    running: Column
    active: Column
    was: Column
    stored: Column
    on: Column
    sequence: Column
    released: Column
    armed: Column
    parameter: Column
    tripped: Column
    goal: Column
    at: Column
    quality: Column
    gesture: Column
    demand: Column
    ready: Column
    last_ms: Column


class Image(NamedTuple):
    """What the law sees in one scan.

    Attributes
    ----------
    raw : sequence of int
        Raw reading per signal: level senders in hundredths of a percent of their span
        (0..10000), switches 0/1, flows [mL/min], currents [mA], pressures [Pa], voltages [mV],
        attitude code, link 1.
    age_ms : sequence of int
        Age of each reading [ms]; -1 when none has come yet.
    bad : sequence of int
        1 where the source itself says that the reading is bad.
    command : sequence of int
        A command code per sequence (0 none), already admitted.
    reset : sequence of int
        1 per interlock whose latch a person resets in this scan.
    parameter : sequence of int
        The wish per parameter [unit of the parameter].
    """

    raw: Column
    age_ms: Column
    bad: Column
    command: Column
    reset: Column
    parameter: Column


def _row(names: tuple[str, ...] | list[str], name: str) -> int:
    try:
        return names.index(name)
    except ValueError:
        raise KeyError(name) from None


def initial_state(program: Program, released: bool = False) -> State:
    """The state after a start: initial steps active, every output safe, nothing known.

    Parameters
    ----------
    program : Program
        The compiled rig.
    released : bool
        Whether sequences that begin by themselves may do so at once; after a power cut they
        wait for a person instead.
    """
    t = program.tables
    sequences = len(t.sequence_permit)
    valves = len(t.valve_output)
    clocks = len(t.mark_first) - 1
    return State(
        clock=(0,) * clocks,
        running=(0,) * (clocks - 1) + (1,),
        active=t.step_initial,
        was=(0,) * len(t.step_initial),
        stored=(0,) * len(t.association_step),
        on=(0,) * len(t.action_output),
        sequence=(codes.IDLE,) * sequences,
        released=(int(released),) * sequences,
        armed=(0,) * sequences,
        parameter=t.parameter_default,
        tripped=(codes.CLEAR,) * len(t.interlock_guard),
        goal=tuple(t.output_safe[o] for o in t.valve_output),
        at=(codes.NOT_KNOWN,) * valves,
        quality=(codes.NEVER,) * len(t.signal_kind),
        gesture=(codes.FALSE,) * len(t.gesture_guard),
        demand=t.output_safe,
        ready=(0,),
        last_ms=(-1,),
    )
