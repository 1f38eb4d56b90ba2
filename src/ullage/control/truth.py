"""Not knowing is a value: readings with quality, and guards in Kleene's three-valued logic."""

from __future__ import annotations

from ullage.control import layout as at
from ullage.control.codes import (
    AT_CLOSED,
    AT_OPEN,
    BAD,
    CLOSED,
    FAILED,
    FALSE,
    GOOD,
    NEVER,
    NOT_KNOWN,
    OPEN,
    R_QUALITY,
    R_READY,
    STALE,
    T_AND,
    T_CONST,
    T_DRIVEN,
    T_FLAG,
    T_GOOD,
    T_HELD,
    T_LINEAR,
    T_NOT,
    T_OR,
    T_SEQUENCE,
    T_SINCE,
    T_STEP,
    T_VALVE,
    TRUE,
    UNKNOWN,
)
from ullage.control.layout import of
from ullage.control.program import Buffer, Column
from ullage.control.record import note
from ullage.control.timers import HELDS, UP, begin, end
from ullage.kernels import kernel


@kernel
def value_of(t: Column, signal: int, raw: int) -> int:
    """Value of a raw reading by the signal's integer table, beyond the ends held at the ends."""
    first = of(t, at.CONVERT_FIRST, signal)
    last = of(t, at.CONVERT_FIRST, signal + 1) - 1
    if last < first:
        return raw
    if raw <= of(t, at.CONVERT_RAW, first):
        return of(t, at.CONVERT_VALUE, first)
    for i in range(first + 1, last + 1):
        if raw <= of(t, at.CONVERT_RAW, i):
            span = of(t, at.CONVERT_RAW, i) - of(t, at.CONVERT_RAW, i - 1)
            rise = of(t, at.CONVERT_VALUE, i) - of(t, at.CONVERT_VALUE, i - 1)
            return of(t, at.CONVERT_VALUE, i - 1) + rise * (raw - of(t, at.CONVERT_RAW, i - 1)) // span
    return of(t, at.CONVERT_VALUE, last)


@kernel
def quality_of(t: Column, image: Column, signal: int) -> int:
    """Quality of a signal in this image: never seen, bad, stale or good."""
    if image[t[at.SEEN_AGE_MS] + signal] < 0:
        return NEVER
    if (
        image[t[at.SEEN_BAD] + signal]
        or image[t[at.SEEN_RAW] + signal] < of(t, at.LEAST_RAW, signal)
        or image[t[at.SEEN_RAW] + signal] > of(t, at.MOST_RAW, signal)
    ):
        return BAD
    if image[t[at.SEEN_AGE_MS] + signal] > of(t, at.STALE_MS, signal):
        return STALE
    return GOOD


@kernel
def sense(t: Column, image: Column, out: Buffer, work: Buffer, log: Buffer) -> None:
    """Fill the values of all sources, note changes of quality, and say when the image is complete."""
    signals = t[at.SIGNALS]
    complete = 1
    for i in range(signals):
        quality = quality_of(t, image, i)
        if quality != GOOD:
            complete = 0
        if quality != out[t[at.QUALITY] + i]:
            note(log, R_QUALITY, i, quality, out[t[at.QUALITY] + i])
            out[t[at.QUALITY] + i] = quality
        work[t[at.VALUE] + i] = value_of(t, i, image[t[at.SEEN_RAW] + i])
    for p in range(t[at.PARAMETERS]):
        work[t[at.VALUE] + signals + p] = out[t[at.PARAMETER] + p]
    up = of(t, at.CLOCK_OF, UP)
    if not out[t[at.READY]] and (complete or out[t[at.CLOCK] + up] >= of(t, at.MARKS, of(t, at.MARK_FIRST, up))):
        out[t[at.READY]] = 1
        note(log, R_READY, 0, 1, complete)


@kernel
def linear(t: Column, out: Column, work: Column, row: int) -> int:
    """Truth of ``sum(factor * source) + amount >= 0``; unknown when a signal in it is not good."""
    signals, quality, values = t[at.SIGNALS], t[at.QUALITY], t[at.VALUE]
    sources, factors = t[at.TERM_SOURCE], t[at.TERM_FACTOR]
    total = of(t, at.AMOUNT, row)
    first = of(t, at.LEFT, row)
    for k in range(first, first + of(t, at.RIGHT, row)):
        source = t[sources + k]
        if source < signals and out[quality + source] != GOOD:
            return UNKNOWN
        total += t[factors + k] * work[values + source]
    return TRUE if total >= 0 else FALSE


@kernel
def valve_is(position: int, wanted: int) -> int:
    """Truth of ``valve is open / closed / failed`` (wanted: OPEN, CLOSED, or FAILED)."""
    if position == NOT_KNOWN:
        return UNKNOWN
    if wanted == OPEN:
        return TRUE if position == AT_OPEN else FALSE
    if wanted == CLOSED:
        return TRUE if position == AT_CLOSED else FALSE
    return TRUE if position == FAILED else FALSE


@kernel
def held(t: Column, out: Buffer, work: Buffer, row: int) -> int:
    """Truth of ``( ... ) held``: an on-delay that anything but true starts again."""
    inner = work[t[at.TRUTH] + of(t, at.LEFT, row)]
    clock = of(t, at.CLOCK_OF, HELDS) + of(t, at.RIGHT, row)
    if inner != TRUE:
        end(t, out, clock)
        return inner
    if not out[t[at.RUNNING] + clock]:
        begin(t, out, clock)
    return TRUE if out[t[at.CLOCK] + clock] >= of(t, at.AMOUNT, row) else FALSE


@kernel
def leaf(t: Column, out: Column, work: Column, row: int) -> int:
    """Truth of a row that looks at the image or the state."""
    op = of(t, at.OP, row)
    left = of(t, at.LEFT, row)
    if op == T_CONST:
        return of(t, at.AMOUNT, row)
    if op == T_LINEAR:
        return linear(t, out, work, row)
    if op == T_GOOD:
        return TRUE if out[t[at.QUALITY] + left] == GOOD else FALSE
    if op == T_STEP:
        return TRUE if out[t[at.ACTIVE] + left] else FALSE
    if op == T_SINCE:
        return TRUE if out[t[at.ACTIVE] + left] and out[t[at.CLOCK] + left] >= of(t, at.AMOUNT, row) else FALSE
    if op == T_SEQUENCE:
        return TRUE if (of(t, at.AMOUNT, row) >> out[t[at.SEQUENCE] + left]) & 1 else FALSE
    if op == T_DRIVEN:
        return TRUE if out[t[at.DEMAND] + left] != of(t, at.OUTPUT_SAFE, left) else FALSE
    if op == T_VALVE:
        return valve_is(out[t[at.AT] + left], of(t, at.RIGHT, row))
    if out[t[at.QUALITY] + left] != GOOD:
        return UNKNOWN
    if op == T_FLAG:
        return TRUE if work[t[at.VALUE] + left] else FALSE
    return TRUE if work[t[at.VALUE] + left] == of(t, at.AMOUNT, row) else FALSE


@kernel
def evaluate(t: Column, out: Buffer, work: Buffer) -> None:
    """Truth of every row, operands first: each guard is resolved once, as a whole."""
    ops, lefts, rights, truth = t[at.OP], t[at.LEFT], t[at.RIGHT], t[at.TRUTH]
    for row in range(t[at.TRUTHS]):
        op = t[ops + row]
        if op == T_AND:
            work[truth + row] = min(work[truth + t[lefts + row]], work[truth + t[rights + row]])
        elif op == T_OR:
            work[truth + row] = max(work[truth + t[lefts + row]], work[truth + t[rights + row]])
        elif op == T_NOT:
            work[truth + row] = TRUE - work[truth + t[lefts + row]]
        elif op == T_HELD:
            work[truth + row] = held(t, out, work, row)
        else:
            work[truth + row] = leaf(t, out, work, row)
