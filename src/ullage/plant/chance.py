"""Chance as a function: the same seed, stream and counter give the same draw, always.

There is no state to carry, so leaving out a draw changes no other draw, the order of asking
does not matter, and plain Python and machine code agree bit by bit. The mixing keeps to 32
bits inside Python's or 64-bit integers. A *stream* is worked out once from seed, purpose and
part, and a draw is then a number of the stream and a counter.
"""

from __future__ import annotations

from math import log, sqrt

from ullage.kernels import kernel

MASK = 0xFFFFFFFF
"""The low 32 bits."""

STREAM_STEP = 0x9E3779B9
"""2^32 over the golden ratio: neighbouring streams start far apart (Knuth, TAOCP 3, 6.4)."""

STREAMS_OF_PURPOSE = 4096
"""A purpose has at most this many streams (one per part)."""

# What a draw is for: each purpose has its own streams, one per part. A number is never given anew, since with
# another one every seed would be another day.
ERROR_OFFSET, ERROR_GAIN, NOISE, LOSS, DELAY, STROKE = 0, 1, 2, 3, 4, 5
CALL_LOSS, CALL_DELAY, SLOSH, HOSE_PRESSURE = 7, 8, 9, 12


@kernel
def mixed(bits: int) -> int:
    """Mix 32 bits so that each bit of the result hangs on every bit given.

    Two rounds of multiply and shift with the constants of Wellons (2018, "lowbias32", public
    domain), whose bias of any output bit against any input bit is below 0.2 %. One gives
    1753845952.
    """
    bits = ((bits ^ (bits >> 16)) * 0x7FEB352D) & MASK
    bits = ((bits ^ (bits >> 15)) * 0x846CA68B) & MASK
    return bits ^ (bits >> 16)


@kernel
def stream(seed: int, purpose: int, part: int) -> int:
    """The stream of draws of one part for one purpose [0 .. 2^32 - 1]."""
    key = mixed((seed & MASK) ^ 0x5BD1E995)
    return mixed((key + (purpose * STREAMS_OF_PURPOSE + part) * STREAM_STEP) & MASK)


@kernel
def drawn(source: int, counter: int) -> int:
    """32 random bits for one draw [0 .. 2^32 - 1] of a stream."""
    return mixed(mixed(source ^ (counter & MASK)) ^ source)


@kernel
def uniform(source: int, counter: int) -> float:
    """A number between 0 and 1, neither end possible."""
    return (drawn(source, counter) + 0.5) / 4294967296.0


@kernel
def happens(source: int, counter: int, chance: float) -> int:
    """1 with this chance [0..1], else 0."""
    return 1 if drawn(source, counter) < chance * 4294967296.0 else 0


@kernel
def between(source: int, counter: int, least: float, most: float) -> float:
    """A number between two ends, all equally likely."""
    return least + (most - least) * uniform(source, counter)


@kernel
def normal(source: int, counter: int) -> float:
    """A number of the standard normal distribution, by the inverse of its distribution function."""
    return quantile(uniform(source, counter))


@kernel
def quantile(p: float) -> float:
    """Normal quantile, good to 1e-7 (Wichura 1988, Applied Statistics 37, AS 241, PPND7).

    The upper 2.5 % begin at 1.959964.
    """
    q = p - 0.5
    if abs(q) <= 0.425:
        r = 0.180625 - q * q
        top = ((59.109374720 * r + 159.29113202) * r + 50.434271938) * r + 3.3871327179
        return q * top / (((67.187563600 * r + 78.757757664) * r + 17.895169469) * r + 1.0)
    r = sqrt(-log(p if q < 0.0 else 1.0 - p))
    if r <= 5.0:
        r -= 1.6
        top = ((0.17023821103 * r + 1.3067284816) * r + 2.7568153900) * r + 1.4234372777
        x = top / ((0.12021132975 * r + 0.73700164250) * r + 1.0)
    else:
        r -= 5.0
        top = ((0.017337203997 * r + 0.42868294337) * r + 3.0812263860) * r + 6.6579051150
        x = top / ((0.012258202635 * r + 0.24197894225) * r + 1.0)
    return -x if q < 0.0 else x
