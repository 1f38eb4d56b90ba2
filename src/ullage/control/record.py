"""The record: one row for everything that happens, wherever it happens.

Run, trace and journal are sequences of this one type. The law writes kinds below
`codes.LAW_RECORDS`; the plant and the simulator number on from there.
"""

from __future__ import annotations

from collections.abc import MutableSequence, Sequence
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


LOG_HEAD = 2
"""A log begins with the time of the scan and the number of its records; rows of `WIDTH` follow."""


@kernel
def note(log: MutableSequence[int], kind: int, row: int, value: int, detail: int) -> None:
    """Append one record at the time of the scan.

    Where the log is full the record is dropped but still counted, so that a reader sees more
    records counted than there is room for and nothing is lost in silence.
    """
    at = LOG_HEAD + WIDTH * log[1]
    log[1] += 1
    if at + WIDTH <= len(log):
        log[at] = log[0]
        log[at + 1] = kind
        log[at + 2] = row
        log[at + 3] = value
        log[at + 4] = detail


def log_for(records: int) -> list[int]:
    """An empty log with room for so many records."""
    return [0] * (LOG_HEAD + records * WIDTH)


def unpack(log: Sequence[int]) -> tuple[Record, ...]:
    """The records of a log.

    Raises
    ------
    AssertionError
        When more were counted than there was room for.
    """
    end = LOG_HEAD + WIDTH * int(log[1])
    assert end <= len(log), "the log is too small for one scan"
    return tuple(Record(*(int(n) for n in log[i : i + WIDTH])) for i in range(LOG_HEAD, end, WIDTH))
