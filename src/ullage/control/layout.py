"""Where everything lies: the Program, the state, the image and the scratch as single columns of integers.

Kernels see one column of each. The head of the Program's column says how many rows there are
of each kind and where each of its own columns, and each column of the other three, begins; so
``of(t, at.AMOUNT, row)`` is the entry ``row`` of the column *amount*, and ``out[t[at.ACTIVE] + s]``
says whether step ``s`` is active. A column is what a prover hashes and what a small board keeps
in its flash; and passing one costs a call nothing, where passing sixty costs more than a scan.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Any

from ullage.control.program import Column, Image, Program, State, Tables
from ullage.kernels import kernel

# How many rows there are.
(
    SIGNALS,
    PARAMETERS,
    TRUTHS,
    SEQUENCES,
    STEPS,
    TRANSITIONS,
    ACTIONS,
    ASSOCIATIONS,
    INTERLOCKS,
    OUTPUTS,
    VALVES,
    GESTURES,
    CLOCKS,
) = range(13)

# Where the columns of the tables begin.
(
    SIGNAL_KIND,
    STALE_MS,
    CONVERT_FIRST,
    CONVERT_RAW,
    CONVERT_VALUE,
    LEAST_RAW,
    MOST_RAW,
    PARAMETER_DEFAULT,
    PARAMETER_LEAST,
    PARAMETER_MOST,
    PARAMETER_SEQUENCE,
    READER_FIRST,
    READERS,
    OP,
    LEFT,
    RIGHT,
    AMOUNT,
    TERM_SOURCE,
    TERM_FACTOR,
    SEQUENCE_PERMIT,
    SEQUENCE_STAY,
    SEQUENCE_BEGINS,
    SEQUENCE_CONFIRM,
    SEQUENCE_AGAIN,
    SEQUENCE_OUTPUTS_FIRST,
    SEQUENCE_OUTPUTS,
    STEP_FIRST,
    STEP_SEQUENCE,
    STEP_INITIAL,
    STEP_FINAL,
    NEEDS_FIRST,
    NEEDS,
    TRANSITION_FIRST,
    TRANSITION_GUARD,
    FROM_FIRST,
    FROM_STEPS,
    TO_FIRST,
    TO_STEPS,
    ACTION_SEQUENCE,
    ACTION_OUTPUT,
    ACTION_VALUE,
    ASSOCIATION_FIRST,
    ASSOCIATION_STEP,
    ASSOCIATION_QUALIFIER,
    ASSOCIATION_MS,
    INTERLOCK_GUARD,
    INTERLOCK_UNTIL,
    INTERLOCK_LATCH,
    DRIVE_FIRST,
    DRIVE_OUTPUT,
    DRIVE_VALUE,
    OUTPUT_KIND,
    OUTPUT_SAFE,
    OUTPUT_SAFE_AFTER_MS,
    OUTPUT_LEASE_MS,
    OUTPUT_ON_LAPSE,
    VALVE_OUTPUT,
    VALVE_LATE_MS,
    VALVE_STROKE_MS,
    VALVE_CLOSED_END,
    VALVE_OPEN_END,
    GESTURE_FIRST,
    GESTURE_GUARD,
    GESTURE_COMMAND,
    MARK_FIRST,
    MARKS,
    CLOCK_OF,
) = range(13, 80)

# Where the columns of a state begin.
(
    CLOCK,
    RUNNING,
    ACTIVE,
    WAS,
    STORED,
    ON,
    SEQUENCE,
    RELEASED,
    ARMED,
    PARAMETER,
    TRIPPED,
    GOAL,
    AT,
    QUALITY,
    GESTURE,
    DEMAND,
    READY,
    LAST_MS,
) = range(80, 98)

# Where the columns of an image begin.
(
    SEEN_RAW,
    SEEN_AGE_MS,
    SEEN_BAD,
    SEEN_COMMAND,
    SEEN_RESET,
    SEEN_PARAMETER,
) = range(98, 104)

# Where the columns of the scratch begin: values of signals then parameters; truth rows; the wish
# per output; transitions that clear; steps that have given their token, and that are entered.
(
    VALUE,
    TRUTH,
    WISH,
    CLEAR,
    SPENT,
    ENTERED,
) = range(104, 110)

# How long a state, an image and the scratch are.
STATE_SIZE, IMAGE_SIZE, WORK_SIZE = range(110, 113)

HEAD = 113
"""Length of the head of a Program's column."""


@kernel
def of(t: Column, column: int, row: int) -> int:
    """Entry of a column of the tables."""
    return t[t[column] + row]


_COUNTED = (
    "signal_kind",
    "parameter_default",
    "op",
    "sequence_permit",
    "step_sequence",
    "transition_guard",
    "action_output",
    "association_step",
    "interlock_guard",
    "output_safe",
    "valve_output",
    "gesture_guard",
)
"""The column of `Tables` whose length is each count, clocks apart."""


def column_of(tables: Tables) -> tuple[int, ...]:
    """The whole Program as one column: its head, then the columns of `Tables` in order.

    Parameters
    ----------
    tables : Tables
        Columns of a compiled rig.

    Returns
    -------
    tuple of int
        What kernels call ``t``.
    """
    counts = [*(len(getattr(tables, name)) for name in _COUNTED), len(tables.mark_first) - 1]
    own = list(_starts(map(len, tables), HEAD))
    state = list(_starts(_state_lengths(counts), 0))
    image = list(_starts(_image_lengths(counts), 0))
    work = list(_starts(_work_lengths(counts), 0))
    head = [*counts, *own[:-1], *state[:-1], *image[:-1], *work[:-1], state[-1], image[-1], work[-1]]
    assert len(head) == HEAD
    return tuple(head) + tuple(number for column in tables for number in column)


def _starts(lengths: Any, at: int) -> Iterator[int]:
    """Where each column begins, and where the last one ends."""
    for length in lengths:
        yield at
        at += length
    yield at


def _state_lengths(n: Sequence[int]) -> list[int]:
    clocks, steps, associations, actions = n[CLOCKS], n[STEPS], n[ASSOCIATIONS], n[ACTIONS]
    return [
        *(clocks, clocks, steps, steps, associations, actions),
        *(n[SEQUENCES], n[SEQUENCES], n[SEQUENCES], n[PARAMETERS], n[INTERLOCKS]),
        *(n[VALVES], n[VALVES], n[SIGNALS], n[GESTURES], n[OUTPUTS], 1, 1),
    ]


def _image_lengths(n: Sequence[int]) -> list[int]:
    return [n[SIGNALS], n[SIGNALS], n[SIGNALS], n[SEQUENCES], n[INTERLOCKS], n[PARAMETERS]]


def _work_lengths(n: Sequence[int]) -> list[int]:
    return [n[SIGNALS] + n[PARAMETERS], n[TRUTHS], n[OUTPUTS], n[TRANSITIONS], n[STEPS], n[STEPS]]


def join(value: State | Image) -> list[int]:
    """A state or an image as one column."""
    return [int(number) for column in value for number in column]


def split_state(program: Program, column: Column) -> State:
    """One column as a state: a value again."""
    t = program.column
    starts = [t[k] for k in range(CLOCK, LAST_MS + 1)] + [t[STATE_SIZE]]
    return State(*(tuple(int(n) for n in column[a:b]) for a, b in itertools.pairwise(starts)))
