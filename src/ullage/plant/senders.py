"""What senders, floats, meters and probes read, and what of it reaches the controller.

A reading is taken at even times, sent over the link of its board, and counts from the time when
it was taken. A level sender has an offset and a gain of its own (drawn once per run, together
within its stated error), lags, is noisy, rounds, and feels slosh and slope.

A source whose reading cannot change, because the plant is still and the source has no noise,
*dozes*: its readings are looked after together later, with the same result to the last bit.
"""

from __future__ import annotations

from math import exp, floor, sin

from ullage.control.codes import SPAN_COUNTS
from ullage.control.rows import SCALES
from ullage.control.timers import NEVER_MS
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.chance import between, happens, normal, uniform
from ullage.plant.codes import (
    CALM,
    FULL_VOLTAGE,
    METRE,
    RING,
    SOURCE_ATTITUDE,
    SOURCE_CLOSED_END,
    SOURCE_CURRENT,
    SOURCE_FLOAT,
    SOURCE_LEVEL,
    SOURCE_LINK,
    SOURCE_METER,
    SOURCE_OPEN_END,
    SOURCE_PRESSURE,
    VOLTAGE,
)
from ullage.plant.events import DRY_CURRENT
from ullage.plant.flow import flow_at, head_at, volume_at
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.motors import CLOSED_END, OPEN_END, opening_at
from ullage.plant.tanks import depth_of
from ullage.rig.sensing import NOISE_WIDTH

DOZING, SEEN_DOZING = 1, 2
"""A source dozes; and the controller has its last reading in hand."""

LOOK_OUT = 512
"""A dozing source looks ahead over at most so many readings, and a board over so many scans."""

ML_PER_MINUTE = SCALES["flow"]
"""Millilitres per minute in a cubic metre per second."""

BOARD_LEAST = 0.5
"""Below this part of its voltage a board is dead: common practice, no source."""

JUMP_MS = 600_000
"""A noisy sender jumps so often [ms]: its track is worn at a place, and the float is there for a while (common
practice, no source)."""

SLOSH_FLOW = 0.003
"""Height of the waves that a changed flow makes [m]: common practice, no source."""

SLOSH_MOVING = 0.03
"""Greatest height of the waves while the rig moves [m]: common practice, no source."""

SLOSH_DECAY = 4.0
"""Time in which waves fall to 1/e [s]: common practice for small tanks, no source."""

SLOSH_EVERY = 2.0
"""While the rig moves, a new wave is made this often [s]."""

SLOSH_WAVES = 8
"""So many of the latest waves are added up; what is older has died down."""

SLOSH_ENDS = 40.0
"""After so long there are no waves left to speak of [s]."""

SLOSH_MIDDLE = 0.3
"""Part of the height at the tank's end that is felt in its middle."""


@kernel
def awake(n: Integers, r: Reals) -> int:
    """Whether the supply suffices for boards and controller."""
    least = BOARD_LEAST * real(n, r, at.SUPPLY, FULL_VOLTAGE)
    return 1 if of(n, at.POWERED, 0) and real(n, r, at.SUPPLY, VOLTAGE) >= least else 0


@kernel
def waves(n: Integers, r: Reals, tank: int, signal: int, when: float) -> float:
    """Rise of the surface at a sender by slosh [m]: damped waves of the tank's first mode."""
    rise = 0.0
    speed = real(n, r, at.SLOSH_SPEED, tank)
    since = when - real(n, r, at.STIRRED, tank)
    if 0.0 <= since < SLOSH_ENDS:
        rise += SLOSH_FLOW * exp(-since / SLOSH_DECAY) * sin(speed * since)
    if when < real(n, r, at.MOVED_UNTIL, tank) + SLOSH_ENDS:
        last = int(floor(min(when, real(n, r, at.MOVED_UNTIL, tank)) / SLOSH_EVERY))
        for wave in range(max(last - SLOSH_WAVES, 0), last + 1):
            since = when - wave * SLOSH_EVERY
            height = SLOSH_MOVING * uniform(of(n, at.SLOSH_STREAM, tank), 2 * wave)
            turn = 6.283185307179586 * uniform(of(n, at.SLOSH_STREAM, tank), 2 * wave + 1)
            rise += height * exp(-since / SLOSH_DECAY) * sin(speed * since + turn)
    if rise == 0.0:
        return 0.0
    off = abs(real(n, r, at.PLACE_X, signal)) / real(n, r, at.SLOSH_REACH, tank)
    return rise * (SLOSH_MIDDLE + (1.0 - SLOSH_MIDDLE) * min(off, 1.0))


@kernel
def depth_at(n: Integers, r: Reals, tank: int, signal: int, when: float) -> float:
    """Depth of water over the floor at a sender's or float's place [m], along the tank's wall."""
    run = tank * n[at.STANDS] + of(n, at.STAND, 0)
    depth = depth_of(n, r, run, volume_at(n, r, tank, when))
    depth += real(n, r, at.AHEAD, run) * real(n, r, at.PLACE_X, signal)
    depth += real(n, r, at.ACROSS, run) * real(n, r, at.PLACE_Y, signal)
    depth += waves(n, r, tank, signal, when)
    return min(max(depth, 0.0), real(n, r, at.TALL, tank))


@kernel
def level_counts(n: Integers, r: Reals, signal: int, source: int, ms: int) -> int:
    """Reading of a level sender in hundredths of a percent of its span.

    Parameters
    ----------
    n, r : columns
    signal : int
        The input that it reaches.
    source : int
        The sender that is wired to this input.
    ms : int
        When [ms].
    """
    part = real(n, r, at.LAGGED, signal)
    if not of(n, at.STEADY, signal):
        part = _lagging(n, r, signal, source, ms / 1000.0)
    part += real(n, r, at.NOISE, source) * _jitter(n, signal, ms)
    if real(n, r, at.NOISE_FAULT, signal) > 0.0:
        part += real(n, r, at.NOISE_FAULT, signal) * _jitter(n, signal, -1 - ms // JUMP_MS)
    part += real(n, r, at.OFFSET_FAULT, signal)
    resolution = real(n, r, at.RESOLUTION, source)
    if resolution > 0.0:
        part = resolution * floor(part / resolution + 0.5)
    return int(floor(SPAN_COUNTS * min(max(part, 0.0), 1.0) + 0.5))


@kernel
def _jitter(n: Integers, signal: int, counter: int) -> float:
    """A draw of a sender's noise, in standard deviations."""
    return min(max(normal(of(n, at.NOISE_STREAM, signal), counter), -NOISE_WIDTH), NOISE_WIDTH)


@kernel
def _lagging(n: Integers, r: Reals, signal: int, source: int, when: float) -> float:
    """Part of its span that a sender shows, with its own error and lag but before noise and rounding."""
    depth = depth_at(n, r, of(n, at.SOURCE_PART, source), source, when)
    part = (depth - real(n, r, at.ZERO, source)) / real(n, r, at.SPAN, source)
    part += real(n, r, at.OFFSET, source) + real(n, r, at.GAIN_ERROR, source) * part
    lagged = real(n, r, at.LAGGED, signal)
    if lagged > -1.0:
        part = lagged + real(n, r, at.LAG, source) * (part - lagged)
    n[n[at.STEADY] + signal] = 1 if part == lagged and of(n, at.LOOP, CALM) else 0
    r[n[at.LAGGED] + signal] = part
    return part


@kernel
def probe_counts(n: Integers, r: Reals, signal: int, ms: int) -> int:
    """Reading of a meter [mL/min] or of a probe [mA, Pa, mV]."""
    kind, part = of(n, at.SOURCE, signal), of(n, at.SOURCE_PART, signal)
    if kind == SOURCE_METER:
        value = ML_PER_MINUTE * flow_at(n, r, part, ms / 1000.0)
    elif kind == SOURCE_CURRENT:
        value = 1000.0 * real(n, r, at.PUMP_DRAWS, part) * of(n, at.TURNING, part)
        value *= DRY_CURRENT if of(n, at.DRY, part) else 1.0
    elif kind == SOURCE_PRESSURE:
        level = real(n, r, at.ELEVATION, of(n, at.STAND, 0) * n[at.NODES] + part)
        value = (head_at(n, r, part, ms / 1000.0) - level) * real(n, r, at.WHOLE, METRE)
    else:
        value = 1000.0 * real(n, r, at.SUPPLY, VOLTAGE)
    value *= 1.0 + real(n, r, at.GAIN_ERROR, signal)
    if value < real(n, r, at.LEAST_READ, signal):
        return 0
    return int(floor(value + 0.5))


@kernel
def reading(n: Integers, r: Reals, signal: int, ms: int) -> int:
    """What a source reads at a time [ms] in the units of the law's image."""
    if of(n, at.FORCED, signal) >= 0:
        return of(n, at.FORCED, signal)
    if of(n, at.STUCK, signal) and of(n, at.READ_MS, signal) >= 0:
        return of(n, at.RAW, signal)
    kind, part = of(n, at.SOURCE, signal), of(n, at.SOURCE_PART, signal)
    if kind == SOURCE_LEVEL:
        return level_counts(n, r, signal, of(n, at.SWAPPED, signal), ms)
    if kind == SOURCE_FLOAT:
        return 1 if depth_at(n, r, part, signal, ms / 1000.0) >= real(n, r, at.ZERO, signal) else 0
    if kind == SOURCE_CLOSED_END or kind == SOURCE_OPEN_END:
        if of(n, at.MUTE, part):
            return 0
        opening = opening_at(n, r, part, ms / 1000.0)
        if kind == SOURCE_CLOSED_END:
            return 1 if opening <= CLOSED_END else 0
        return 1 if opening >= OPEN_END else 0
    if kind == SOURCE_LINK:
        return 1
    if kind == SOURCE_ATTITUDE:
        return of(n, at.ATTITUDE, 0)
    return probe_counts(n, r, signal, ms)


@kernel
def arrival(n: Integers, r: Reals, board: int, loss: int, delay: int, ms: int) -> int:
    """When what is sent over a board's link at a time arrives [ms], -1 when it is lost.

    Parameters
    ----------
    n, r : columns
    board : int
        -1: no link between.
    loss, delay : int
        Streams of the draws.
    ms : int
        When it is sent.
    """
    if board < 0:
        return ms
    if of(n, at.LOST, board):
        return -1
    chance = real(n, r, at.BOARD_LOSS, board)
    if chance > 0.0 and happens(loss, ms, chance):
        return -1
    least, most = of(n, at.BOARD_DELAY_LEAST_MS, board), of(n, at.BOARD_DELAY_MOST_MS, board)
    late = least if least == most else int(between(delay, ms, float(least), float(most)))
    return ms + late + of(n, at.LATE_MS, board)


@kernel
def send(n: Integers, r: Reals, signal: int, ms: int, raw: int) -> None:
    """Send a reading, unless it is published on change only and neither has changed nor is its heartbeat due."""
    if of(n, at.ON_CHANGE, signal) and of(n, at.SENT_MS, signal) >= 0:
        if raw == of(n, at.SENT_RAW, signal) and ms - of(n, at.SENT_MS, signal) < of(n, at.HEARTBEAT_MS, signal):
            return
    n[n[at.SENT_RAW] + signal], n[n[at.SENT_MS] + signal] = raw, ms
    board = of(n, at.SOURCE_BOARD, signal)
    arrives = arrival(n, r, board, of(n, at.LOSS_STREAM, signal), of(n, at.DELAY_STREAM, signal), ms)
    _enqueue(n, signal, ms, raw, arrives)
    if board >= 0 and of(n, at.AGAIN_MS, board) > 0 and arrives >= 0:
        _enqueue(n, signal, ms, raw, arrives + of(n, at.AGAIN_MS, board))


@kernel
def _enqueue(n: Integers, signal: int, ms: int, raw: int, arrives: int) -> None:
    count = n[at.RING_COUNT] + signal
    slot = signal * RING + n[count] % RING
    n[n[at.RING_MS] + slot], n[n[at.RING_RAW] + slot], n[n[at.RING_ARRIVAL_MS] + slot] = ms, raw, arrives
    n[count] += 1


@kernel
def read(n: Integers, r: Reals, signal: int, ms: int) -> None:
    """Take one reading and send it; a dead source and a dead board send nothing."""
    board_on = awake(n, r)
    if board_on and not of(n, at.DEAD, signal):
        raw = reading(n, r, signal, ms)
        n[n[at.RAW] + signal], n[n[at.READ_MS] + signal] = raw, ms
        send(n, r, signal, ms, raw)
    n[n[at.DUE_MS] + signal] = ms + of(n, at.EVERY_MS, signal)


@kernel
def hear(n: Integers, signal: int, now_ms: int) -> None:
    """Take the newest reading that has arrived by now; whatever is older than the one in hand is dropped."""
    count = of(n, at.RING_COUNT, signal)
    heard = n[at.HEARD_MS] + signal
    for k in range(count - 1, max(count - RING, 0) - 1, -1):
        slot = signal * RING + k % RING
        taken, arrives = of(n, at.RING_MS, slot), of(n, at.RING_ARRIVAL_MS, slot)
        if taken <= n[heard]:
            return
        if 0 <= arrives <= now_ms:
            n[heard], n[n[at.HEARD_RAW] + signal] = taken, of(n, at.RING_RAW, slot)
            return


@kernel
def may_doze(n: Integers, r: Reals, signal: int) -> int:
    """Whether a source's readings stay the same as long as the plant is still."""
    if of(n, at.SOURCE, signal) == SOURCE_LEVEL and not of(n, at.STUCK, signal):
        return 0
    if of(n, at.DEAD, signal) or not awake(n, r) or of(n, at.HEARD_RAW, signal) != of(n, at.RAW, signal):
        return 0
    if of(n, at.HEARD_MS, signal) < 0 or of(n, at.READ_MS, signal) < 0:
        return 0
    gap = of(n, at.HEARTBEAT_MS, signal) if of(n, at.ON_CHANGE, signal) else 0
    return 1 if gap + of(n, at.EVERY_MS, signal) < of(n, at.SOURCE_STALE_MS, signal) else 0


@kernel
def doze(n: Integers, r: Reals, signal: int, now_ms: int) -> None:
    """Let a source doze as long as it stays fresh; one over whose link nothing can be lost until it is woken."""
    until = look_out(n, r, signal)
    if until > now_ms:
        n[n[at.DOZES] + signal], n[n[at.DUE_MS] + signal] = DOZING, until


@kernel
def look_out(n: Integers, r: Reals, signal: int) -> int:
    """Until when a dozing source stays fresh at the controller [ms], as far as is looked ahead.

    Its readings to come are the same, so only their fate on the link counts, and that is drawn
    already. Of all readings that could come in time the last one reaches furthest, so each look
    begins at that and goes back only past those that do not arrive.
    """
    board = of(n, at.SOURCE_BOARD, signal)
    if is_sure(n, r, board):
        return NEVER_MS
    every, stale = of(n, at.EVERY_MS, signal), of(n, at.SOURCE_STALE_MS, signal)
    heard, first = of(n, at.HEARD_MS, signal), of(n, at.READ_MS, signal) + every
    if of(n, at.ON_CHANGE, signal):
        return heard + stale
    loss, delay = of(n, at.LOSS_STREAM, signal), of(n, at.DELAY_STREAM, signal)
    while heard < first + LOOK_OUT * every:
        next_one, ms = max(first, heard + 1), first + (heard + stale - first) // every * every
        while ms >= next_one and not 0 <= arrival(n, r, board, loss, delay, ms) <= heard + stale:
            ms -= every
        if ms < next_one:
            return heard + stale
        heard = ms
    return heard + stale


@kernel
def is_sure(n: Integers, r: Reals, board: int) -> int:
    """Whether everything sent over a link arrives at once."""
    if board < 0:
        return 1
    late = of(n, at.BOARD_DELAY_MOST_MS, board) + of(n, at.LATE_MS, board) + of(n, at.AGAIN_MS, board)
    return 1 if not of(n, at.LOST, board) and late == 0 and real(n, r, at.BOARD_LOSS, board) == 0.0 else 0


@kernel
def catch_up(n: Integers, r: Reals, signal: int, now_ms: int) -> None:
    """Send all readings that a dozing source has taken before now, as many of them as could still matter.

    While it dozed one was always fresh at the controller, so none older than that can be the newest.
    """
    every, raw = of(n, at.EVERY_MS, signal), of(n, at.RAW, signal)
    reach = min(of(n, at.SOURCE_STALE_MS, signal) + every, RING * every)
    last = of(n, at.READ_MS, signal) + (now_ms - 1 - of(n, at.READ_MS, signal)) // every * every
    first = of(n, at.READ_MS, signal) + every
    if last - first > reach:
        if of(n, at.ON_CHANGE, signal):
            beat = (of(n, at.HEARTBEAT_MS, signal) + every - 1) // every * every
            n[n[at.SENT_MS] + signal] += (last - reach - of(n, at.SENT_MS, signal)) // beat * beat
            first = max(first, of(n, at.SENT_MS, signal) + every)
        else:
            first = last - reach // every * every
    ms = first
    while ms <= last:
        send(n, r, signal, ms, raw)
        ms += every
    n[n[at.READ_MS] + signal] = max(last, of(n, at.READ_MS, signal))
    hear(n, signal, now_ms)


@kernel
def wake(n: Integers, r: Reals, signal: int, now_ms: int) -> None:
    """End a doze: from now on every reading is taken by itself again."""
    catch_up(n, r, signal, now_ms)
    n[n[at.DOZES] + signal] = 0
    n[n[at.DUE_MS] + signal] = of(n, at.READ_MS, signal) + of(n, at.EVERY_MS, signal)


@kernel
def rouse(n: Integers, r: Reals, signal: int, now_ms: int) -> None:
    """Look after a dozing source when the time is up: doze on if enough has arrived, else wake."""
    catch_up(n, r, signal, now_ms)
    if of(n, at.HEARD_MS, signal) + of(n, at.SOURCE_STALE_MS, signal) > now_ms:
        n[n[at.DUE_MS] + signal] = look_out(n, r, signal)
    else:
        wake(n, r, signal, now_ms)
