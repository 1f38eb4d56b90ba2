"""Water: WAT rows. IAPWS-IF97 (R7-97), IAPWS viscosity (R12-08), IAPWS-95 as the outside reference."""

from __future__ import annotations

import CoolProp.CoolProp as coolprop
import iapws
import pytest

from ullage.hydraulics import water

ROWS = [
    ("WAT-01", 0, 999.8443, 1791.75, 611.21),
    ("WAT-02", 4, 999.975, 1567.29, 813.55),
    ("WAT-03", 10, 999.7025, 1305.90, 1228.20),
    ("WAT-04", 15, 999.1026, 1137.57, 1705.79),
    ("WAT-05", 20, 998.2072, 1001.60, 2339.32),
    ("WAT-06", 25, 997.0476, 890.02, 3169.93),
    ("WAT-07", 30, 995.6495, 797.22, 4246.97),
    ("WAT-08", 40, 992.2164, 652.73, 7384.94),
    ("WAT-09", 50, 988.0350, 546.52, 12351.95),
    ("WAT-10", 60, 983.1958, 466.04, 19946.43),
]


@pytest.mark.parametrize(("row", "celsius", "rho", "mu", "psat"), ROWS)
def test_water_at(row: str, celsius: float, rho: float, mu: float, psat: float) -> None:
    """WAT-01 to WAT-10: cold water is twice as thick as warm, and a pump notices."""
    kelvin = celsius + 273.15
    assert water.density(kelvin) == pytest.approx(rho, abs=0.02), row
    assert water.viscosity(kelvin) * 1e6 == pytest.approx(mu, rel=1e-3)
    assert water.vapour_pressure(kelvin) == pytest.approx(psat, rel=1.5e-4)


def test_wat_11_region_1() -> None:
    """WAT-11: table 5 of R7-97, to its last printed digit (its sound speed is not used here: see WAT-15)."""
    for t, p, v, h in (
        (300.0, 3e6, 0.00100215168, 115.331273),
        (300.0, 80e6, 0.000971180894, 184.142828),
        (500.0, 3e6, 0.00120241800, 975.542239),
    ):
        assert water.specific_volume(t, p) == pytest.approx(v, rel=1e-8)
        assert water.enthalpy(t, p) / 1e3 == pytest.approx(h, rel=1e-8)


def test_wat_12_saturation() -> None:
    """WAT-12: tables 35 and 36 of R7-97."""
    for t, p in ((300.0, 0.00353658941e6), (500.0, 2.63889776e6), (600.0, 12.3443146e6)):
        assert water.vapour_pressure(t) == pytest.approx(p, rel=1e-8)
    for p, t in ((0.1e6, 372.755919), (1e6, 453.035632), (10e6, 584.149488)):
        assert water.saturation_temperature(p) == pytest.approx(t, rel=1e-8)


def test_wat_13_viscosity() -> None:
    """WAT-13: table 4 of R12-08; the third and fourth points have no critical term either."""
    for t, rho, mu in (
        (298.15, 998.0, 889.735100),
        (298.15, 1200.0, 1437.649467),
        (373.15, 1000.0, 307.883622),
        (433.15, 1.0, 14.538324),
    ):
        assert water.viscosity_at(t, rho) * 1e6 == pytest.approx(mu, rel=1e-7)


def test_wat_14_against_iapws_95() -> None:
    """WAT-14: the industrial formulation in use agrees with the scientific one at the latter's check point."""
    assert water.density(300.0, 0.0992418e6) == pytest.approx(996.5560, abs=0.003)
    assert water.sound_speed(300.0) == pytest.approx(1501.51914, rel=5e-4)


@pytest.mark.parametrize(
    ("celsius", "speed", "bulk"),
    [
        (0.01, 1402.43, 1.9665),
        (10, 1447.27, 2.0940),
        (20, 1482.35, 2.1934),
        (40, 1528.90, 2.3194),
        (60, 1550.97, 2.3651),
    ],
)
def test_wat_15_sound_and_stiffness(celsius: float, speed: float, bulk: float) -> None:
    """WAT-15: the stiffness of water decides how hard a shut valve hits the pipe."""
    assert water.sound_speed(celsius + 273.15) == pytest.approx(speed, rel=5e-4)
    assert water.bulk_modulus(celsius + 273.15) / 1e9 == pytest.approx(bulk, rel=5e-4)


def test_wat_16_sea_water() -> None:
    """WAT-16 (IAPWS sea water): an outfall under the sea is held shut by 2.6 % more than our fresh water says.

    The product reckons all water as fresh; the pressure on a drowned outfall is given, so give it that of the sea.
    """
    sea = iapws.SeaWater(T=293.15, P=0.101325, S=0.035).rho
    assert sea == pytest.approx(1024.641, abs=0.2)
    assert sea / water.density(293.15) == pytest.approx(1.0265, abs=3e-4)


def test_against_two_libraries() -> None:
    """Every degree from 1 to 90: a slip in one coefficient shows somewhere between the rows."""
    for celsius in range(1, 91):
        kelvin = celsius + 273.15
        rho = coolprop.PropsSI("D", "T", kelvin, "P", 101325, "Water")
        mu = coolprop.PropsSI("V", "T", kelvin, "P", 101325, "Water")
        assert water.density(kelvin) == pytest.approx(rho, rel=2e-5)
        assert water.viscosity(kelvin) == pytest.approx(mu, rel=1e-3)
        assert water.vapour_pressure(kelvin) == pytest.approx(iapws.IAPWS97(T=kelvin, x=0).P * 1e6, rel=1e-9)
