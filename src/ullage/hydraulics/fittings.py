"""Losses of what sits in a line, with their sources.

A loss is given as K (in velocity heads), as Kv (the flow of water at a drop of 1 bar,
IEC 60534-1), or as a quadratic resistance r of ``h = r q^2`` [s2/m5], which the solver uses.
"""

from __future__ import annotations

from math import exp, pi, sqrt

from ullage.kernels import kernel
from ullage.quantities import G_STANDARD

INLET_SHARP = 0.5
"""K of a square-edged inlet from a tank (HVAC Pump Handbook, table 3.7; row HYD-09)."""

OUTLET = 1.0
"""K of an outlet: the whole velocity head is lost (Borda-Carnot)."""

ORIFICE = 0.61
"""Discharge coefficient of a sharp edge: Kirchhoff's pi / (pi + 2) = 0.611 (row DRN-10)."""

EQUAL_PERCENTAGE, LINEAR = 0, 1
"""How the passage of a part follows its opening."""

RANGEABILITY = 50.0
"""Largest over smallest controllable Kv of an equal-percentage valve (IEC 60534-2-4)."""

_LN_RANGE = 3.912023005428146


def resistance_of_k(k: float, bore: float) -> float:
    """Quadratic resistance [s2/m5] of a loss of K velocity heads in a bore [m]."""
    area = 0.25 * pi * bore * bore
    return k / (2.0 * G_STANDARD * area * area)


def resistance_of_kv(kv: float) -> float:
    """Quadratic resistance [s2/m5] of a Kv given as a flow in m3/s.

    ``q = Kv sqrt(dp / 1 bar * 1000 / rho)``, so in metres of the flowing water the density
    drops out: ``r = 1e5 / (1000 g Kv^2)``. Kv 1.2 m3/h at 12 L/min: 0.36 bar (row VPN-10).
    """
    return 1e5 / (1000.0 * G_STANDARD * kv * kv)


def resistance_of_emitter(flow: float, pressure: float, density: float) -> float:
    """Quadratic resistance [s2/m5] of a tap that passes a flow [m3/s] at a pressure [Pa]."""
    return pressure / (density * G_STANDARD * flow * flow)


def resistance_of_orifice(bore: float, discharge: float = ORIFICE) -> float:
    """Quadratic resistance [s2/m5] of a sharp opening of a bore [m] into the open."""
    area = discharge * 0.25 * pi * bore * bore
    return 1.0 / (2.0 * G_STANDARD * area * area)


def weir_of_rim(bore: float) -> float:
    """Coefficient C of an overflow's round rim, ``q = C h^1.5`` [m3/s, m].

    The weir formula of Poleni, ``2/3 Cd sqrt(2 g) b h^1.5`` with b the rim's length; it meets
    the orifice formula of the same Cd at ``h = 3/8 bore``. 25 mm at 9.375 mm: 7.7 L/min.
    """
    return 2.0 / 3.0 * ORIFICE * sqrt(2.0 * G_STANDARD) * pi * bore


def rim_capacity(bore: float, over: float) -> float:
    """Flow [m3/s] of an overflow of a bore [m] with its rim this far under water [m].

    25 mm at 10 mm: 8.0 L/min.
    """
    if over <= 0.0:
        return 0.0
    weir = weir_of_rim(bore) * over * sqrt(over)
    return float(min(weir, sqrt(over / resistance_of_orifice(bore))))


@kernel
def passing(kind: int, opening: float) -> float:
    """Part of its full Kv that a throttle passes at an opening 0..1.

    Ball and butterfly valves follow the equal-percentage law of IEC 60534-2-4 with
    rangeability 50, brought down to zero at closed: ``(50^x - 1) / 49``; that small
    ball valves follow it is common practice, no source. All others are linear.
    """
    if opening <= 0.0:
        return 0.0
    if opening >= 1.0:
        return 1.0
    if kind == EQUAL_PERCENTAGE:
        return (exp(_LN_RANGE * opening) - 1.0) / (RANGEABILITY - 1.0)
    return opening
