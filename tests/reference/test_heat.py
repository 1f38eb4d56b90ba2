"""Frost and hot water: SAN-11 to SAN-15, SAN-19, SAN-20; NRG-02, NRG-03, NRG-08; the film of air by CoolProp."""

from __future__ import annotations

from math import inf, pi

import pytest
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp

from ullage.review.cold import GERMS_GROW, KEEPS_GERMS_DOWN
from ullage.sizing.cooling import AIR_PRANDTL, cooling_time, film_of, freezing_time, hindrance, nusselt
from ullage.sizing.warming import FUEL_HEAT, SCALDS, burns_in, fuel_for

INCH = 0.0254
HOUR = 3600.0


def fahrenheit(degrees: float) -> float:
    """[K]"""
    return (degrees - 32.0) / 1.8 + 273.15


@pytest.mark.parametrize(("ambient", "published"), [(-18.0, 1.3785), (20.0, 4.5829)])
def test_san_15_ashrae_two_inch_pipe(ambient: float, published: float) -> None:
    """SAN-15 (ASHRAE Fundamentals ch. 23): a pipe told to last the night and frozen at two floods at thaw."""
    conductivity = 0.30 * 1055.056 * INCH / (HOUR * 0.3048**2) * 1.8  # Btu in/(h ft2 F)
    hinders = hindrance(2.375 * INCH, 1.5 * INCH, conductivity, inf)
    hours = cooling_time(2.067 * INCH, hinders, fahrenheit(42.0), fahrenheit(ambient)) / HOUR
    assert hours == pytest.approx(published, rel=1e-2)


def test_san_19_bare_pipe() -> None:
    """SAN-19: a bare pipe is at 0 degC in a quarter of an hour and a solid rod in under three."""
    hinders = hindrance(0.015, 0.0, 0.04, 10.0)
    assert cooling_time(0.013, hinders, 283.15, 263.15) / HOUR == pytest.approx(0.2270, rel=1e-4)
    assert freezing_time(0.013, hinders, 263.15) / HOUR == pytest.approx(2.610, rel=1e-4)


def test_san_20_insulated_pipe() -> None:
    """SAN-20: insulation puts frost off by hours and keeps nothing from it for ever."""
    hinders = hindrance(0.015, 0.013, 0.04, 10.0)
    assert hinders == pytest.approx(4.7772, rel=1e-4)
    assert cooling_time(0.013, hinders, 283.15, 263.15) / HOUR == pytest.approx(0.5111, rel=1e-4)
    assert freezing_time(0.013, hinders, 263.15) / HOUR == pytest.approx(5.876, rel=1e-4)


def test_the_closed_form_is_the_lump_integrated() -> None:
    """Against scipy's integration of the lump: a slip in the logarithm would hide behind matching rows."""
    hinders, section = hindrance(0.022, 0.009, 0.038, 25.0), 0.25 * pi * 0.018**2

    def cooling(_: float, state: list[float]) -> list[float]:
        return [-(state[0] - 268.0) / (hinders * 1000.0 * 4186.0 * section)]

    def frost(_: float, state: list[float]) -> float:
        return state[0] - 273.15

    frost.terminal = True  # type: ignore[attr-defined]
    found = solve_ivp(cooling, (0.0, 1e6), [281.0], events=frost, rtol=1e-9, atol=1e-9)
    assert cooling_time(0.018, hinders, 281.0, 268.0) == pytest.approx(found.t_events[0][0], rel=1e-6)


def test_film_of_a_wind() -> None:
    """Churchill and Bernstein 1977: wind freezes a bare pipe several times as fast as still air (textbook: Nu 40.6)."""
    assert nusselt(6071.0, 0.7) == pytest.approx(40.64, rel=1e-4)
    assert film_of(5.0, 0.015, 263.15) == pytest.approx(64.07, rel=1e-3)
    assert film_of(0.0, 0.015, 263.15) == 10.0


@pytest.mark.parametrize("air", [243.15, 258.15, 271.15])
def test_air_of_the_film_against_coolprop(air: float) -> None:
    """The same correlation with CoolProp's air: properties that are off would shift every time of a windy night."""
    viscosity, conductivity = (PropsSI(name, "T", air, "P", 101325, "Air") for name in ("V", "L"))
    reynolds = 5.0 * 0.015 * PropsSI("D", "T", air, "P", 101325, "Air") / viscosity
    prandtl = PropsSI("PRANDTL", "T", air, "P", 101325, "Air")
    assert prandtl == pytest.approx(AIR_PRANDTL, rel=0.02)
    assert film_of(5.0, 0.015, air) == pytest.approx(nusselt(reynolds, prandtl) * conductivity / 0.015, rel=0.02)


def test_san_11_to_13_germs() -> None:
    """SAN-11 (WHO 2007), SAN-12 (HSE L8), SAN-13: from memory or at second hand; the limits stand where they say."""
    limits = [round(limit - 273.15, 9) for limit in (*GERMS_GROW, KEEPS_GERMS_DOWN)]
    assert limits == [25.0, 45.0, 60.0]


def test_san_14_scalds() -> None:
    """SAN-14 (US CPSC, at second hand): 150, 140, 130 and 120 degF burn through in 2 s, 6 s, 30 s and 5 min."""
    for (limit, seconds), degrees in zip(SCALDS, (150.0, 140.0, 130.0, 120.0), strict=True):
        assert limit + 273.15 == pytest.approx(fahrenheit(degrees), abs=0.6)
        assert burns_in(limit + 273.15) == seconds
    assert [seconds for _, seconds in SCALDS] == [2.0, 6.0, 30.0, 300.0]
    assert burns_in(313.15) == inf


def test_nrg_02_03_gross_heat_of_fuel() -> None:
    """NRG-02 (US EIA, at second hand), NRG-03: gross heat; the net one (NRG-09, from memory) is 2 to 10 % less."""
    british, gallon = 1055.05585, 231 * INCH**3
    assert FUEL_HEAT["diesel"] == pytest.approx(137381 * british / gallon, rel=1e-3)
    assert FUEL_HEAT["propane"] == pytest.approx(91333 * british / gallon, rel=1e-3)
    assert 0.02 < 1.0 - 35.9e9 / FUEL_HEAT["diesel"] < 0.10


def test_nrg_08_fuel_of_a_heater() -> None:
    """NRG-08: 2 kW for an hour from diesel at an efficiency of 0.8."""
    assert 1e3 * fuel_for(2000.0 * HOUR, 0.8, FUEL_HEAT["diesel"]) == pytest.approx(0.23505, rel=1e-4)
