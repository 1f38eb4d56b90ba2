"""Volumes, rinsing, the order before frost, and what is due when."""

from __future__ import annotations

from math import exp, pi

import pytest

from tests.unit.review.shown import shown
from tests.unit.rig.breaking import changed, seen
from ullage.quantities import Span
from ullage.rig.model import Accumulator
from ullage.upkeep.disinfection import RINSED, SHOCK, Dosing, dosings, fills_to_rinse, rinse_of
from ullage.upkeep.due import filter_life, tasks
from ullage.upkeep.volumes import Wetted, cushion_volume, wetted
from ullage.upkeep.winterising import winter_of

DAY = 86400.0


def vessel(holds: float = 0.1, heel: float = 0.002, lines: float = 0.0) -> Wetted:
    """A tank with what it feeds [m3]."""
    return Wetted("tank", holds, heel, lines, 0.0, 0.0)


def test_every_pipe_of_drinking_water_counts_once() -> None:
    """A line that is left out stays foul, and one that counts twice makes the water too strong."""
    rig = (view := shown()).rig
    drinking = [pipe for name, pipe in rig.pipes.items() if name not in ("hose", "gray_pipe")]
    by_hand = sum(pi / 4 * pipe.bore**2 * pipe.length for pipe in drinking) + 0.15e-3 + 0.6e-3
    found = wetted(view.ways)
    assert [each.tank for each in found] == ["belly", "loft"]
    assert sum(each.lines for each in found) == pytest.approx(by_hand, rel=1e-9)
    assert sum(each.heaters for each in found) == pytest.approx(0.010)
    assert [each.holds for each in found] == pytest.approx([0.140, 0.045])
    assert [each.heel for each in found] == pytest.approx([0.0025, 0.0009])


def test_an_accumulator_holds_water_by_boyle() -> None:
    """Boyle's law by hand: 1 L at 1.2 bar, squeezed to 2.8 bar, leaves room for 1 - 2.21325 / 3.81325 of it."""
    vessel = Accumulator.model_construct(at="x", volume=1e-3, precharge=1.2e5)
    assert cushion_volume(vessel, 2.8e5) == pytest.approx(1e-3 * (1 - 221325 / 381325), rel=1e-12)
    assert cushion_volume(vessel, 1e5) == 0.0


def test_rinsing_leaves_no_more_than_it_says() -> None:
    """Fills too few leave a taste that drives people to puddles; they are worked out here by thinning step by step."""
    tank = vessel(heel=0.02)
    left, fills = SHOCK, 0
    while left > RINSED:
        left, fills = left * tank.heel / tank.holds, fills + 1
    assert fills_to_rinse(tank) == fills == 3
    assert fills_to_rinse(vessel(heel=0.0)) == 1
    assert fills_to_rinse(vessel(heel=0.1)) == 0
    volume = 0.013
    assert SHOCK * exp(-rinse_of(volume) / volume) == pytest.approx(RINSED)


def test_a_small_tank_is_filled_again_for_long_lines() -> None:
    """A tank that holds less than its lines need runs dry in the middle of the rinse."""
    product = shown().rig.disinfectant
    assert product is not None
    found: tuple[Dosing, ...] = dosings(product, (vessel(holds=0.02, heel=0.0, lines=0.01),))
    assert found[0].rinse == pytest.approx(0.01 * 3.912, rel=1e-3)
    assert found[0].fills == 2


def test_the_order_before_frost() -> None:
    """What is opened above a shut way out floods what lies between: waste first, taps from the top, then upwards."""
    winter = winter_of(shown())
    assert winter.waste == ("gray",)
    assert winter.pumped == ()
    assert [tap.height for tap in winter.taps] == sorted((tap.height for tap in winter.taps), reverse=True)
    assert [way.height for way in winter.ways] == sorted(way.height for way in winter.ways)
    at = {way.name: order for order, way in enumerate(winter.ways)}
    assert at["belly_cock"] < at["loft_return"], "belly is open below before loft runs into it"
    assert {way.name for way in winter.ways} == {*shown().rig.valves, *shown().rig.drains}
    (dump,) = [way for way in winter.ways if way.name == "gray_dump"]
    assert (dump.sequence, dump.springs, dump.waste) == ("empty", True, True)
    (returned,) = [way for way in winter.ways if way.name == "loft_return"]
    assert (returned.sequence, returned.springs, returned.waste) == ("drop", False, False)
    without = winter_of(shown(("  belly_cock: {at: belly.low}\n", "")))
    assert without.pumped == ("belly",)


@pytest.mark.parametrize(
    ("daily", "days"), [("water_a_day: 45 L, ", 133.333), ("water_a_day: 10 L, ", 180.0), ("", 180.0)]
)
def test_a_filter_lasts_by_time_or_by_water(daily: str, days: float) -> None:
    """6 m3 at 45 L a day are 133 days: a cartridge that stays for its 180 feeds germs with what it caught."""
    rig = shown(("water_a_day: 45 L, ", daily)).rig
    assert filter_life(rig, "fine_filter") / DAY == pytest.approx(days, abs=1e-3)


def test_tasks_round_down_and_name_what_there_is() -> None:
    """A task that is due a day late each time, or that names no part, is not done."""
    found = {task.name: task for task in tasks(shown().rig)}
    assert {name: task.days for name, task in found.items()} == {
        "filter_strainer": 90, "filter_fine_filter": 133, "disinfect": 182, "proof_test": 365, "calibrate": 365,
    }  # fmt: skip
    assert "belly_high" in found["proof_test"].what
    assert "shore_meter" in found["calibrate"].what
    assert tasks(seen(changed({}), "sound.yaml").rig) == ()


def test_a_span_of_mass_is_read() -> None:
    """People who come and go are a range; read as their most only, the lightest state would be wrong."""
    assert shown().rig.masses["people"].mass == Span(0.0, 150.0)
