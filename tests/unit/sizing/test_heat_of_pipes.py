"""Cooling, freezing, hot water: what must hold whatever the figures are."""

from __future__ import annotations

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ullage.rig.climate import Frost
from ullage.rig.model import Heater, Pipe, Rig
from ullage.sizing.cooling import chill_of, cooling_time, film_of, freezing_time, hindrance
from ullage.sizing.warming import hot_share, shower

RIG = Rig.model_validate({"rig": "Cold", "water": "4 degC .. 20 degC"})
FROST = Frost.model_validate({"air": "-8 degC", "lasts": "10 h"})


def pipe(**more: object) -> Pipe:
    """Four metres of small pipe."""
    return Pipe.model_validate({"bore": "13 mm", "length": "4 m", "wall": "2 mm", **more})


@given(st.floats(1.0, 60.0), st.floats(1.0, 60.0))
def test_thicker_foam_never_freezes_sooner(one: float, other: float) -> None:
    """The remedy that the review gives has to be one (at these diameters and films; a thin sleeve in still air
    around a very thin pipe would not be).
    """
    thin, thick = sorted((one, other))
    chills = [chill_of(RIG, pipe(insulation={"thickness": f"{mm} mm"}), FROST) for mm in (thin, thick)]
    assert chills[0].freezes <= chills[1].freezes * (1 + 1e-12)
    assert chills[0].loses >= chills[1].loses * (1 - 1e-12)


@given(st.floats(0.0, 30.0), st.floats(0.0, 30.0))
def test_more_wind_never_freezes_later(one: float, other: float) -> None:
    """A calm night must not look worse than a stormy one."""
    calm, storm = (film_of(speed, 0.017, 265.15) for speed in sorted((one, other)))
    assert 10.0 <= calm <= storm


def test_what_is_not_stated_is_taken_as_the_constants_say() -> None:
    """An unstated wall, foam or wind is named by the review with these figures."""
    told = chill_of(RIG, pipe(insulation={"thickness": "13 mm", "conductivity": "0.04 W/mK"}), FROST)
    open_wall = Pipe.model_validate({"bore": "13 mm", "length": "4 m", "insulation": {"thickness": "13 mm"}})
    assert chill_of(RIG, open_wall, FROST) == told
    assert told.film == 10.0


def test_a_chill_by_its_parts() -> None:
    """13 mm bore and twice 2 mm of wall are 17 mm; with 9 mm of foam the wind meets 35 mm, not 17."""
    windy = Frost.model_validate({"air": "-8 degC", "lasts": "10 h", "wind": "6 m/s"})
    chill = chill_of(RIG, pipe(insulation={"thickness": "9 mm", "conductivity": "0.038 W/mK"}), windy)
    hinders = hindrance(0.017, 0.009, 0.038, film_of(6.0, 0.035, 265.15))
    cools = cooling_time(0.013, hinders, 277.15, 265.15)
    assert chill.cools == pytest.approx(cools)
    assert chill.freezes == pytest.approx(cools + freezing_time(0.013, hinders, 265.15))
    assert chill.loses == pytest.approx(4.0 * 8.0 / hinders)


def test_a_frost_of_nothing_freezes_nothing() -> None:
    """Air of just 0 degC takes for ever; water that is already there takes no time to get there."""
    hinders = hindrance(0.015, 0.0, 0.04, 10.0)
    assert cooling_time(0.013, hinders, 280.0, 273.15) == freezing_time(0.013, hinders, 273.15) == inf
    assert cooling_time(0.013, hinders, 273.15, 263.15) == 0.0
    mild = chill_of(RIG, pipe(), Frost.model_validate({"air": "0 degC", "lasts": "10 h"}))
    assert mild.loses == 0.0


def test_the_loss_is_what_the_ice_takes() -> None:
    """Loss at 0 degC times the time to freeze is the latent heat of the water: else a tape is too weak."""
    chill = chill_of(RIG, pipe(), FROST)
    water = 1000.0 * 3.141592653589793 * 0.0065**2 * 4.0
    assert chill.loses * (chill.freezes - chill.cools) == pytest.approx(333.6e3 * water)


def test_the_balance_of_a_mixer() -> None:
    """What comes from the store and what is added cold give the wished warmth (38 from 60 and 10 degC: 0.56)."""
    share = hot_share(311.15, 333.15, 283.15)
    assert share == pytest.approx(0.56)
    assert share * 333.15 + (1 - share) * 283.15 == pytest.approx(311.15)


def test_a_shower_by_hand() -> None:
    """14 L of 38 degC from 2 degC take 8.69 of 60 degC; 2 kW for 2 min add another litre to a store of ten."""
    heater = Heater.model_validate(
        {"volume": "10 L", "bore": "13 mm", "power": "2 kW", "fuel": "diesel", "efficiency": "80 %"}
    )
    use = shower(heater, 333.15, 275.15, 7e-3 / 60, 311.15, 120.0)
    assert use.volume == pytest.approx(0.014)
    assert use.hot == pytest.approx(0.014 * 36 / 58)
    assert use.store == pytest.approx(0.010 + 2000 * 120 / (4186 * 1000 * 58))
    assert use.heat == pytest.approx(14 * 4186 * 36)
    assert use.fuel == pytest.approx(use.heat / 0.8 / 38.29e9)
    assert use.again * 2000 == pytest.approx(use.hot * 1000 * 4186 * 58)


@pytest.mark.parametrize("without", [{"fuel": "electricity", "efficiency": "98 %"}, {"fuel": "diesel"}, {}])
def test_no_fuel_is_told_where_none_is_known(without: dict[str, str]) -> None:
    """Litres of diesel for an electric heater, or with an efficiency nobody stated, would be made up."""
    heater = Heater.model_validate({"volume": "10 L", "bore": "13 mm", **without})
    use = shower(heater, 333.15, 275.15, 1e-4, 311.15, 60.0)
    assert use.fuel is None
    assert use.again == inf
