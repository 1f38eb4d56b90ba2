"""Chance as a function: even, normal, independent, and the same in both ways to run it."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from tests.share import share
from ullage.kernels import compiled
from ullage.plant.chance import drawn, happens, mixed, normal, quantile, stream, uniform


def test_worked_number() -> None:
    """A changed constant would make every kept seed play another night."""
    assert mixed(1) == 1753845952


def test_even() -> None:
    """A crooked draw would lose too few messages, and the link would look better than it is."""
    count = share(2_000_000, 100_000)
    found = [compiled(uniform)(stream(7, 2, 1), i) for i in range(count)]
    assert stats.kstest(found, "uniform").pvalue > 1e-4
    assert np.corrcoef(found[1:], found[:-1])[0, 1] == pytest.approx(0.0, abs=5.0 / count**0.5)


def test_streams_and_seeds_are_independent() -> None:
    """Two senders with the same noise would confirm each other's lies."""
    parts = [compiled(uniform)(stream(7, 2, part), 0) for part in range(4096)]
    seeds = [compiled(uniform)(stream(seed, 2, 1), 0) for seed in range(20_000)]
    assert stats.kstest(parts, "uniform").pvalue > 1e-4
    assert stats.kstest(seeds, "uniform").pvalue > 1e-4
    streams = [stream(1, 2, part) for part in (1, 2)]
    one, other = ([compiled(uniform)(source, i) for i in range(20_000)] for source in streams)
    assert np.corrcoef(one, other)[0, 1] == pytest.approx(0.0, abs=0.035)


def test_normal() -> None:
    """Noise with thin tails never shows the reading that trips an interlock."""
    found = np.array([compiled(normal)(stream(3, 2, 1), i) for i in range(share(1_000_000, 100_000))])
    assert stats.kstest(found, "norm").pvalue > 1e-4
    assert stats.kurtosis(found) == pytest.approx(0.0, abs=0.1)


@pytest.mark.parametrize("p", [1e-9, 1e-5, 0.01, 0.05, 0.3, 0.5, 0.7, 0.95, 0.999, 1.0 - 1e-9])
def test_quantile(p: float) -> None:
    """AS 241 (Wichura 1988) against scipy's quantile: a slip in a coefficient bends the noise."""
    assert quantile(p) == pytest.approx(stats.norm.ppf(p), abs=1e-6)


def test_chance_is_kept() -> None:
    """A loss of 2 % that is really 3 % would fail the proof of a lease."""
    count = 100_000
    lost = sum(compiled(happens)(stream(5, 3, 0), i, 0.02) for i in range(count))
    assert lost / count == pytest.approx(0.02, abs=5 * (0.02 * 0.98 / count) ** 0.5)


def test_plain_and_compiled_agree_to_the_last_bit() -> None:
    """A counterexample found in one way would not play in the other."""
    for i in range(5000):
        source = stream(i, 1, 2)
        assert source == compiled(stream)(i, 1, 2)
        assert drawn(source, 3 * i) == compiled(drawn)(source, 3 * i)
        assert normal(source, i) == compiled(normal)(source, i)
