"""What SPIN is asked: a plan in coarse units allows all that the plan allows, and its planted errors are errors."""

from __future__ import annotations

import random
from itertools import product

import pytest

from bench.promela import in_units
from bench.spin import CASES, LAYERS, UNIT, exact_plan, plan_of
from ullage.prove.plan import ByPiece, Level, Read
from ullage.prove.search import End, Search

DRAWN = 400


def piece_of(level: Level, volume: int) -> int:
    """The piece that a volume lies in."""
    return max(n for n, low in enumerate(level.pieces) if low <= volume)


def test_coarse_units_allow_all_that_fine_ones_do() -> None:
    """A rounding the wrong way would let SPIN and our explorer agree on a question that nobody asked."""
    fine = exact_plan((), "", LAYERS["with fill"])
    coarse, chance = in_units(fine, UNIT), random.Random(7)
    (small,), (large,) = fine.levels, coarse.levels
    for _ in range(DRAWN):
        volume = chance.choice([chance.randrange(small.most + 1), chance.choice(small.pieces)])
        here, there = piece_of(small, volume), piece_of(large, volume // UNIT)
        for row, other in zip(fine.rows, coarse.rows, strict=True):
            assert type(row) is type(other)
            if isinstance(row, ByPiece | Read):
                assert isinstance(other, ByPiece | Read)
                assert row.masks[here] & ~other.masks[there] == 0, volume
        for kinds in product((0, 1), repeat=len(small.near)):
            least, most = small.rate(kinds, small.strips[here])
            low, high = large.rate(kinds, large.strips[there])
            for gain in (least, most, chance.randint(least, most)):
                after = min(max(volume + gain, 0), small.most)
                ends = (min(max(volume // UNIT + end, 0), large.most) for end in (low, high))
                assert next(ends) <= after // UNIT <= next(ends), (volume, gain)


@pytest.mark.parametrize("name", [case[0] for case in CASES])
def test_planted_errors_are_found_in_coarse_units(name: str) -> None:
    """SPIN's verdict says something about ours only where the safe form holds and an error does not."""
    _, changes, fault, held = next(case for case in CASES if case[0] == name)
    plan = plan_of(changes, fault, LAYERS["interlocks"])
    assert (Search(plan).run() is End.CLOSED) == held
