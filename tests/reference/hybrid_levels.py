"""Levels, a leaking tank and a leaking burner (HYB-01, 02, 07): as plans, and as exact runs beside them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal, getcontext
from fractions import Fraction
from fractions import Fraction as F
from math import ceil, floor

from tests.reference.hybrid import (
    ASK_OFF,
    ASK_ON,
    EITHER,
    NO,
    YES,
    Ways,
    actor,
    by_state,
    by_volume,
    decider,
    level,
    plan_of,
    ticks,
)
from ullage.prove import plan as p
from ullage.prove.plan import Actor, Output, Plan

# --- HYB-01: the water-level monitor ----------------------------------------------------------------

FINE = 1000
"""Steps of a level in one of its units."""

BELOW = 3
"""Levels are counted from so many units below nought."""


def level_monitor(
    tick: Fraction, delay: Fraction, low: Fraction, high: Fraction, safe: tuple[Fraction, Fraction], dense: bool
) -> Plan:
    """A level that rises by 1 with the pump on and falls by 2 with it off; commands take effect late.

    Parameters
    ----------
    tick : Fraction
        Period of the monitor [s]; where ``dense``, it must divide the time of every event.
    delay, low, high
        Of commands [s]; of the thresholds.
    safe : (Fraction, Fraction)
        Least and greatest level that may be.
    dense : bool
        Whether the run begins in step with the monitor, so that it sees each threshold when it is passed.
    """

    def at(height: Fraction) -> int:
        return ticks(height + BELOW, Fraction(1, FINE))

    rise, fall = ticks(tick, Fraction(1, FINE)), ticks(2 * tick, Fraction(1, FINE))
    late = ticks(delay, tick)
    # On, off, then the ticks left to off, then those left to on.
    going_off, going_on = range(2, 2 + late), range(2 + late, 2 + 2 * late)
    moves = [((going_off[-1],), (0,)), ((1,), (going_on[-1],))]
    moves += [((1 if n == going_off[0] else n - 1,),) * 2 for n in going_off]
    moves += [((0 if n == going_on[0] else n - 1,),) * 2 for n in going_on]
    pump = actor("pump", [1, 0, *(1 for _ in going_off), *(0 for _ in going_on)], moves, [0])
    # In the dense form each place that the level comes to has a piece of its own, so nothing is widened.
    cuts = {at(low) + 1, at(high), at(safe[0]), at(safe[1]) + 1, *(range(0, at(Fraction(16)), rise) if dense else ())}
    first = at(Fraction(1))
    water = level(
        "water",
        cuts,
        at(Fraction(16)),
        (first, first if dense else first + rise - 1),
        lambda kinds, low, high: (rise, rise) if kinds[0] else (-fall, -fall),
    )
    rows = [
        by_volume(0, water, lambda least, most: YES if least >= at(high) else NO),
        by_volume(0, water, lambda least, most: YES if most <= at(low) else NO),
        by_volume(0, water, lambda least, most: YES if most < at(safe[0]) or least > at(safe[1]) else NO),
    ]

    def follow(state: str) -> Ways:
        row, other = (0, "off") if state == "on" else (1, "on")
        return [(other, [(row, YES)]), (state, [(row, NO)])]

    monitor = decider("monitor", ("on", "off"), follow, ["on"], {"on": ASK_ON, "off": ASK_OFF})
    return plan_of([monitor], [pump], [water], rows, [Output("pump", 0, ASK_OFF)])


def level_monitor_run(
    delay: Fraction, low: Fraction, high: Fraction, period: Fraction | None, phase: Fraction = Fraction(0)
) -> tuple[Fraction, Fraction]:
    """Least and greatest level of one run, event by event; ``period`` None: thresholds are seen as they are passed."""
    y, time, slope = Fraction(1), Fraction(0), 1
    seen = [y]
    for _ in range(40):
        mark = high if slope > 0 else low
        passed = time + (mark - y) / slope
        if period is not None:  # the first look at or after it
            looks = -((phase - passed) // period)
            passed = phase + looks * period
        y, time = y + slope * (passed + delay - time), passed + delay
        slope = -2 if slope > 0 else 1
        seen.append(y)
    return min(seen), max(seen)


# --- HYB-02: the leaking tank with a slow valve -------------------------------------------------------

MICRO = 1_000_000
"""Steps of the leaking tank's level in one of its units."""

LEAK, GAIN = F("0.02"), F("0.3")
"""x' = -LEAK x + GAIN a, for a valve that is a open."""


def leaking_tank(
    stroke: Fraction,
    opens: tuple[Fraction, Fraction],
    closes: tuple[Fraction, Fraction],
    safe: tuple[Fraction, Fraction],
    period: int = 1,
    tick: Fraction = F(1, 10),
) -> Plan:
    """A tank that leaks, filled through a valve that takes its time.

    While the valve rests a tick may end at any time before its end, so the plan covers a monitor that
    sees a threshold when it is passed, one that looks every ``period`` ticks, and all between.

    Parameters
    ----------
    stroke : Fraction
        From shut to open [s].
    opens, closes : (Fraction, Fraction)
        The valve must open at or below the first, and may at or below the second; must close at or
        above the second, and may at or above the first.
    safe : (Fraction, Fraction)
        Least and greatest level that may be.
    period : int
        Ticks between two looks of the monitor.
    tick : Fraction
        How fine the valve's way is taken [s].
    """
    steps = ticks(stroke, tick)
    # Shut, open, then the steps up and the steps down.
    up, down = range(2, 2 + steps), range(2 + steps, 2 + 2 * steps)
    kinds = [0, 1, *(2 + n for n in range(steps)), *(2 + n for n in range(steps))]
    moves: list[tuple[Sequence[int], Sequence[int]]] = [((0,), (up[0],)), ((down[-1],), (1,))]
    moves += [((down[n],), (up[n + 1] if n + 1 < steps else 1,)) for n in range(steps)]
    moves += [((down[n - 1] if n else 0,), (up[n],)) for n in range(steps)]
    valve = actor("valve", kinds, moves, [1])
    reach = GAIN * tick  # no tick carries the level further

    def rate(kind: tuple[int, ...], low: int, high: int) -> tuple[int, int]:
        least, most = F(low, MICRO) - reach, F(high, MICRO) + reach
        rests = kind[0] < 2
        ends = (F(kind[0]), F(kind[0])) if rests else (F(kind[0] - 2, steps), F(kind[0] - 1, steps))
        low_end = floor((GAIN * ends[0] - LEAK * most) * tick * MICRO)
        high_end = ceil((GAIN * ends[1] - LEAK * least) * tick * MICRO)
        return (min(low_end, 0), max(high_end, 0)) if rests else (low_end, high_end)

    def at(height: Fraction) -> int:
        return ticks(height, F(1, MICRO))

    cuts = {at(end) + more for ends, more in ((opens, 1), (closes, 0)) for end in ends}
    cuts |= {at(safe[0]), at(safe[1]) + 1, *range(0, 15 * MICRO, MICRO // 50)}
    water = level("water", cuts, 15 * MICRO, (at(F(6)), at(F(7))), rate)

    def closing(least: int, most: int) -> int:
        return YES if least >= at(closes[1]) else EITHER if least >= at(closes[0]) else NO

    def opening(least: int, most: int) -> int:
        return YES if most <= at(opens[0]) else EITHER if most <= at(opens[1]) else NO

    def outside(least: int, most: int) -> int:
        return YES if most < at(safe[0]) or least > at(safe[1]) else NO

    rows = [by_volume(0, water, said) for said in (closing, opening, outside)]
    states = [f"{word} {n}" for word in ("open", "shut") for n in range(period)]

    def follow(state: str) -> Ways:
        word, count = state.split()
        if int(count) + 1 < period:
            return [(f"{word} {int(count) + 1}", [])]
        row, other = (0, "shut") if word == "open" else (1, "open")
        return [(f"{other} 0", [(row, YES)]), (f"{word} 0", [(row, NO)])]

    wishes = {state: ASK_ON if state.startswith("open") else ASK_OFF for state in states}
    monitor = decider("monitor", states, follow, states[:period], wishes)
    return plan_of([monitor], [valve], [water], rows, [Output("valve", 0, ASK_OFF)])


def leaking_tank_run(stroke: float, opens: float, closes: float) -> tuple[Decimal, Decimal]:
    """Least and greatest level of the long run, by the closed form, each sample right to thirty figures.

    Within a stroke a = a0 + s t, so x = (x0 - p) exp(-LEAK t) + p + q t with q = GAIN s / LEAK and
    p = (GAIN a0 - q) / LEAK; at rest s = 0.
    """
    getcontext().prec = 40
    leak, gain, slope = Decimal("0.02"), Decimal("0.3"), 1 / Decimal(stroke)

    def after(x: Decimal, a: Decimal, s: Decimal, t: Decimal) -> Decimal:
        q = gain * s / leak
        p = (gain * a - q) / leak
        return (x - p) * (-leak * t).exp() + p + q * t

    x, seen = Decimal(7), list[Decimal]()
    for leg in range(8):
        rising = leg % 2 == 0
        a, mark = (Decimal(1), Decimal(str(closes))) if rising else (Decimal(0), Decimal(str(opens)))
        rest = gain * a / leak
        x = after(x, a, Decimal(0), ((x - rest) / (mark - rest)).ln() / leak)
        s = -slope if rising else slope
        steps = [Decimal(stroke) * n / 400 for n in range(401)]
        leg_seen = [after(x, a, s, t) for t in steps]
        seen += leg_seen if leg >= 2 else []
        x = leg_seen[-1]
    return min(seen), max(seen)


# --- HYB-07: the leaking gas burner -------------------------------------------------------------------


def burner(leak: int, gap: int) -> Actor:
    """A burner that leaks for at most so many ticks, and then not for so many at least; it may leak at once."""
    states = [f"leak {n}" for n in range(leak)] + [f"tight {n}" for n in range(gap)]
    ways: list[tuple[int, ...]] = [((n + 1, leak) if n + 1 < leak else (leak,)) for n in range(leak)]
    ways += [(leak + n + 1,) for n in range(gap - 1)] + [(leak + gap - 1, 0)]
    return actor(
        "burner", [int(word.startswith("leak")) for word in states], [(way, way) for way in ways], [0, leak + gap - 1]
    )


def leaked_share(leak: int, gap: int, window: int, share: int = 20) -> Plan:
    """Whether gas can have leaked for more than one tick in ``share`` of all the time so far, from a window on.

    A ledger holds share z - x (leaked z of x ticks); the window's ticks are counted. The greatest
    share z - x under ``leak`` and ``gap`` is that of a linear program of differences of times, so it
    is found with all times whole where the bounds are whole ticks.
    """
    zero = window + 1
    ledger = level(
        "ledger",
        {zero + 1},
        zero + share * (window + leak),
        (zero, zero),
        lambda kinds, low, high: (share - 1, share - 1) if kinds[0] else (-1, -1),
    )
    count = decider("clock", [str(n) for n in range(window + 1)], lambda n: [(str(min(int(n) + 1, window)), [])], ["0"])
    rows = [
        by_state(0, count, lambda n: n == str(window)),
        by_volume(0, ledger, lambda low, high: YES if low > zero else NO),
        p.Both(0, 1),
    ]
    return plan_of([count], [burner(leak, gap)], [ledger], rows)


def leaked_ledger(leak: int, gap: int, most: int) -> Plan:
    """Whether the ledger (gap + 1) z - x can ever stand above ``most``; leaks of a second, in ticks of one."""
    zero = 100
    ledger = level(
        "ledger",
        {zero + most + 1},
        zero + most + 2 * gap,
        (zero, zero),
        lambda kinds, low, high: (gap, gap) if kinds[0] else (-1, -1),
    )
    rows = [by_volume(0, ledger, lambda low, high: YES if low > zero + most else NO)]
    return plan_of([], [burner(leak, gap)], [ledger], rows)


def leaked_run(leak: Fraction, gap: Fraction, window: Fraction) -> Fraction:
    """Greatest leaked part of all time from the window on, for a burner that leaks as long and as often as it may."""
    shares, time, leaked = [], Fraction(0), Fraction(0)
    while time <= 3 * window:
        for spell, gas in ((leak, 1), (gap, 0)):
            if time < window <= time + spell:
                shares.append((leaked + gas * (window - time)) / window)
            time, leaked = time + spell, leaked + gas * spell
            if time >= window:
                shares.append(leaked / time)
    return max(shares)
