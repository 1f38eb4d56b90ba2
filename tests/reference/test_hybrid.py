"""Hybrid systems of the literature: each safe form is proved by the explorer, each mutant refuted by it and by a run.

HYB rows of CHECKS. The runs are worked out in fractions, by the models' own equations and not by the
explorer. *Dense*: what happens is seen when it happens. *Sampled*: it is seen at the next scan.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from tests.reference.hybrid import (
    MICRO,
    fischer,
    fischer_run,
    leaking_tank,
    leaking_tank_run,
    level_monitor,
    level_monitor_run,
    ticks,
    timed_gate,
    verdict,
)
from ullage.prove.search import End, Search

PROVED, REFUTED = End.CLOSED, End.HARMED

HUNDRED, HALF = F(1, 10), F(1, 2)
"""Periods of the sampled forms [s]."""

MILLI = F(1, 1000)


# --- HYB-01 (Alur and others, TCS 138 (1995) 3-34): water-level monitor, 1 <= y <= 12 ----------------


@pytest.mark.parametrize(
    ("delay", "low", "high", "reached"),
    [
        (F(2), F(5), F(10), (F(1), F(12))),
        (F(5, 2), F(5), F(10), (F(0), F(25, 2))),
        (F(2), F(5), F(21, 2), (F(1), F(25, 2))),
        (F(2), F(49, 10), F(10), (F(9, 10), F(12))),
    ],
)
def test_water_level_monitor_dense(delay: F, low: F, high: F, reached: tuple[F, F]) -> None:
    """HYB-01: a bound that is off by a delay is a tank that runs over by it."""
    tick = F(1, 20)
    assert level_monitor_run(delay, low, high, None) == reached
    search = Search(level_monitor(tick, delay, low, high, reached, dense=True))
    assert search.run() is PROVED
    assert search.reach()["water"] == tuple((end + 3) * 1000 for end in reached), "exactly what is reached, no more"
    asked = verdict(level_monitor(tick, delay, low, high, (F(1), F(12)), dense=True))
    assert asked is (PROVED if reached == (F(1), F(12)) else REFUTED)
    for hair in ((MILLI, F(0)), (F(0), MILLI)):
        inside = reached[0] + hair[0], reached[1] - hair[1]
        assert verdict(level_monitor(tick, delay, low, high, inside, dense=True)) is REFUTED


@pytest.mark.parametrize(
    ("period", "least", "most"), [(HALF, F(1, 1000), F(12499, 1000)), (HUNDRED, F(801, 1000), F(12099, 1000))]
)
def test_water_level_monitor_sampled(period: F, least: F, most: F) -> None:
    """HYB-01: a law that looks twice a second is not the one on paper: [1, 12] does not hold, [0, 12.5] does."""
    law = F(2), F(5), F(10)

    def asked(safe: tuple[F, F]) -> End:
        return verdict(level_monitor(period, *law, safe, dense=False))

    assert asked((F(0), F(25, 2))) is PROVED
    assert asked((least, most)) is PROVED
    assert asked((least + MILLI, most)) is REFUTED
    assert asked((least, most - MILLI)) is REFUTED
    assert asked((F(1), F(12))) is REFUTED
    runs = [level_monitor_run(*law, period, phase * MILLI) for phase in range(int(period / MILLI))]
    assert (min(low for low, _ in runs), max(high for _, high in runs)) == (least, most), "runs that do reach the ends"


# --- HYB-02 (WATERTANK, benchmark of an academic solver): leaking tank with a slow valve --------------


SURE = (F("5.55"), F("5.55")), (F("7.95"), F("7.95"))
SAFE = F("5.25"), F("8.25")


@pytest.mark.parametrize("period", [HUNDRED, HALF])
@pytest.mark.parametrize(
    ("opens", "closes"), [SURE, ((F("5.45"), F("5.55")), (F("7.95"), F("8.05")))], ids=["sure", "within a band"]
)
def test_leaking_tank_is_safe(period: F, opens: tuple[F, F], closes: tuple[F, F]) -> None:
    """HYB-02: dense, at 100 ms and at 500 ms: what flows while a valve still moves must be in the reckoning."""
    # The band and a look every 500 ms leave 5 thousandths: that takes a fine reckoning.
    tick = HUNDRED if period == HUNDRED or opens[0] == opens[1] else F(1, 100)
    search = Search(leaking_tank(F(4), opens, closes, SAFE, ticks(period, tick), tick))
    assert search.run() is PROVED
    low, high = search.reach()["water"]
    reached = leaking_tank_run(4.0, 5.55, 7.95)
    assert low / MICRO <= reached[0] <= reached[1] <= high / MICRO, "the run is among what was found"


def test_leaking_tank_runs_in_its_known_range() -> None:
    """HYB-02: the run that the mutants are judged by is the one of the benchmark's row, [5.4694, 8.0793]."""
    reached = leaking_tank_run(4.0, 5.55, 7.95)
    assert [float(end) for end in reached] == pytest.approx([5.4694, 8.0793], abs=1e-3)


@pytest.mark.parametrize("period", [1, 5])
@pytest.mark.parametrize(
    ("stroke", "opens", "closes"),
    [(10.0, 5.55, 7.95), (4.0, 5.3, 7.95), (4.0, 5.55, 8.15)],
    ids=["a slower valve", "opens late", "closes late"],
)
def test_leaking_tank_mutants(period: int, stroke: float, opens: float, closes: float) -> None:
    """HYB-02: a valve that is slower than it says leaves the range, and so does a threshold too near its end."""
    low, high = (F(str(mark)) for mark in (opens, closes))
    assert verdict(leaking_tank(F(str(stroke)), (low, low), (high, high), SAFE, period)) is REFUTED
    reached = leaking_tank_run(stroke, opens, closes)
    assert reached[0] < SAFE[0] or reached[1] > SAFE[1]


# --- HYB-04 (Alur, Henzinger and Vardi, STOC 1993): Fischer's mutual exclusion ------------------------

TICK = F(1, 20)
"""Of the models in whole ticks [s]: two bounds that differ by a period of a sampled form are two ticks or more apart."""


@pytest.mark.parametrize(
    ("least", "most", "period", "safe"),
    [
        (F(0), F(1), F(0), True),
        (F(1, 5), F(1), F(0), True),
        (F(0), F(11, 10), F(0), False),
        (F(0), F(3, 2), F(0), False),
        (F(0), F(1), HUNDRED, False),
        (F(0), F(9, 10), HUNDRED, True),
        (F(0), F(9, 10), HALF, False),
        (F(0), F(1, 2), HALF, True),
    ],
)
def test_fischer(least: F, most: F, period: F, safe: bool) -> None:
    """HYB-04: who writes late is not seen by who waits briefly: both are inside; safe iff d <= a.

    Dense: the write comes between c and d, the wait lasts between a and b. Sampled: a write may come
    a period later, so safe iff d + period <= a.
    """
    wait = F(1), F(6, 5)
    late = most + period
    assert safe == (late <= wait[0])
    write_ticks, wait_ticks = ((ticks(low, TICK), ticks(high, TICK)) for low, high in ((least, late), wait))
    assert verdict(fischer(write_ticks, wait_ticks)) is (PROVED if safe else REFUTED)
    if not safe:
        # The second finds the lock free and writes just after the first has found it free; the first writes late.
        slip = min(late - wait[0], wait[1] - wait[0], most) / 10
        quick = least + slip
        second = (2 * slip - quick, 2 * slip, 2 * slip + wait[0] + slip)
        first = (F(0), late - slip, late - slip + wait[0] + slip)
        assert fischer_run((least, late), wait, [first, second])


# --- HYB-05 (same paper): railroad gate in time -------------------------------------------------------


@pytest.mark.parametrize(
    ("arrives", "moves", "reacts", "period", "safe"),
    [
        (F(2), F(1), F(1), F(0), True),
        (F(2), F(1), F(11, 10), F(0), False),
        (F(2), F(11, 10), F(1), F(0), False),
        (F(19, 10), F(1), F(1), F(0), False),
        (F(2), F(1), F(1), HUNDRED, False),
        (F(2), F(1), F(9, 10), HUNDRED, True),
        (F(2), F(1), F(9, 10), HALF, False),
        (F(5, 2), F(1), F(1), HALF, True),
    ],
)
def test_timed_railroad_gate(arrives: F, moves: F, reacts: F, period: F, safe: bool) -> None:
    """HYB-05: a gate that is not down in time lets a car onto the rails; safe iff f + d <= a, sampled f + period + d."""
    tick, least = F(1, 40), F(1, 5)
    late = reacts + period
    assert safe == (late + moves <= arrives)
    spans = (arrives, arrives + F(2, 5)), (least, moves), (least, late)
    plan = timed_gate(*((ticks(low, tick), ticks(high, tick)) for low, high in spans))
    assert verdict(plan) is (PROVED if safe else REFUTED)
    if not safe:
        slip = min(late + moves - arrives, least) / 4
        train_in, shut = arrives + slip, (late - slip) + (moves - slip)
        assert arrives < train_in < shut, "the train is at the crossing and the gate is not down"
        assert least < late - slip < late
        assert least < moves - slip < moves


def test_timed_railroad_gate_that_need_not_act() -> None:
    """HYB-05: where nothing forces the gate down a proof of it would be worth nothing: without its bounds it is unsafe."""
    spans = (80, 96), (8, 40), (8, 40)
    assert verdict(timed_gate(*spans)) is PROVED
    assert verdict(timed_gate(*spans, must=False)) is REFUTED
