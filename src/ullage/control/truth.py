"""Not knowing is a value: readings with quality, and guards in Kleene's three-valued logic."""

from __future__ import annotations

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
from ullage.control.program import Image, State, Tables, Work
from ullage.control.record import Log, note
from ullage.control.timers import HELDS, UP, begin, end
from ullage.kernels import kernel


@kernel
def value_of(t: Tables, signal: int, raw: int) -> int:
    """Value of a raw reading by the signal's integer table, beyond the ends held at the ends."""
    first = t.convert_first[signal]
    last = t.convert_first[signal + 1] - 1
    if last < first:
        return raw
    if raw <= t.convert_raw[first]:
        return t.convert_value[first]
    for i in range(first + 1, last + 1):
        if raw <= t.convert_raw[i]:
            span = t.convert_raw[i] - t.convert_raw[i - 1]
            rise = t.convert_value[i] - t.convert_value[i - 1]
            return t.convert_value[i - 1] + rise * (raw - t.convert_raw[i - 1]) // span
    return t.convert_value[last]


@kernel
def quality_of(t: Tables, image: Image, signal: int) -> int:
    """Quality of a signal in this image: never seen, bad, stale or good."""
    if image.age_ms[signal] < 0:
        return NEVER
    if image.bad[signal] or image.raw[signal] < t.least_raw[signal] or image.raw[signal] > t.most_raw[signal]:
        return BAD
    if image.age_ms[signal] > t.stale_ms[signal]:
        return STALE
    return GOOD


@kernel
def sense(t: Tables, image: Image, out: State, work: Work, log: Log) -> None:
    """Fill the values of all sources, note changes of quality, and say when the image is complete."""
    signals = len(t.signal_kind)
    complete = 1
    for i in range(signals):
        quality = quality_of(t, image, i)
        if quality != GOOD:
            complete = 0
        if quality != out.quality[i]:
            note(log, R_QUALITY, i, quality, out.quality[i])
            out.quality[i] = quality
        work.value[i] = value_of(t, i, image.raw[i])
    for p in range(len(t.parameter_default)):
        work.value[signals + p] = out.parameter[p]
    up = t.clock_of[UP]
    if not out.ready[0] and (complete or out.clock[up] >= t.marks[t.mark_first[up]]):
        out.ready[0] = 1
        note(log, R_READY, 0, 1, complete)


@kernel
def linear(t: Tables, out: State, work: Work, row: int) -> int:
    """Truth of ``sum(factor * source) + amount >= 0``; unknown when a signal in it is not good."""
    signals = len(t.signal_kind)
    total = t.amount[row]
    for k in range(t.left[row], t.left[row] + t.right[row]):
        source = t.term_source[k]
        if source < signals and out.quality[source] != GOOD:
            return UNKNOWN
        total += t.term_factor[k] * work.value[source]
    return TRUE if total >= 0 else FALSE


@kernel
def valve_is(at: int, wanted: int) -> int:
    """Truth of ``valve is open / closed / failed`` (wanted: OPEN, CLOSED, or FAILED)."""
    if at == NOT_KNOWN:
        return UNKNOWN
    if wanted == OPEN:
        return TRUE if at == AT_OPEN else FALSE
    if wanted == CLOSED:
        return TRUE if at == AT_CLOSED else FALSE
    return TRUE if at == FAILED else FALSE


@kernel
def held(t: Tables, out: State, work: Work, row: int) -> int:
    """Truth of ``( ... ) held``: an on-delay that anything but true starts again."""
    inner = work.truth[t.left[row]]
    clock = t.clock_of[HELDS] + t.right[row]
    if inner != TRUE:
        end(out, clock)
        return inner
    if not out.running[clock]:
        begin(out, clock)
    return TRUE if out.clock[clock] >= t.amount[row] else FALSE


@kernel
def leaf(t: Tables, out: State, work: Work, row: int) -> int:
    """Truth of a row that looks at the image or the state."""
    op = t.op[row]
    left = t.left[row]
    if op == T_CONST:
        return t.amount[row]
    if op == T_LINEAR:
        return linear(t, out, work, row)
    if op == T_GOOD:
        return TRUE if out.quality[left] == GOOD else FALSE
    if op == T_STEP:
        return TRUE if out.active[left] else FALSE
    if op == T_SINCE:
        return TRUE if out.active[left] and out.clock[left] >= t.amount[row] else FALSE
    if op == T_SEQUENCE:
        return TRUE if (t.amount[row] >> out.sequence[left]) & 1 else FALSE
    if op == T_DRIVEN:
        return TRUE if out.demand[left] != t.output_safe[left] else FALSE
    if op == T_VALVE:
        return valve_is(out.at[left], t.right[row])
    if out.quality[left] != GOOD:
        return UNKNOWN
    if op == T_FLAG:
        return TRUE if work.value[left] else FALSE
    return TRUE if work.value[left] == t.amount[row] else FALSE


@kernel
def evaluate(t: Tables, out: State, work: Work) -> None:
    """Truth of every row, operands first: each guard is resolved once, as a whole."""
    for row in range(len(t.op)):
        op = t.op[row]
        if op == T_AND:
            work.truth[row] = min(work.truth[t.left[row]], work.truth[t.right[row]])
        elif op == T_OR:
            work.truth[row] = max(work.truth[t.left[row]], work.truth[t.right[row]])
        elif op == T_NOT:
            work.truth[row] = TRUE - work.truth[t.left[row]]
        elif op == T_HELD:
            work.truth[row] = held(t, out, work, row)
        else:
            work.truth[row] = leaf(t, out, work, row)
