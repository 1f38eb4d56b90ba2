"""Wires, batteries, handset: ELE rows. ASTM B258, IACS copper, ABYC E-11 tables, Peukert in rated-hour form."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from ullage.electrics.batteries import exponent, handset_life, run_time
from ullage.electrics.conductors import GAUGES, ROOM, WARM, least_area, resistance, sizes_for
from ullage.rig.gauges import gauge_area
from ullage.rig.supply import Handset, Rating
from ullage.sizing.warming import heat_of

FOOT, MIL = 0.3048, 25.4e-6
CIRCULAR_MIL = 0.25 * pi * MIL**2
"""A circle of a thousandth of an inch [m2]."""

K_OF_THE_TABLES = 10.75 * CIRCULAR_MIL / FOOT
"""The resistivity that the ABYC tables take [ohm m]: 10.75 ohm circular mil / ft, from memory."""

AS_IN_THE_TABLES = ROOM + (K_OF_THE_TABLES / 0.017241e-6 - 1.0) / 0.00393
"""Temperature of copper that has it [K]."""

HOUR, AMPERE_HOUR = 3600.0, 3600.0


def test_ele_01_diameter_of_a_gauge() -> None:
    """ELE-01 (ASTM B258): a gauge read as another one is a wire that grows hot."""
    assert sqrt(gauge_area(36) / (0.25 * pi)) == pytest.approx(0.0050 * 0.0254, rel=1e-9)
    assert sqrt(gauge_area(-3) / (0.25 * pi)) == pytest.approx(0.4600 * 0.0254, rel=1e-9)
    assert sqrt(gauge_area(13) / gauge_area(14)) == pytest.approx(1.1229322, rel=1e-7)


def test_ele_02_resistance_of_the_copper_table() -> None:
    """ELE-02 (common copper table, ohm/km): a drop that is told too small starves the pump."""
    table = (33.29, 20.94, 13.17, 8.28, 5.21, 3.28, 2.06, 1.30, 0.82, 0.51, 0.32)
    numbers = (20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 0)
    for number, ohms in zip(numbers, table, strict=True):
        assert resistance(1000.0, gauge_area(number), ROOM) == pytest.approx(ohms, rel=0.011)
    assert resistance(1000.0, gauge_area(14), ROOM) == pytest.approx(8.285, rel=1e-4)


def test_ele_03_choice_for_ten_per_cent() -> None:
    """ELE-03 (ABYC E-11 table): 10 A over 21 ft there and back with 10 % of 12 V is 16 AWG, warm as in the table."""
    formula = least_area(10.0, 21 * FOOT, 1.2, AS_IN_THE_TABLES)
    assert formula / CIRCULAR_MIL == pytest.approx(1881, rel=1e-3)
    assert gauge_area(18) < formula < gauge_area(16)
    assert sizes_for(formula).gauge == sizes_for(least_area(10.0, 21 * FOOT, 1.2)).gauge == "16 AWG"


@pytest.mark.parametrize(
    ("charge", "peukert", "current", "plain"), [(100, 1.2, 5.0, 14.4956), (250, 1.3, 20.0, 5.088632)]
)
def test_ele_04_plain_form_is_another_one(charge: float, peukert: float, current: float, plain: float) -> None:
    """ELE-04 (trap): the plain form C / I^n is the rated-hour one less its factor (C / R)^(n - 1), so not the same."""
    hours = run_time(charge * AMPERE_HOUR, 20 * HOUR, peukert, current) / HOUR
    assert hours / (charge / 20) ** (peukert - 1) == pytest.approx(plain, rel=1e-5)
    assert hours > 1.3 * plain


def test_ele_05_peukert_in_rated_hour_form() -> None:
    """ELE-05: at the rated current a battery gives its rated time, and less charge when it is emptied faster."""
    assert run_time(100 * AMPERE_HOUR, 20 * HOUR, 1.2, 5.0) == pytest.approx(20 * HOUR)
    assert run_time(100 * AMPERE_HOUR, 20 * HOUR, 1.2, 10.0) == pytest.approx(8.7055 * HOUR, rel=1e-5)
    assert 10.0 * run_time(100 * AMPERE_HOUR, 20 * HOUR, 1.2, 10.0) == pytest.approx(87.055 * AMPERE_HOUR, rel=1e-5)


def test_ele_06_against_the_small_craft_formula() -> None:
    """ELE-06 (ISO 10133 annex, from memory): we never promise less drop than 0.0164 I L / S."""
    theirs = 0.0164 * 10.0 * 10.0 / 2.5
    assert theirs == pytest.approx(0.656)
    assert 10.0 * resistance(10.0, 2.5e-6, ROOM) >= theirs
    assert 10.0 * resistance(10.0, 2.5e-6) == pytest.approx(theirs, rel=0.2)


def test_ele_07_choice_for_three_per_cent() -> None:
    """ELE-07 (trap): the bare formula accepts 12 AWG, the table asks for 10 AWG; warm copper agrees with the table."""
    formula = least_area(10.0, 21 * FOOT, 0.36, AS_IN_THE_TABLES)
    assert formula / CIRCULAR_MIL == pytest.approx(6271, rel=1e-3)
    assert sizes_for(formula).gauge == "12 AWG"
    assert sizes_for(least_area(10.0, 21 * FOOT, 0.36)).gauge == "10 AWG"


def test_ele_08_exponent_of_two_tests() -> None:
    """ELE-08: from what a data sheet lists follows how much less a battery gives when it is emptied fast."""
    slow = Rating.model_construct(capacity=100 * AMPERE_HOUR, over=20 * HOUR)
    fast = Rating.model_construct(capacity=80 * AMPERE_HOUR, over=5 * HOUR)
    peukert = exponent(slow, fast)
    assert peukert == pytest.approx(1.19184, rel=1e-5)
    assert run_time(slow.capacity, slow.over, peukert, 16.0) == pytest.approx(fast.over)  # and back to the second test


def test_ele_09_area_of_a_gauge() -> None:
    """ELE-09 (ASTM B258 formula): cross-sections of 20 to 4 AWG, 2, 0 and 4/0."""
    areas = (0.5176, 0.8230, 1.3087, 2.0809, 3.3088, 5.2612, 8.3656, 13.3018, 21.1506, 33.6308, 53.4751)
    for number, area in zip(GAUGES, areas, strict=False):
        assert 1e6 * gauge_area(number) == pytest.approx(area, rel=1e-4)
    assert 1e6 * gauge_area(-3) == pytest.approx(107.2193, rel=1e-4)


def test_ele_10_warm_copper() -> None:
    """ELE-10 (IACS): a loom at 50 degC loses an eighth more than the cold table says."""
    assert resistance(1.0, 1e-6, WARM) / resistance(1.0, 1e-6, ROOM) == pytest.approx(1.1179, rel=1e-4)


def test_ele_11_drop_in_a_cable() -> None:
    """ELE-11: 10 A over 5 m of 2.5 mm2; the way back counts too."""
    drop = 10.0 * resistance(10.0, 2.5e-6, ROOM)
    assert drop == pytest.approx(0.68964, rel=1e-5)
    assert drop / 12.0 == pytest.approx(0.05747, rel=1e-4)
    assert least_area(10.0, 10.0, drop, ROOM) == pytest.approx(2.5e-6)


def test_ele_12_size_for_three_per_cent() -> None:
    """ELE-12 (K from memory): 10 A over 20 ft there and back with 3 % of 12 V."""
    area = least_area(10.0, 20 * FOOT, 0.36, AS_IN_THE_TABLES)
    assert area / CIRCULAR_MIL == pytest.approx(5972.2, rel=1e-4)
    assert 1e6 * area == pytest.approx(3.026, rel=2e-4)


def test_ele_13_duty_cycle_of_a_handset() -> None:
    """ELE-13: a handset that is empty at the fill port stops nothing."""
    wakes = {"message": {"draws": "40 mA", "lasts": "2 s", "every": "1 min"}}
    handset = Handset.model_validate({"battery": "1000 mAh", "sleeps": "20 uA", "wakes": wakes})
    life = handset_life(handset)
    assert life is not None
    assert life.mean == pytest.approx(1.35267e-3, rel=1e-5)
    assert life.new == pytest.approx(30.803 * 86400, rel=2e-5)
    assert life.old < life.new


def test_ele_14_heat_of_ten_litres() -> None:
    """ELE-14 (cp 4.186 kJ/kgK): a store that is reckoned too small runs cold under the shower."""
    assert heat_of(0.010, 40.0) / 3.6e6 == pytest.approx(0.46511, rel=1e-4)
