"""Formulas of the rows that nothing in the package asks for yet, beside the tests that are their only users.

What a design review will want of them (the Kv that a flow needs, suction left before a pump, what an
accumulator gives) moves into the package with the review; till then it would be dead code there.
"""

from __future__ import annotations

from math import log, log10, pi, sqrt

from ullage.hydraulics.fittings import ORIFICE, resistance_of_kv, resistance_of_orifice
from ullage.hydraulics.water import ATMOSPHERE, specific_volume
from ullage.quantities import G_STANDARD, from_si, to_si

INLET_INWARD = 1.0
"""K of a thin inlet pipe that projects inward (same table; row HYD-09)."""

INLET_BELL = 0.05
"""K of a bell mouth (same table; row HYD-09)."""

SCREWED_ELBOW = {15: 2.10, 20: 1.70, 25: 1.50, 32: 1.30, 40: 1.20, 50: 1.00}
"""K of a screwed 90 degree elbow by nominal bore [mm] (HVAC Pump Handbook, table 3.8; row HYD-10)."""

SCREWED_TEE_BRANCH = {15: 2.40, 20: 2.10, 25: 1.90}
"""K of a screwed tee into its branch by nominal bore [mm] (same book, table 3.10; row HYD-11)."""

SCREWED_TEE_RUN = 0.90
"""K of a screwed tee straight through, all sizes (same table; row HYD-11)."""

CRITICAL_PRESSURE = 22.064e6
"""Critical pressure of water [Pa] (IAPWS R2-83)."""


def k_of_kv(kv: float, bore: float) -> float:
    """K velocity heads in a bore [m] of a Kv [m3/s]. Kv 500 m3/h in 154 mm: 3.60 (row HYD-02)."""
    area = 0.25 * pi * bore * bore
    return resistance_of_kv(kv) * 2.0 * G_STANDARD * area * area


def k_of_expansion(small: float, large: float) -> float:
    """K, on the small bore, of a sudden widening between two bores (Borda-Carnot). 10 to 20 mm: 0.5625."""
    return float((1.0 - (small / large) ** 2) ** 2)


def k_of_contraction(large: float, small: float) -> float:
    """K, on the small bore, of a sudden narrowing (Rennels & Hudson 2012, sharp edge). 20 to 10 mm: 0.4956.

    ``K = 0.0696 (1 - b^5) L^2 + (L - 1)^2`` with ``L = 1 + 0.622 (1 - 0.215 b^2 - 0.785 b^5)``
    and b the ratio of the bores.
    """
    b = small / large
    jet = 1.0 + 0.622 * (1.0 - 0.215 * b**2 - 0.785 * b**5)
    return float(0.0696 * (1.0 - b**5) * jet**2 + (jet - 1.0) ** 2)


def cv_of_kv(kv: float) -> float:
    """Cv, the flow in US gallons a minute at 1 psi, of a Kv [m3/s at 1 bar]. Kv 1 m3/h: 1.156099 (row VPN-09)."""
    return from_si(kv, "gpm") / sqrt(from_si(1e5, "psi"))


def kv_of_cv(cv: float) -> float:
    """Kv [m3/s at 1 bar] of a Cv in US gallons a minute at 1 psi. Cv 1: 0.864978 m3/h (row VPN-09)."""
    return to_si(cv, "gpm", "flow") * sqrt(from_si(1e5, "psi"))


def critical_ratio(vapour: float, critical: float = CRITICAL_PRESSURE) -> float:
    """Factor FF: pressure in the jet of a choked valve over the vapour pressure [-].

    ``0.96 - 0.28 sqrt(pv / pc)`` (IEC 60534-2-1). Water of 20 degC: 0.957117 (row VPN-11).

    Parameters
    ----------
    vapour, critical : float
        Vapour pressure and critical pressure of the liquid [Pa].
    """
    return 0.96 - 0.28 * sqrt(vapour / critical)


def choked_drop(inlet: float, vapour: float, recovery: float, critical: float = CRITICAL_PRESSURE) -> float:
    """Pressure drop [Pa] from which a valve passes no more, since the water in it boils.

    ``FL^2 (p1 - FF pv)`` (IEC 60534-2-1). It is reckoned with the valve's own FL: with the FLP of
    valve and reducers, as Crane TP-410 prints it in example 7-28, the limit comes out 2 psi off.
    80.6 psi, pv 4.75 psi, FL 0.9: 61.634 psi, so choked below 18.966 psi (row VPN-05).

    Parameters
    ----------
    inlet : float
        Absolute pressure before the valve [Pa].
    vapour, critical : float
        Of the liquid [Pa].
    recovery : float
        Factor FL of the valve: about 0.9 for a globe valve, 0.6 for a ball valve (same standard).
    """
    return recovery**2 * (inlet - critical_ratio(vapour, critical) * vapour)


def kv_needed(flow: float, density: float, drop: float, choked: float) -> float:
    """Kv that passes a flow of liquid [m3/s at 1 bar], in a line of the valve's own bore.

    ``q sqrt(rho / 1000 * 1 bar / dp)``, where a drop beyond the choked one counts no more
    (IEC 60534-2-1, turbulent). 360 m3/h of 965.4 kg/m3 at 4.6 bar: 165.0 m3/h (row VPN-01).

    Parameters
    ----------
    flow : float
        [m3/s]
    density : float
        [kg/m3]
    drop : float
        Pressure drop that is there to be spent [Pa].
    choked : float
        Of this valve, see `choked_drop` [Pa].
    """
    return flow * sqrt(density / 1000.0 * 1e5 / min(drop, choked))


def npsh_available(surface: float, vapour: float, density: float, lift: float, loss: float) -> float:
    """Net positive suction head available at a pump's inlet [m] (Crane TP-410, example 7-32).

    ``(p - pv) / (rho g) - lift - loss``: how far the water there is from boiling. With no lift
    and no loss it is the greatest height of a siphon's crest that water could reach at all.
    Water of 20 degC at the sea, lifted 1 m with 0.5 m of loss: 8.612 m (row VPN-13).

    Parameters
    ----------
    surface : float
        Absolute pressure on the water that is drawn from [Pa].
    vapour : float
        Vapour pressure of the water [Pa].
    density : float
        Of the water [kg/m3].
    lift : float
        Height of the inlet above that water [m]; below zero where the water stands above it.
    loss : float
        Head lost on the way to the inlet [m].
    """
    return (surface - vapour) / (density * G_STANDARD) - lift - loss


def power(flow: float, rise: float, efficiency: float) -> float:
    """Power that a pump takes [W], ``q dp / eta`` (Crane TP-410, example 7-34).

    The efficiency of the pump alone gives the power at its shaft, that of pump, motor and drive
    multiplied the electric power. 10 L/min against 2 bar at 35 %: 95.2 W.

    Parameters
    ----------
    flow : float
        [m3/s]
    rise : float
        Of pressure, from inlet to outlet [Pa].
    efficiency : float
        [-]
    """
    return flow * rise / efficiency


def hole_pressure(flow: float, bore: float, density: float) -> float:
    """Pressure that drives air through a hole [Pa], with the air taken as of one density.

    Air leaves a tank as fast as water enters it (API Std 2000, liquid that does not boil off).
    20 L/min of air of 1.204 kg/m3 through 6 mm: 224.9 Pa (row DRN-13).

    Parameters
    ----------
    flow : float
        Of air [m3/s].
    bore : float
        Of the hole [m].
    density : float
        Of the air [kg/m3].
    """
    return density * G_STANDARD * resistance_of_orifice(bore) * flow * flow


def hole_bore(flow: float, pressure: float, density: float) -> float:
    """Bore of the hole [m] that lets air through at a pressure: ``A = q / (C sqrt(2 g H))``, H in metres of air.

    API Std 2000 worked sheets use C 0.62 (row DRN-04); here it is that of every sharp edge, `ORIFICE`.
    20 L/min of air of 1.204 kg/m3 at 224.9 Pa: 6 mm.

    Parameters
    ----------
    flow : float
        Of air [m3/s].
    pressure : float
        Allowed [Pa].
    density : float
        Of the air [kg/m3].
    """
    return sqrt(4.0 / pi * flow / (ORIFICE * sqrt(2.0 * pressure / density)))


def usable_volume(
    volume: float, precharge: float, cut_in: float, cut_out: float, atmosphere: float = ATMOSPHERE
) -> float:
    """Water that an accumulator gives between two pressures [m3].

    ``V P0 (1 / P1 - 1 / P2)`` with absolute pressures (Boyle): the gas keeps its temperature,
    as it does when water is drawn slowly. Below its precharge it is empty and gives no more.
    1 L at 1.4 bar, switch at 1.7 and 2.8 bar: 0.2566 L (row VPN-15).

    Parameters
    ----------
    volume : float
        Of the vessel [m3].
    precharge, cut_in, cut_out : float
        Gauge pressures [Pa].
    atmosphere : float
        [Pa]
    """
    gas, low, high = (p + atmosphere for p in (precharge, max(cut_in, precharge), max(cut_out, precharge)))
    return volume * gas * (1.0 / low - 1.0 / high)


def expansion(cold: float, hot: float, pressure: float = ATMOSPHERE) -> float:
    """Part of its volume by which water grows when it is heated [-].

    From its density (IAPWS-IF97) at one absolute pressure. In a heater whose inlet has a check
    valve, an accumulator or a relief valve has to take it: shut in, it would burst the vessel.
    10 to 60 degC at 3 bar: 0.0168 (row VPN-17).

    Parameters
    ----------
    cold, hot : float
        Temperatures [K].
    pressure : float
        Absolute [Pa].
    """
    return specific_volume(hot, pressure) / specific_volume(cold, pressure) - 1.0


def swamee_jain(reynolds: float, ratio: float) -> tuple[float, float]:
    """Darcy factor and its slope d f / d Re by Swamee & Jain (1976), as EPANET uses it.

    ``f = 0.25 / log10(ratio / 3.7 + 5.74 / Re^0.9)^2``. Only for comparison with EPANET:
    Re 100,000 and ratio 0.0001 give 0.0186, 0.3 % above Colebrook.

    Parameters
    ----------
    reynolds : float
        Reynolds number [-].
    ratio : float
        Roughness over bore [-].
    """
    viscous = 5.74 / reynolds**0.9
    inner = ratio / 3.7 + viscous
    logarithm = log10(inner)
    slope = -0.5 / logarithm**3 * (-0.9 * viscous / reynolds) / (inner * log(10.0))
    return 0.25 / logarithm**2, slope


def atmosphere_at(height: float) -> float:
    """Pressure of the standard atmosphere [Pa] at a height above the sea [m] up to 11 km.

    ``p = 101325 (1 - 0.0065 H / 288.15)^5.25588`` with H the geopotential height
    (U.S. Standard Atmosphere 1976). 2000 m gives 79501.4 (row VPN-14).
    """
    geopotential = 6356766.0 * height / (6356766.0 + height)
    return float(ATMOSPHERE * (1.0 - 0.0065 * geopotential / 288.15) ** (9.80665 * 0.0289644 / (8.31432 * 0.0065)))
