"""How often a lossy link leaves a reading stale, against a closed form and against drawn losses."""

from __future__ import annotations

import random
from math import inf
from statistics import mean, stdev

import pytest

from tests.share import share
from ullage.quantities import Span
from ullage.rig.gaps import Source
from ullage.rig.model import Board


def source(loss: float, every: float, stale: float, late: float = 0.0) -> Source:
    """A reading over a board with this loss."""
    board = Board.model_construct(link="radio", delay=Span(0.0, late), loss=loss)
    return Source("reading", board, every, stale)


@pytest.mark.parametrize(
    ("every", "stale", "late", "scan", "lost"),
    [
        (2.0, 6.0, 0.0, 1.0, 3),  # found old at 7 s; the readings of 2, 4 and 6 s would each have saved it
        (2.0, 6.0, 0.8, 1.0, 3),
        (2.0, 6.0, 1.2, 1.0, 2),  # the reading of 6 s may come at 7.2 s, too late for the scan at 7 s
        (2.0, 15.0, 0.8, 1.0, 7),
        (0.5, 1.5, 0.0, 0.5, 4),
        (2.0, 6.0, 0.0, 1.5, 3),  # out of step: a scan may come right after 6 s
        (2.0, 5.9, 0.0, 1.5, 2),
    ],
)
def test_how_many_in_a_row(every: float, stale: float, late: float, scan: float, lost: int) -> None:
    """One message more or less is a factor of twenty in how often a rig locks itself out; counted by hand."""
    assert source(0.05, every, stale, late).lost(scan) == lost


def test_expected_time_in_closed_form() -> None:
    """Feller, An Introduction to Probability Theory and its Applications 1, XIII.7: heads in a row take 2, 6, 14."""
    assert [source(0.5, 1.0, float(r - 1), 0.0).apart(1.0) for r in (1, 2, 3)] == pytest.approx([2.0, 6.0, 14.0])
    assert source(0.05, 2.0, 6.0).apart(1.0) == pytest.approx(16_840.0)
    assert source(0.0, 2.0, 6.0).apart(1.0) == inf
    assert source(1.0, 2.0, 6.0).apart(1.0) == 6.0
    assert source(0.05, 0.01, 1e6).apart(0.5) == inf


def test_expected_time_against_drawn_losses() -> None:
    """A wait that is reckoned wrongly accepts a rig that stands still after a night."""
    chance, reading = random.Random(5), source(0.3, 2.0, 6.0)
    waits = []
    for _ in range(share(20_000, 2_000)):
        row = count = 0
        while row < reading.lost(1.0):
            count += 1
            row = row + 1 if chance.random() < 0.3 else 0
        waits.append(2.0 * count)
    assert mean(waits) == pytest.approx(reading.apart(1.0), abs=4.0 * stdev(waits) / len(waits) ** 0.5)


@pytest.mark.parametrize("loss", [0.01, 0.05, 0.3, 0.9])
@pytest.mark.parametrize("late", [0.0, 0.8])
def test_enough_is_enough(loss: float, late: float) -> None:
    """The remedy that a finding names must cure it."""
    reading = source(loss, 2.0, 6.0, late)
    enough = reading.enough(30 * 86400.0)
    assert source(loss, 2.0, enough, late).apart(1.0) >= 30 * 86400.0
    assert enough - late <= 2.0 or source(loss, 2.0, enough - 4.0 - late, late).apart(1.0) < 30 * 86400.0
