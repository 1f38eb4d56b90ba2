"""Valves, pumps and closed vessels: VPN rows.

IEC 60534-2-1:2011 and Crane TP-410 examples are taken as restated and worked in the tests and
example notebooks of the library fluids 1.3.1, which is the reference library here too.
"""

from __future__ import annotations

from math import pi, sqrt

import CoolProp.CoolProp as coolprop
import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.reference.formulas import (
    atmosphere_at,
    choked_drop,
    critical_ratio,
    cv_of_kv,
    expansion,
    kv_needed,
    kv_of_cv,
    npsh_available,
    power,
    usable_volume,
)
from tests.reference.small_nets import Net, flow_under
from ullage.hydraulics import water
from ullage.hydraulics.fittings import LINEAR, resistance_of_k, resistance_of_kv
from ullage.hydraulics.plumbing import Link
from ullage.plant import layout
from ullage.plant.codes import ATMOSPHERE
from ullage.plant.pipes import cushion_head
from ullage.quantities import G_STANDARD, from_si, to_si
from ullage.rig.read import read_rig
from ullage.sizing.flows import Moment, flows_at

PSI = to_si(1.0, "psi", "pressure")
BAR, KPA = 1e5, 1e3
M3_H = to_si(1.0, "m3/h", "flow")
GPM = to_si(1.0, "gpm", "flow")
FOOT, INCH = to_si(1.0, "ft", "length"), to_si(1.0, "in", "length")
POUND_PER_CUBIC_FOOT = to_si(1.0, "lb", "mass") / FOOT**3
HORSEPOWER = 550 * FOOT * to_si(1.0, "lb", "mass") * G_STANDARD

# --- valves --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "recovery", "kv", "chokes"), [("VPN-01", 0.9, 164.995, False), ("VPN-02", 0.6, 238.058, True)]
)
def test_kv_of_a_liquid_valve(row: str, recovery: float, kv: float, chokes: bool) -> None:
    """VPN-01, VPN-02 (IEC 60534-2-1, examples 1 and 2): a valve that boils inside passes less than its Kv says."""
    choked = choked_drop(680 * KPA, 70.1 * KPA, recovery, critical=22120 * KPA)
    assert (choked < 460 * KPA) is chokes, row
    needed = kv_needed(360 * M3_H, 965.4, 460 * KPA, choked)
    assert needed / M3_H == pytest.approx(kv, rel=1e-3)


@given(st.floats(1.2, 8.0), st.floats(0.05, 0.95), st.floats(5, 90), st.floats(0.5, 0.95))
def test_kv_of_any_water_valve(inlet: float, part: float, celsius: float, recovery: float) -> None:
    """VPN-01, VPN-02: the same law over all that a home's water does, choked or not, against the library."""
    kelvin, p1 = celsius + 273.15, inlet * BAR
    p2 = p1 * (1 - part)
    rho, pv = water.density(kelvin), water.vapour_pressure(kelvin)
    needed = kv_needed(12e-3 / 60, rho, p1 - p2, choked_drop(p1, pv, recovery))
    library = fluids.size_control_valve_l(
        rho=rho, Psat=pv, Pc=22.064e6, mu=water.viscosity(kelvin), P1=p1, P2=p2, Q=12e-3 / 60, FL=recovery
    )
    assert needed / M3_H == pytest.approx(library, rel=1e-3)


FILL = """
rig: Fill
tanks:
  butt:
    holds: potable
    shape: {box: {length: 1 m, width: 1 m, height: 1 m}}
    floor_at: {x: 0 m, y: 0 m, z: 0 m}
    openings: {top: {at: 1 m}}
    vent: {bore: 3 mm, length: LENGTH}
    starts_with: 10 %
ports:
  shore: {kind: supply, at: {x: 0 m, y: 0 m, z: 1 m}, pressure: 0.01 bar .. 6 bar}
pipes:
  hose: {bore: 19 mm, length: 3 m}
lines:
  - {from: shore, through: [hose], to: butt.top}
"""


HOLE, TUBE = 0.001, 0.03
"""A mere hole and a tube of ten bores: lengths of a vent [m]."""


@pytest.mark.parametrize(
    ("length", "supply", "over", "within"),
    [
        (HOLE, 0.021, 1 * KPA, 5e-3),
        (HOLE, 0.097, 5 * KPA, 0.01),
        (TUBE, 0.023, 1 * KPA, 5e-3),
        (TUBE, 0.118, 5 * KPA, 0.01),
    ],
)
def test_vpn_03_gas_valve_and_the_vent(length: float, supply: float, over: float, within: float) -> None:
    """VPN-03 (IEC 60534-2-1, example 3): a vent's air is reckoned as if it did not stretch, which must not matter.

    Of ours it checks the vent in the network and the air's density: up to the pressure at which a tank is
    condemned, the gas valve's equation finds in our flow and pressure the K of a hole (``1 / 0.61^2``, row
    DRN-10) or of a tube.
    """
    example = fluids.size_control_valve_g(
        T=433, MW=44.01, mu=1.4665e-4, gamma=1.30, Z=0.988, P1=680 * KPA, P2=310 * KPA, Q=38 / 36,
        D1=0.08, D2=0.1, d=0.05, FL=0.85, Fd=0.42, xT=0.60,
    )  # fmt: skip
    assert example == pytest.approx(72.587, rel=5e-3), "the reference itself"
    rig, findings, _ = read_rig(FILL.replace("LENGTH", f"{length!r} m"), "fill.yaml")
    assert rig is not None, findings
    flows = flows_at(rig, Moment(pressures={"shore": supply * BAR}))
    pressure, inflow = flows.over_pressure("butt"), flows.into("butt")
    assert pressure == pytest.approx(over, rel=0.1)
    kelvin, normal = 288.15, 273.15
    air = water.air_density(kelvin) / water.air_density(normal)
    kv = fluids.size_control_valve_g(
        T=kelvin, MW=28.96, mu=water.air_viscosity(kelvin), gamma=1.4, Z=1.0, P1=water.ATMOSPHERE + pressure,
        P2=water.ATMOSPHERE, Q=inflow * air, xT=0.70,
    )  # fmt: skip
    bore = 0.003
    at = 4 * inflow / (pi * bore) * water.air_density(kelvin) / water.air_viscosity(kelvin)
    ends = 1.5 if length == TUBE else 1 / 0.61**2
    k = ends + fluids.Colebrook(at, 1.5e-6 / bore) * length / bore
    assert fluids.Kv_to_K(kv, bore) == pytest.approx(k, rel=within)


def test_vpn_04_control_valve_between_reducers() -> None:
    """VPN-04 (Crane TP-410, example 7-27): the valve that fits the bare formula is too small once it is piped.

    The reducers' K are those of IEC 60534-2-1 (0.5 and 1 times ``(1 - b^2)^2``); the flow is our solver's.
    """
    density, line, bore = 60.998 * POUND_PER_CUBIC_FOOT, 4.026 * INCH, 3 * INCH
    fall = (80.6 - 70.8) * PSI / (density * G_STANDARD)
    reducers = ("reducers", resistance_of_k(1.5 * (1 - (bore / line) ** 2) ** 2, bore))

    def passed(cv: float) -> float:
        """Flow [gpm] through a valve of this Cv with its reducers."""
        throttle = ("valve", LINEAR, resistance_of_kv(kv_of_cv(cv)))
        return from_si(flow_under(fall, Link("valve", resistances=[reducers], throttles=[throttle])), "gpm")

    assert passed(79.94) == pytest.approx(250, rel=5e-3)
    assert passed(80.008) == pytest.approx(250, rel=5e-3)
    assert next(cv for cv in (41, 73, 114, 175) if passed(cv) >= 250) == 114
    choked = choked_drop(80.6 * PSI, 4.75 * PSI, 0.9, critical=3198 * PSI)
    bare = cv_of_kv(kv_needed(250 * GPM, density, 9.8 * PSI, choked))
    assert passed(bare) < 250


def test_vpn_05_choked_outlet_pressure() -> None:
    """VPN-05 (IEC 60534-2-1; trap): Crane's example 7-28 prints 20.8 psi, since it puts FLP where FL belongs."""
    choked = 80.6 - choked_drop(80.6 * PSI, 4.75 * PSI, 0.9, critical=3198 * PSI) / PSI
    assert choked == pytest.approx(18.966, rel=1e-3)
    assert choked < 70.8
    assert choked < 0.92 * 20.8


def test_vpn_09_kv_and_cv() -> None:
    """VPN-09 (IEC 60534-1): a Cv read as a Kv makes a fill 16 % slower than promised."""
    assert cv_of_kv(M3_H) == pytest.approx(1.156099, rel=1e-6)
    assert kv_of_cv(1.0) / M3_H == pytest.approx(0.864978, rel=1e-6)
    assert cv_of_kv(kv_of_cv(7.0)) == pytest.approx(7.0, rel=1e-12)
    assert cv_of_kv(M3_H) == pytest.approx(fluids.Kv_to_Cv(1.0), rel=1e-6)


def test_vpn_10_drop_through_a_valve() -> None:
    """VPN-10 (definition of Kv): 12 L/min through Kv 1.2 costs (0.72 / 1.2)^2 = 0.36 bar."""
    valve = Link("valve", throttles=[("valve", LINEAR, resistance_of_kv(1.2 * M3_H))])
    fall = 0.36 * BAR / (1000 * G_STANDARD)
    assert from_si(flow_under(fall, valve), "L/min") == pytest.approx(12.0, rel=1e-9)


def test_vpn_11_critical_ratio() -> None:
    """VPN-11 (IEC 60534-2-1, ``FF = 0.96 - 0.28 sqrt(pv / pc)``): hot water boils in a valve far sooner than cold."""
    assert critical_ratio(70.1 * KPA, 22120 * KPA) == pytest.approx(0.944238, rel=1e-6)
    assert critical_ratio(water.vapour_pressure(293.15)) == pytest.approx(0.957117, rel=1e-6)


# --- pumps ---------------------------------------------------------------------------------


def test_vpn_06_affinity_laws() -> None:
    """VPN-06 (Crane TP-410, example 7-33): a pump slowed by half does not give half the pressure but a quarter."""
    density, full = 998.0, 400 * GPM
    head, ratio = 126 * FOOT, 1700 / 3500
    curve = [(0.0, 150 * FOOT), (200 * GPM, 144 * FOOT), (full, head), (600 * GPM, 90 * FOOT)]
    pump = Link("pump", start=1, end=0, pump="pump")
    pipes = Link("pipes", start=0, end=2, resistances=[("pipes", head / full**2)])
    net = Net([pump, pipes], [0.0, 0.0], heights=(0.0,), curves=(curve,))
    heads, flows = net.solve()
    assert (flows[0] / GPM, heads[0] / FOOT) == pytest.approx((400, 126), rel=1e-5)
    efficiency = full * head * density * G_STANDARD / (17.5 * HORSEPOWER)
    heads, flows = net.solve(speed=ratio)
    assert flows[0] / GPM == pytest.approx(194.286, rel=1e-5)
    assert heads[0] / FOOT == pytest.approx(29.7257, rel=1e-5)
    taken = power(flows[0], heads[0] * density * G_STANDARD, efficiency)
    assert taken / HORSEPOWER == pytest.approx(2.00531, rel=1e-5)


def test_vpn_07_suction_lift() -> None:
    """VPN-07 (Crane TP-410, example 7-32): a pump above its tank boils its own inlet and pumps nothing."""
    surface = 5 * PSI + water.ATMOSPHERE
    available = npsh_available(surface, 0.256 * PSI, 62.364 * POUND_PER_CUBIC_FOOT, 25 * FOOT, 6 * FOOT) / FOOT
    assert available == pytest.approx(13.887, rel=1e-3)
    assert available < 20, "the pump of the example asks for 20 ft, with a margin of 1.3 for 26 ft"
    warm = to_si(60, "degF", "temperature")
    ours = npsh_available(surface, water.vapour_pressure(warm), water.density(warm), 25 * FOOT, 6 * FOOT)
    assert ours / FOOT == pytest.approx(13.887, rel=1e-3)


def test_vpn_08_pump_power_and_cost() -> None:
    """VPN-08 (Crane TP-410, example 7-34; trap): the printed 83970 a year is 0.08 % under its own figures."""
    flow, rise = 700 * GPM, 428 * FOOT * 62.364 * POUND_PER_CUBIC_FOOT * G_STANDARD
    shaft, electric = power(flow, rise, 0.707), power(flow, rise, 0.707 * 0.95 * 0.96)
    assert shaft / HORSEPOWER == pytest.approx(107.06, rel=1e-3)
    assert electric / HORSEPOWER == pytest.approx(117.39, rel=1e-3)
    cost = electric / 1e3 * 8000 * 0.12
    assert cost == pytest.approx(84033, rel=1e-3)
    assert cost == pytest.approx(84033, abs=1)
    assert 83970 / cost == pytest.approx(1 - 0.00075, abs=1e-5)


def test_vpn_12_duty_point() -> None:
    """VPN-12 (intersection of ``30 - 0.02 Q^2`` and ``5 + 0.03 Q^2``): where pump and pipes agree is the flow there is.

    Q in L/min and H in m; the curve is given to the solver in 10,000 points.
    """
    unit = to_si(1.0, "L/min", "flow")
    curve = [(q * unit, 30 - 0.02 * q * q) for q in (i * 0.0035 for i in range(10_000))]
    pump = Link("pump", start=1, end=0, pump="pump")
    pipes = Link("pipes", start=0, end=2, resistances=[("pipes", 0.03 / unit**2)])
    heads, flows = Net([pump, pipes], [0.0, 5.0], heights=(0.0,), curves=(curve,)).solve()
    assert flows[0] / unit == pytest.approx(sqrt(500), rel=1e-9)
    assert flows[0] / unit == pytest.approx(22.3607, abs=5e-5)
    assert heads[0] == pytest.approx(20.0, rel=1e-8)


@pytest.mark.parametrize(("celsius", "expected"), [(20, 8.6119), (60, 6.9401)])
def test_vpn_13_npsh_of_warm_water(celsius: float, expected: float) -> None:
    """VPN-13 (IAPWS-95): a pump that draws hot water loses a fifth of its suction."""
    kelvin = celsius + 273.15
    available = npsh_available(water.ATMOSPHERE, water.vapour_pressure(kelvin), water.density(kelvin), 1.0, 0.5)
    assert available == pytest.approx(expected, rel=1e-3)
    rho = coolprop.PropsSI("D", "T", kelvin, "P", water.ATMOSPHERE, "Water")
    pv = coolprop.PropsSI("P", "T", kelvin, "Q", 0, "Water")
    assert available == pytest.approx((water.ATMOSPHERE - pv) / rho / G_STANDARD - 1.5, rel=1e-4)


@pytest.mark.parametrize(
    ("height", "pressure"),
    [(0, 101325.0), (500, 95461.3), (1000, 89876.3), (1500, 84559.7), (2000, 79501.4), (3000, 70121.2)],
)
def test_vpn_14_atmosphere_at_height(height: float, pressure: float) -> None:
    """VPN-14 (U.S. Standard Atmosphere 1976): on a pass of 2000 m a pump has 2.2 m less of suction."""
    assert atmosphere_at(height) == pytest.approx(pressure, abs=0.5)
    assert atmosphere_at(height) == pytest.approx(fluids.ATMOSPHERE_1976(height).P, abs=0.5)


# --- closed vessels ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("row", "volume", "gauge", "unit", "atmosphere", "expected", "within"),
    [
        ("VPN-15", 1.0, (1.4, 1.7, 2.8), BAR, 1.01325, 0.256572, 1e-5),
        ("VPN-16", 2.0, (1.2, 1.4, 2.8), BAR, 1.01325, 0.673428, 1e-4),
        ("VPN-16", 1.0, (38, 40, 60), PSI, 14.7, 0.25795, 1e-4),
        ("VPN-16", 1.0, (28, 30, 50), PSI, 14.7, 0.29529, 1e-4),
        ("VPN-16", 1.0, (18, 20, 40), PSI, 14.7, 0.34456, 1e-4),
    ],
)
def test_accumulator(
    row: str,
    volume: float,
    gauge: tuple[float, float, float],
    unit: float,
    atmosphere: float,
    expected: float,
    within: float,
) -> None:
    """VPN-15, VPN-16 (Boyle): an accumulator taken for its size on the label promises four times the water."""
    precharge, cut_in, cut_out = (p * unit for p in gauge)
    usable = usable_volume(volume, precharge, cut_in, cut_out, atmosphere * unit)
    assert usable == pytest.approx(expected, rel=within), row
    held = [cushion_content(volume, precharge, p, atmosphere * unit) for p in (cut_in, cut_out)]
    assert held[1] - held[0] == pytest.approx(usable, rel=1e-9), "the plant's accumulator is another one"


def cushion_content(volume: float, precharge: float, pressure: float, atmosphere: float) -> float:
    """Water [of `volume`] at which the plant's accumulator stands at a gauge pressure, by bisection."""
    columns = [0] * (max(layout.CUSHION_VOLUME, layout.CUSHION_PRECHARGE, layout.WHOLE) + 1)
    columns[layout.CUSHION_PRECHARGE], columns[layout.WHOLE] = 1, 2
    reals = [volume, precharge + atmosphere, *[0.0] * ATMOSPHERE, atmosphere]
    low, high = 0.0, volume
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if cushion_head(columns, reals, 0, middle) < pressure else (low, middle)
    return low


@pytest.mark.parametrize(("cold", "hot", "percent"), [(10, 60, 1.67955), (10, 80, 2.87257)])
def test_vpn_17_expansion(cold: float, hot: float, percent: float) -> None:
    """VPN-17 (IAPWS-95, 3 bar): heated water that has nowhere to go bursts what holds it."""
    grows = expansion(cold + 273.15, hot + 273.15, 3 * BAR)
    assert grows == pytest.approx(percent / 100, abs=1e-4)
    rho = [coolprop.PropsSI("D", "T", c + 273.15, "P", 3 * BAR, "Water") for c in (cold, hot)]
    assert grows == pytest.approx(rho[0] / rho[1] - 1, abs=2e-5)
