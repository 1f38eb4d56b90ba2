"""Hybrid systems of the literature: each safe form is proved by the explorer, each mutant refuted by it and by a run.

HYB rows of CHECKS. The runs are worked out in fractions, by the models' own equations and not by the
explorer. *Dense*: what happens is seen when it happens. *Sampled*: it is seen at the next scan.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from tests.reference.hybrid import level_monitor, level_monitor_run, verdict
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
