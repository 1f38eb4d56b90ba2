"""Hybrid systems of the literature: each safe form is proved by the explorer, each mutant refuted by it and by a run.

HYB rows of CHECKS. The runs are worked out in fractions, by the models' own equations and not by the
explorer. *Dense*: what happens is seen when it happens. *Sampled*: it is seen at the next scan.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from tests.reference.hybrid import ticks, verdict
from tests.reference.hybrid_gates import (
    FAR,
    FAST,
    LOWERS,
    NEAR,
    fischer,
    fischer_run,
    railroad_gate,
    railroad_gate_angle,
    timed_gate,
)
from tests.reference.hybrid_levels import (
    MICRO,
    leaked_ledger,
    leaked_run,
    leaked_share,
    leaking_tank,
    leaking_tank_run,
    level_monitor,
    level_monitor_run,
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
    found = tuple(F(end, 1000) - 3 for end in search.reach()["water"])
    assert found == reached, "exactly what is reached, no more"
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
"""Of the models in whole ticks [s]: bounds that differ by a period of a sampled form are two ticks or more apart."""


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
    """HYB-05: a gate that is not down in time lets a car onto the rails: safe iff f + d <= a (sampled: + period)."""
    tick, least = F(1, 40), F(1, 5)
    late = reacts + period
    assert safe == (late + moves <= arrives)
    spans = (arrives, arrives + F(2, 5)), (least, moves), (least, late)
    train, gate, controller = ((ticks(low, tick), ticks(high, tick)) for low, high in spans)
    assert verdict(timed_gate(train, gate, controller)) is (PROVED if safe else REFUTED)
    if not safe:
        slip = min(late + moves - arrives, least) / 4
        train_in, shut = arrives + slip, (late - slip) + (moves - slip)
        assert arrives < train_in < shut, "the train is at the crossing and the gate is not down"
        assert least < late - slip < late
        assert least < moves - slip < moves


def test_timed_railroad_gate_that_need_not_act() -> None:
    """HYB-05: without bounds that force it nothing brings the gate down, and a proof that says so is a false one."""
    spans = (80, 96), (8, 40), (8, 40)
    assert verdict(timed_gate(*spans)) is PROVED
    assert verdict(timed_gate(*spans, must=False)) is REFUTED


# --- HYB-07 (Alur and others, TCS 1995): leaking gas burner, 20 z <= x from 60 s on -------------------


@pytest.mark.parametrize(
    ("tick", "leak", "gap", "window", "worst"),
    [
        (F(1), F(1), F(30), F(60), F(1, 21)),
        (F(1), F(1), F(30), F(40), F(1, 20)),
        (HUNDRED, F(1), F(30), F("39.9"), F(2) / F("39.9")),
        (F(1), F(1), F(20), F(60), F(1, 16)),
        (HALF, F(3, 2), F(30), F(60), F("4.5") / F("64.5")),
    ],
    ids=["as it is", "from 40 s", "from 39.9 s", "gap 20 s", "leak 1.5 s"],
)
def test_leaking_burner(tick: F, leak: F, gap: F, window: F, worst: F) -> None:
    """HYB-07: gas that leaks by little and little: the worst shares are those of the row, safe up to one in twenty."""
    assert leaked_run(leak, gap, window) == worst
    plan = leaked_share(*(ticks(time, tick) for time in (leak, gap, window)))
    assert verdict(plan) is (PROVED if worst <= F(1, 20) else REFUTED)


@pytest.mark.parametrize(
    ("period", "tick", "safe"), [(HALF, HALF, False), (HUNDRED, HUNDRED, False), (F(1, 20), F(3, 20), True)]
)
def test_leaking_burner_sampled(period: F, tick: F, safe: bool) -> None:
    """HYB-07: a leak that is seen a scan late lasts that much longer: at 100 ms no more one in twenty, at 50 ms still.

    3 (1 + T) <= (60 + 3 (1 + T)) / 20 where T <= 1/19 s.
    """
    assert safe == (period <= F(1, 19))
    spans = F(1) + period, F(30), F(60)
    assert verdict(leaked_share(*(ticks(time, tick) for time in spans))) is (PROVED if safe else REFUTED)
    hair = F(1, 10**9)  # the leak ends just before the scan that would have let it go on
    assert (leaked_run(F(1) + period - hair, F(30), F(60)) > F(1, 20)) is not safe


def test_leaking_burner_by_its_ledger() -> None:
    """HYB-07: without a clock: 31 z - x <= 30 always, so 20 z <= 20 (x + 30) / 31 <= x from 600 / 11 s on.

    A leak adds at most 30 to the ledger, and the gap after it takes at least 30 off.
    """
    assert verdict(leaked_ledger(1, 30, most=30)) is PROVED
    assert verdict(leaked_ledger(1, 30, most=29)) is REFUTED
    bound = F(600, 11)
    assert 20 * (bound + 30) / 31 == bound <= 60
    assert verdict(leaked_ledger(2, 30, most=30)) is REFUTED


# --- HYB-08 (HyTech; Alur, Henzinger and Ho 1996): railroad gate, safe iff alpha < 49/5 s ------------


@pytest.mark.parametrize(
    ("alpha", "safe"), [(F(5), True), (F("9.7"), True), (F("9.79"), True), (F("9.8"), False), (F("9.81"), False)]
)
def test_railroad_gate_dense(alpha: F, safe: bool) -> None:
    """HYB-08: a controller that is a hundredth of a second too late leaves the gate open for the fastest train.

    At 9.8 s itself the gate comes down in the very moment in which the train comes within 10 m: it is not shut before.
    """
    assert safe == (alpha < F(FAR - NEAR, FAST) - LOWERS)
    assert verdict(railroad_gate(F(1, 100), alpha, dense=True)) is (PROVED if safe else REFUTED)
    angle = railroad_gate_angle(alpha, F(FAR))
    assert (angle > 0) == (alpha > F("9.8"))


@pytest.mark.parametrize(
    ("period", "alpha", "safe"),
    [
        (HUNDRED, F("9.6"), True),
        (HUNDRED, F("9.7"), True),
        (HUNDRED, F("9.8"), False),
        (HALF, F(9), True),
        (HALF, F("9.5"), False),
    ],
)
def test_railroad_gate_sampled(period: F, alpha: F, safe: bool) -> None:
    """HYB-08: a train that is seen at the next look is nearer by then: safe iff alpha + period <= 9.8 s."""
    assert safe == (alpha + period <= F("9.8"))
    assert verdict(railroad_gate(period, alpha, dense=False)) is (PROVED if safe else REFUTED)
    seen = F(FAR) - FAST * period + F(1, 100)  # a look, and a centimetre before it the train was not yet announced
    assert (railroad_gate_angle(alpha, seen) > 0) is not safe
