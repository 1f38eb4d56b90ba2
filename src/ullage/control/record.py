"""The record: one row for everything that happens, wherever it happens.

Run, trace and journal are sequences of this one type. The law writes kinds below
`codes.LAW_RECORDS`; the plant and the simulator number on from there.
"""

from __future__ import annotations

from collections.abc import MutableSequence
from typing import NamedTuple

from ullage.kernels import kernel

WIDTH = 5
"""Integers per record in a flat buffer."""


class Record(NamedTuple):
    """One happening.

    Attributes
    ----------
    now_ms : int
        When, in whole milliseconds since the start.
    kind : int
        What kind; it says what the three numbers mean.
    row, value, detail : int
        Which row, its new value, and one more figure.
    """

    now_ms: int
    kind: int
    row: int
    value: int
    detail: int


class Log(NamedTuple):
    """Where one scan writes its records: flat rows, and their head (time of the scan, rows so far)."""

    rows: MutableSequence[int]
    head: MutableSequence[int]


@kernel
def note(log: Log, kind: int, row: int, value: int, detail: int) -> None:
    """Append one record at the time of the scan.

    Where the rows are full the record is dropped but still counted, so that a reader sees
    more rows counted than there is room for and nothing is lost in silence.
    """
    count = log.head[1]
    log.head[1] = count + 1
    at = count * 5
    if at + 5 <= len(log.rows):
        log.rows[at] = log.head[0]
        log.rows[at + 1] = kind
        log.rows[at + 2] = row
        log.rows[at + 3] = value
        log.rows[at + 4] = detail


def log_for(rows: int) -> Log:
    """An empty log with room for so many rows, as lists."""
    return Log([0] * (rows * WIDTH), [0, 0])


def unpack(log: Log) -> tuple[Record, ...]:
    """The rows of a log as records.

    Raises
    ------
    AssertionError
        When more rows were counted than there was room for.
    """
    count = log.head[1]
    assert count * WIDTH <= len(log.rows), "record buffer too small for one scan"
    return tuple(Record(*(int(n) for n in log.rows[i * WIDTH : (i + 1) * WIDTH])) for i in range(count))
