"""The table of the plant's columns: whole, in order, and held to by every plant."""

from __future__ import annotations

import pytest

from tests.unit.plant.wired import Wired
from ullage.plant import layout as at
from ullage.plant.layout import TABLE, length_of, pack
from ullage.plant.world import resting


def test_kinds_stand_in_order() -> None:
    """A column of floats that stood among the integers would be looked for in the wrong place."""
    kinds = [entry.kind for entry in TABLE.values()]
    assert kinds == sorted(kinds)
    assert len(kinds) == at.HEAD_SIZE
    assert [getattr(at, name.upper()) for name in TABLE] == list(range(at.HEAD_SIZE))


def test_a_length_by_hand() -> None:
    """A ring that is one too short lets a late reading overwrite its neighbour's."""
    assert length_of("tanks * stands + 1", {"tanks": 3, "stands": 2}) == 7
    assert length_of("2 * tanks", {"tanks": 3}) == 6
    assert length_of("signals * ring", {"signals": 5}) == 5 * 64


@pytest.mark.parametrize(("name", "more"), [("gas", 1), ("elevation", -1), ("opening", 1), ("swapped", -1)])
def test_a_column_of_another_length_is_refused(name: str, more: int) -> None:
    """A column that is too short lets a kernel write into the one behind it, unseen."""
    works = Wired().works
    integers, reals = resting(works)
    integers, reals = integers | works.integers, reals | works.reals
    pack(works.counts, integers, reals)
    rows = len((integers if name in integers else reals)[name]) + more
    if name in integers:
        integers |= {name: [0] * rows}
    else:
        reals |= {name: [0.0] * rows}
    with pytest.raises(AssertionError, match=f"'{name}' has {rows} rows"):
        pack(works.counts, integers, reals)


def test_what_nothing_fills_is_refused() -> None:
    """A column that was forgotten would stand for zero: no capacity, no pump."""
    works = Wired().works
    integers, reals = resting(works)
    reals |= works.reals
    del reals["capacity"]
    with pytest.raises(AssertionError, match="nothing fills 'capacity'"):
        pack(works.counts, integers | works.integers, reals)
