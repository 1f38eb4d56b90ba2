"""Friction, fittings and flow in pipes: HYD rows, with the flows found by the product's solver.

Crane TP-410 examples are taken as restated and worked in the example notebooks of the library
fluids 1.3.1. Loss coefficients that the product does not hold (Crane's bends and valves) come from that
library; friction, losses of inlets, outlets and changes of bore, water, and the flow itself are the product's.
"""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sqrt

import fluids
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.reference.formulas import (
    INLET_BELL,
    INLET_INWARD,
    SCREWED_ELBOW,
    SCREWED_TEE_BRANCH,
    SCREWED_TEE_RUN,
    k_of_contraction,
    k_of_expansion,
    k_of_kv,
    power,
    swamee_jain,
)
from tests.reference.small_nets import STEEL, Net, always, fall_for, flow_under, pipe, water_at
from ullage.hydraulics import water
from ullage.hydraulics.fittings import (
    INLET_SHARP,
    LINEAR,
    OUTLET,
    resistance_of_k,
    resistance_of_kv,
    resistance_of_orifice,
)
from ullage.hydraulics.friction import LAMINAR_END, Law, colebrook, friction, table
from ullage.hydraulics.plumbing import Fluid, Link
from ullage.quantities import G_STANDARD, from_si, to_si
from ullage.rig.read import read_rig
from ullage.sizing.flows import Moment, flows_at

L_MIN = to_si(1.0, "L/min", "flow")
GPM = to_si(1.0, "gpm", "flow")
FOOT, INCH = to_si(1.0, "ft", "length"), to_si(1.0, "in", "length")


def bore_of(nps: float, schedule: str = "40") -> float:
    """Bore [m] of a steel pipe of ASME B36.10 by its nominal size [in]."""
    return float(fluids.nearest_pipe(NPS=nps, schedule=schedule)[1])


def velocity(flow: float, bore: float) -> float:
    """Mean velocity [m/s]."""
    return flow / (0.25 * pi * bore * bore)


def reynolds(flow: float, bore: float, fluid: Fluid) -> float:
    """Reynolds number, worked apart from the product's own scale of a section."""
    return velocity(flow, bore) * bore / fluid.viscosity


def read_factor(at: float, ratio: float, law: Law = colebrook) -> float:
    """Friction factor at a Reynolds number as the solver reads it from its table."""
    bend, cells = table(ratio, law)
    x = at / LAMINAR_END
    return friction(x, 0, bend, cells)[0] / (x * x)


# --- Crane TP-410 examples ---------------------------------------------------------------


def tank_elbows_ball_valve(factor: float, fluid: Fluid) -> tuple[Link, float]:
    """Link of example 7-6 with its elbows and valve for a friction factor, and its bore."""
    bore = bore_of(3)
    elbows = 6 * fluids.bend_rounded(bore, angle=90, fd=factor, bend_diameters=0.65)
    valve = fluids.K_ball_valve_Crane(D1=bore, D2=0.060, angle=0.5 * (15 + 30), fd=factor)
    losses = {"tank": INLET_SHARP, "elbows": elbows, "valve": valve, "air": OUTLET}
    resistances = [(part, resistance_of_k(k, bore)) for part, k in losses.items()]
    return Link("drain", sections=[pipe(bore, 60.0, STEEL, fluid)], resistances=resistances), bore


def test_hyd_01_tank_through_elbows_and_ball_valve() -> None:
    """HYD-01 (Crane TP-410M, example 7-6): a drain that is reckoned too quick keeps people waiting in the rain."""
    fluid = water_at(15)
    link, bore = tank_elbows_ball_valve(0.017, fluid)
    flow = flow_under(7.0, link, always(0.017))
    assert velocity(flow, bore) == pytest.approx(2.74, rel=0.02)
    assert from_si(flow, "L/min") == pytest.approx(781, rel=0.02)
    assert velocity(flow, bore) == pytest.approx(2.770, rel=5e-3)
    assert from_si(flow, "L/min") == pytest.approx(792.5, rel=5e-3)


def test_hyd_01_with_the_pipes_own_roughness() -> None:
    """HYD-01: a friction factor assumed once, and never asked again, overstates the flow by 6 %."""
    fluid, factor = water_at(15), 0.017
    for _ in range(8):
        link, bore = tank_elbows_ball_valve(factor, fluid)
        flow = flow_under(7.0, link)
        factor = read_factor(reynolds(flow, bore, fluid), STEEL / bore)
    assert from_si(flow, "L/min") == pytest.approx(746.48, rel=5e-3)


def test_hyd_02_kv_as_k_and_as_length_of_pipe() -> None:
    """HYD-02 (Crane TP-410M, example 7-2): a valve and the length of pipe it is worth pass the same flow."""
    bore, kv = 0.154, to_si(500, "m3/h", "flow")
    k = k_of_kv(kv, bore)
    assert k == pytest.approx(3.60, rel=2e-3)
    assert k / 0.015 == pytest.approx(240, rel=2e-3)
    assert k / 0.015 * bore == pytest.approx(37.0, rel=2e-3)
    valve = Link("valve", resistances=[("valve", resistance_of_kv(kv))])
    worth = Link("worth", sections=[pipe(bore, 36.957, 0.0, water_at(15))])
    assert flow_under(2.0, valve) == pytest.approx(flow_under(2.0, worth, always(0.015)), rel=2e-3)


@pytest.mark.parametrize(("rough", "factor"), [(0.0, 0.0179), (1.5e-6, 0.018108)])
def test_hyd_03_smooth_plastic_pipe(rough: float, factor: float) -> None:
    """HYD-03 (Crane TP-410M, example 7-1): the printed factor is the smooth one, the library's that of drawn tube."""
    fluid, bore, length, flow = water_at(30), 0.0525, 20.0, 200 * L_MIN
    assert reynolds(flow, bore, fluid) == pytest.approx(100600, rel=0.01)
    loss = fall_for(flow, Link("pipe", sections=[pipe(bore, length, rough, fluid)]))
    assert loss / (length / bore * velocity(flow, bore) ** 2 / (2 * G_STANDARD)) == pytest.approx(factor, rel=0.01)


def test_hyd_04_gravity_flow_with_change_of_bore() -> None:
    """HYD-04 (Crane TP-410, example 7-19): a loss counted in the wrong bore is wrong by five times here."""
    fluid, wide, narrow = water_at(15.556), bore_of(3), bore_of(2)
    upper = {
        "reservoir": INLET_SHARP,
        "mitre": fluids.bend_miter(Di=wide, angle=90, method="Crane"),
        "gate": fluids.K_gate_valve_Crane(D1=wide, D2=wide, angle=0.0),
    }
    lower = {"step": k_of_contraction(wide, narrow), "open": OUTLET}
    links = [
        Link(
            name,
            start=start,
            end=end,
            sections=[pipe(bore, length * FOOT, STEEL, fluid)],
            resistances=[(part, resistance_of_k(k, bore)) for part, k in losses.items()],
        )
        for name, start, end, bore, length, losses in (
            ("upper", 1, 0, wide, 10, upper),
            ("lower", 0, 2, narrow, 20, lower),
        )
    ]
    _, flow = Net(links, [11.5 * FOOT, 0.0], heights=(0.0,)).solve()
    assert flow[0] == pytest.approx(flow[1], rel=1e-9)
    assert from_si(flow[0], "gpm") == pytest.approx(137, rel=0.01)
    assert from_si(flow[0], "gpm") == pytest.approx(136.71, rel=0.01)


def test_hyd_05_lift_and_two_bores() -> None:
    """HYD-05 (Crane TP-410, example 7-14; trap): the later edition's 26450 Pa is a misprint that forgot the lift."""
    fluid, factor, flow = water_at(15), 0.018, 1500 * L_MIN
    small, large = bore_of(4), bore_of(5)
    elbows = [
        ("elbow", resistance_of_k(fluids.bend_rounded(Di=bore, angle=90, fd=factor, bend_diameters=1.5), bore))
        for bore in (small, large)
    ]
    widening = ("widening", resistance_of_k(fluids.contraction_round(small, large, 1.5 * small), small))
    link = Link(
        "riser",
        sections=[pipe(small, 34.0, STEEL, fluid), pipe(large, 67.0, STEEL, fluid)],
        resistances=[*elbows, widening],
    )
    pascals = fluid.density * G_STANDARD
    lift, total = 22.0 * pascals, (22.0 + fall_for(flow, link, always(factor))) * pascals
    assert total == pytest.approx(2.62e5, rel=0.01)
    assert total == pytest.approx(2.6e5, rel=0.02)
    assert 26450 < 0.2 * lift < total, "the misprint is not even a fifth of the lift alone"


def test_hyd_06_total_head_and_shaft_power() -> None:
    """HYD-06 (Crane TP-410, example 7-15): the pump that is chosen by its lift alone stands 20 ft short."""
    fluid, flow = water_at(21.111), 100 * GPM
    bore, seat = bore_of(3), bore_of(2.5)
    at = reynolds(flow, bore, fluid)
    losses = {
        "outlet": OUTLET,
        "gate": fluids.K_gate_valve_Crane(D1=bore, D2=bore, angle=0.0),
        "elbows": 4 * fluids.bend_rounded(Di=bore, angle=90, Re=at, method="Crane standard"),
        "check": fluids.K_lift_check_valve_Crane(D1=seat, D2=bore, angled=False),
    }
    link = Link(
        "rising main",
        sections=[pipe(bore, 500 * FOOT, 0.0022 * INCH, fluid)],
        resistances=[(part, resistance_of_k(k, bore)) for part, k in losses.items()],
    )
    head = 400 * FOOT + fall_for(flow, link)
    shaft = power(flow, head * fluid.density * G_STANDARD, 0.70) / (550 * FOOT * to_si(1, "lb", "mass") * G_STANDARD)
    for feet, horsepower in ((421, 15.2), (420.35, 15.154)):
        assert head / FOOT == pytest.approx(feet, rel=5e-3)
        assert shaft == pytest.approx(horsepower, rel=5e-3)


def test_hyd_07_orifice_plate() -> None:
    """HYD-07 (Crane TP-410M, example 7-29, with its errata: litres, not gallons; trap).

    The library's 462.66 L/min carries the expansibility of a gas (0.971), which ISO 5167-2 sets to 1
    for a liquid. Without it, 476.5 L/min: what the book prints, and what our orifice passes in our water.
    A restrictor that is sized with it lets 3 % more water in than its tank's overflow was told.
    """
    fluid, bore, hole, drop = water_at(15), bore_of(3, "80"), 0.050, 17e3
    viscosity = water.viscosity(288.15)
    flow = 478 * L_MIN
    for _ in range(6):
        discharge = fluids.C_Reader_Harris_Gallagher(
            D=bore, Do=hole, rho=fluid.density, mu=viscosity, m=flow * fluid.density, taps="D"
        )
        approach = 1.0 / sqrt(1.0 - (hole / bore) ** 4)
        plate = Link("plate", resistances=[("plate", resistance_of_orifice(hole, discharge * approach))])
        flow = flow_under(drop / (fluid.density * G_STANDARD), plate)
    assert from_si(flow, "L/min") == pytest.approx(478, rel=5e-3)
    assert from_si(flow, "gpm") < 478 / 3, "the unit that the errata corrects"
    with_gas = fluids.differential_pressure_meter_solver(
        D=bore,
        D2=hole,
        P1=2e5,
        P2=2e5 - drop,
        rho=water.density(288.15, 2e5),
        mu=viscosity,
        k=1.3295,
        meter_type="ISO 5167 orifice",
        taps="D",
    )
    assert with_gas == pytest.approx(7.7043, rel=5e-3)
    gas = fluids.orifice_expansibility(D=bore, Do=hole, P1=2e5, P2=2e5 - drop, k=1.3295)
    assert gas == pytest.approx(0.971, abs=1e-3)
    assert from_si(flow * gas, "L/min") == pytest.approx(462.66, rel=5e-3)


# --- tables of losses --------------------------------------------------------------------

CRANE_TURBULENT = {
    0.5: 0.027, 0.75: 0.025, 1: 0.023, 1.25: 0.022, 1.5: 0.021, 2: 0.019, 2.5: 0.018, 3: 0.018, 4: 0.017, 5: 0.016,
    6: 0.015,
}  # fmt: skip
CRANE_LATER = {0.5: 0.0255, 0.75: 0.0237, 1: 0.0223, 1.25: 0.0208, 1.5: 0.0200, 2: 0.0188, 3: 0.0172, 4: 0.0162}


@pytest.mark.parametrize("nps", list(CRANE_TURBULENT))
def test_hyd_08_fully_turbulent_steel(nps: float) -> None:
    """HYD-08 (Crane TP-410, page A-26, and its later fit): at great speed only roughness counts."""
    factor = read_factor(1.7e7, STEEL / bore_of(nps))
    assert factor == pytest.approx(CRANE_TURBULENT[nps], rel=0.05)
    if nps in CRANE_LATER:
        assert factor == pytest.approx(CRANE_LATER[nps], rel=0.02)


DRAIN = """
rig: Drain
tanks:
  butt:
    holds: potable
    shape: {box: {length: 1 m, width: 1 m, height: 1 m}}
    floor_at: {x: 0 m, y: 0 m, z: 1 m}
    openings: {low: {at: 0 mm}}
    vent: {bore: 200 mm, length: 10 mm}
    starts_with: 50 %
ports:
  outfall: {kind: discharge, at: {x: 0 m, y: 0 m, z: 0 m}}
pipes:
  tail: {bore: 25 mm, length: 300 mm, fittings: FITTINGS}
lines:
  - {from: butt.low, through: [tail], to: outfall}
"""


def drained(fittings: float) -> float:
    """Sum of losses [velocity heads] that the solver's flow shows in a drained tank, beside friction."""
    rig, findings, _ = read_rig(DRAIN.replace("FITTINGS", str(fittings)), "drain.yaml")
    assert rig is not None, findings
    bore, length, flow = 0.025, 0.3, flows_at(rig, Moment()).through("tail")
    heads = 1.5 * 2 * G_STANDARD / velocity(flow, bore) ** 2
    factor = fluids.Colebrook(reynolds(flow, bore, water_at(15)), 1.5e-6 / bore)
    return heads - factor * length / bore


def test_hyd_09_inlet_of_an_open_tank() -> None:
    """HYD-09 (HVAC Pump Handbook, table 3.7): a tank whose mouth costs nothing fills the kettle only on paper."""
    assert (INLET_BELL, INLET_SHARP, INLET_INWARD) == (0.05, 0.50, 1.0)
    assert INLET_INWARD > 0.78, "Crane's figure (from memory) is that of a thicker wall: ours errs to the safe side"
    assert drained(0.0) == pytest.approx(0.50 + 1.0, abs=2e-3)
    assert drained(INLET_INWARD - INLET_SHARP) == pytest.approx(1.0 + 1.0, abs=2e-3)


def test_hyd_10_screwed_elbows() -> None:
    """HYD-10 (HVAC Pump Handbook, table 3.8): small screwed elbows are far above Crane's 30 fT."""
    assert SCREWED_ELBOW == {15: 2.10, 20: 1.70, 25: 1.50, 32: 1.30, 40: 1.20, 50: 1.00}
    assert SCREWED_ELBOW[15] > 2.5 * 30 * CRANE_TURBULENT[0.5]
    assert drained(6 * SCREWED_ELBOW[25]) == pytest.approx(0.50 + 6 * 1.50 + 1.0, rel=1e-3)


def test_hyd_11_screwed_tees() -> None:
    """HYD-11 (HVAC Pump Handbook, table 3.10): into the branch of a tee costs twice as much as straight on."""
    assert SCREWED_TEE_BRANCH == {15: 2.40, 20: 2.10, 25: 1.90}
    assert SCREWED_TEE_RUN == 0.90
    branch, through = drained(SCREWED_TEE_BRANCH[25]), drained(SCREWED_TEE_RUN)
    assert branch - through == pytest.approx(1.90 - 0.90, abs=2e-3)


# --- friction -------------------------------------------------------------------------------

COLEBROOK = [
    ("HYD-12", 4e3, 0.0, 0.0399070),
    ("HYD-12", 1e4, 0.0, 0.0308830),
    ("HYD-12", 1e5, 0.0, 0.0179898),
    ("HYD-13", 1e5, 1e-4, 0.0185139),
    ("HYD-13", 1e6, 1e-3, 0.0199435),
    ("HYD-13", 1e5, 1e-2, 0.0385035),
    ("HYD-13", 1e4, 0.05, 0.0738013),
    ("HYD-13", 5e4, 0.002, 0.0265056),
    ("HYD-13", 1e7, 1e-5, 0.00899571),
]


@pytest.mark.parametrize(("row", "at", "ratio", "printed"), COLEBROOK)
def test_colebrook(row: str, at: float, ratio: float, printed: float) -> None:
    """HYD-12, HYD-13 (Colebrook 1939): the law, and the table that the solver reads, to the last printed digit."""
    exact = fluids.Clamond(at, ratio)
    assert colebrook(at, ratio)[0] == pytest.approx(exact, rel=1e-12), row
    assert read_factor(at, ratio) == pytest.approx(exact, rel=1e-6)
    assert read_factor(at, ratio) == pytest.approx(printed, rel=3e-6)


@given(st.floats(4e3, 1.7e7), st.floats(0.0, 0.05))
def test_colebrook_everywhere(at: float, ratio: float) -> None:
    """HYD-13: between the points of a table nobody looks, so look there (exact solution by Lambert's function)."""
    ratio = round(ratio, 3)  # a table is made once per roughness
    assert read_factor(at, ratio) == pytest.approx(fluids.Colebrook(at, ratio), rel=1e-6)


@pytest.mark.parametrize(
    ("approximation", "within"), [(lambda at, ratio: swamee_jain(at, ratio)[0], 0.017), (fluids.Haaland, 0.014)]
)
def test_hyd_14_explicit_approximations(approximation: Callable[[float, float], float], within: float) -> None:
    """HYD-14 (Swamee & Jain 1976, Haaland 1983): the law for EPANET's sake stays near the one we use."""
    for row, at, ratio, _ in COLEBROOK:
        assert approximation(at, ratio) == pytest.approx(read_factor(at, ratio), rel=within), row


@pytest.mark.parametrize(("at", "factor"), [(2000, 0.032), (1000, 0.064), (128, 0.5)])
def test_hyd_15_laminar(at: float, factor: float) -> None:
    """HYD-15 (Poiseuille, 64 / Re): a trickle through a long thin tube obeys another law, and its loss is linear."""
    assert read_factor(at, 1e-3) == pytest.approx(factor, rel=1e-12)
    fluid, bore, length = water_at(20), 0.006, 25.0
    flow = at * fluid.viscosity * pi * bore / 4
    loss = fall_for(flow, Link("tube", sections=[pipe(bore, length, 1.5e-6, fluid)]))
    poiseuille = 128 * fluid.viscosity * length * flow / (pi * G_STANDARD * bore**4)
    assert loss == pytest.approx(poiseuille, rel=1e-6)
    assert loss == pytest.approx(factor * length / bore * velocity(flow, bore) ** 2 / (2 * G_STANDARD), rel=1e-6)


def test_hyd_16_blasius() -> None:
    """HYD-16 (Blasius 1913): the smooth law of the hand calculation is 1.1 % under ours at Re 100,000."""
    blasius = 0.3164 / 1e5**0.25
    assert blasius == pytest.approx(0.0177925, abs=5e-8)
    assert 1 - blasius / read_factor(1e5, 0.0) == pytest.approx(0.011, abs=5e-4)


def hazen_williams(c: float, bore: float, fluid: Fluid) -> Law:
    """The Hazen-Williams loss as a friction factor of one bore: ``hf = 10.667 L Q^1.852 / (C^1.852 D^4.871)``."""

    def law(at: float, ratio: float) -> tuple[float, float]:
        flow = at * fluid.viscosity * pi * bore / 4
        loss = 10.667 * flow**1.852 / (c**1.852 * bore**4.871)
        factor = loss * bore * 2 * G_STANDARD / velocity(flow, bore) ** 2
        return factor, -0.148 * factor / at

    return law


def test_hyd_17_hazen_williams() -> None:
    """HYD-17 (EPANET 2.2 manual; Net1, pipe 10): any law of friction given to our solver comes out as it went in."""
    fluid, bore = water_at(20), 0.4572
    main = Link("main", sections=[pipe(bore, 3209.544, 0.0, fluid)])
    loss = fall_for(0.11773741, main, hazen_williams(100, bore, fluid))
    assert loss == pytest.approx(5.82696, rel=2e-5)
    assert loss == pytest.approx(5.82687, rel=2e-5)


def test_hyd_18_hose_run() -> None:
    """HYD-18 (Darcy-Weisbach, Colebrook): the hose takes a quarter of a bar that the person at the tap misses."""
    fluid, bore, length, flow = water_at(20), 0.0125, 10.0, 12 * L_MIN
    hose = Link("hose", sections=[pipe(bore, length, 1.5e-6, fluid)])
    loss = fall_for(flow, hose)
    assert velocity(flow, bore) == pytest.approx(1.62975, rel=2e-3)
    assert reynolds(flow, bore, fluid) == pytest.approx(20303, rel=2e-3)
    assert read_factor(reynolds(flow, bore, fluid), 1.5e-6 / bore) == pytest.approx(0.026052, rel=2e-3)
    assert loss == pytest.approx(2.8224, rel=2e-3)
    assert loss * fluid.density * G_STANDARD == pytest.approx(0.27628e5, rel=2e-3)
    assert fall_for(flow, hose, hazen_williams(150, bore, fluid)) == pytest.approx(2.6144, rel=2e-3)


# --- changes of bore, valves, hoses ------------------------------------------------------------


def test_hyd_22_sudden_change_of_bore() -> None:
    """HYD-22 (Borda-Carnot; Rennels & Hudson 2012): a reducer costs half a velocity head of the small bore."""
    for k, expected in ((k_of_contraction(0.020, 0.010), 0.4956), (k_of_expansion(0.010, 0.020), 0.5625)):
        assert k == pytest.approx(expected, rel=1e-3)
        flow = flow_under(1.0, Link("step", resistances=[("step", resistance_of_k(k, 0.010))]))
        assert 2 * G_STANDARD / velocity(flow, 0.010) ** 2 == pytest.approx(expected, rel=1e-3)
    for small in (0.008, 0.0127, 0.019):
        assert k_of_contraction(0.025, small) == pytest.approx(fluids.contraction_sharp(0.025, small), rel=1e-3)
        assert k_of_expansion(small, 0.025) == pytest.approx(fluids.diffuser_sharp(small, 0.025), rel=1e-6)


VALVES = [
    ("gate", 8, 0.1508, fluids.K_gate_valve_Crane(D1=0.0525, D2=0.0525, angle=0.0)),
    ("globe", 340, 6.408, fluids.K_globe_valve_Crane(D1=0.0525, D2=0.0525)),
    ("swing check", 100, 1.885, fluids.K_swing_check_valve_Crane(D=0.0525)),
    ("foot", 420, 7.916, fluids.K_foot_valve_Crane(D=0.0525, style=0)),
    ("ball", 3, 0.0565, fluids.K_ball_valve_Crane(D1=0.0525, D2=0.0525, angle=0.0)),
]


@pytest.mark.parametrize(("valve", "lengths", "k", "library"), VALVES, ids=[row[0] for row in VALVES])
def test_hyd_23_valves_at_two_inches(valve: str, lengths: int, k: float, library: float) -> None:
    """HYD-23 (Crane TP-410): a valve given by Kv, as the rig file does, loses what the book gives as K.

    Of ours it checks friction at full turbulence (fT), and Kv through a throttle of the solver.
    """
    bore = 0.0525
    assert library == pytest.approx(k, rel=0.01)
    assert lengths * read_factor(1.7e7, STEEL / bore) == pytest.approx(k, rel=0.01)
    kv = to_si(fluids.K_to_Kv(k, bore), "m3/h", "flow")
    link = Link(valve, throttles=[(valve, LINEAR, resistance_of_kv(kv))])
    assert 0.5 * 2 * G_STANDARD / velocity(flow_under(0.5, link), bore) ** 2 == pytest.approx(k, rel=0.01)


def test_hyd_24_fire_hose_form_from_memory() -> None:
    """HYD-24 (from memory: fire-service hose coefficients): the nozzleman's rule is of the size of our loss.

    ``1100 (10 / 100)^2 (50 / 100)`` is 5.5 psi in a 3/4 inch hose; a smooth rigid bore of exactly 3/4 inch loses
    6.2 psi by Colebrook. The rule is for hoses that swell under pressure: 2.5 % more bore is the difference.
    """
    fluid, rule = water_at(15), 1100 * (10 / 100) ** 2 * (50 / 100)
    assert rule == pytest.approx(5.5)

    def loss(bore: float) -> float:
        """Loss of the hose [psi]."""
        head = fall_for(10 * GPM, Link("hose", sections=[pipe(bore, 50 * FOOT, 1.5e-6, fluid)]))
        return from_si(head * fluid.density * G_STANDARD, "psi")

    assert rule < loss(0.75 * INCH) < 1.2 * rule
    assert loss(1.025 * 0.75 * INCH) == pytest.approx(rule, rel=0.10)
