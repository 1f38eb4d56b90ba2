"""Sizes of wire and fuses: chosen to the safe side, whatever is asked."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ullage.electrics.conductors import AMPACITY, GAUGES, METRIC, carries, gauge_words, resistance, sizes_for
from ullage.electrics.fuses import RATINGS, least_rating, suggested
from ullage.rig.gauges import WireSize, gauge_area

SIZE = WireSize("area", 5e-8, 3e-4)


@given(st.floats(1e-8, 2.4e-4))
def test_a_size_that_is_told_is_enough_and_none_smaller_is(area: float) -> None:
    """One step too thin is a wire that loses more than its class allows."""
    metric = sizes_for(area).metric
    assert metric is not None
    assert metric >= area * (1 - 2e-6)
    assert all(size < area for size in METRIC if size < metric)


def test_beyond_the_thickest_wire_there_is_none() -> None:
    """A size that nobody sells would be answered with the nearest that is too thin."""
    assert sizes_for(1e-3).metric is None
    assert sizes_for(1e-3).gauge == ""


@pytest.mark.parametrize(("text", "number"), [("14 AWG", 14), ("2/0 AWG", -1), (" 0 AWG ", 0), ("1/0 AWG", 0)])
def test_a_gauge_is_read_as_its_cross_section(text: str, number: int) -> None:
    """A gauge of 2/0 read as 2 is a wire of half the copper."""
    assert SIZE.read(text) == pytest.approx(gauge_area(number))
    assert SIZE.read(gauge_words(number)) == pytest.approx(gauge_area(number))


def test_a_gauge_is_no_more_than_what_is_sold_under_its_name() -> None:
    """Gauges fall as numbers rise; the list of those sold runs from thin to thick."""
    areas = [gauge_area(number) for number in GAUGES]
    assert areas == sorted(areas)


@given(st.floats(1e-8, 3e-4), st.floats(1e-8, 3e-4))
def test_a_thicker_wire_never_carries_less(one: float, other: float) -> None:
    """A table in the wrong order would put a large fuse before a thin wire."""
    thin, thick = sorted((one, other))
    assert carries(thin) <= carries(thick)


def test_a_wire_between_two_sizes_carries_what_the_thinner_does() -> None:
    """14 AWG (2.08 mm2) taken for 2.5 mm2 gets a fuse that it cannot bear."""
    assert carries(gauge_area(14)) == carries(1.5e-6) == 18.0
    assert carries(2.49e-6) == 18.0
    assert carries(2.5e-6) == 25.0
    assert carries(0.5e-6) == 0.0
    assert [1e-6 * size for size, _ in AMPACITY] == [size for size in METRIC if 0.7e-6 < size < 1.6e-4]


def test_resistance_there_and_back_is_twice_that_of_one_way() -> None:
    """Resistance goes with length and against section."""
    assert resistance(10.0, 2.5e-6) == pytest.approx(2 * resistance(5.0, 2.5e-6))
    assert resistance(10.0, 2.5e-6) == pytest.approx(0.0771, rel=1e-3)


@given(st.floats(0.0, 200.0), st.floats(0.0, 400.0))
def test_a_fuse_that_is_suggested_guards_the_wire(least: float, carried: float) -> None:
    """A suggestion above what the wire bears would be the fire it is meant to prevent."""
    fuse = suggested(least, carried)
    if fuse is None:
        assert not [rating for rating in RATINGS if least <= rating <= carried]
    else:
        assert least <= fuse <= carried


def test_a_fuse_stands_use_and_start() -> None:
    """A fuse that blows when the pump starts is replaced by a nail."""
    assert suggested(least_rating(7.0, 20.0), 25.0) == 10.0
    assert suggested(least_rating(7.0, 0.0), 25.0) == 10.0
    assert suggested(least_rating(7.0, 36.0), 25.0) == 20.0
    assert suggested(least_rating(9.0, 0.0), 10.0) is None
