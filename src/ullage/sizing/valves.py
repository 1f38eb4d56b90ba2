"""Valves: the Kv that a flow needs, and the drop beyond which a valve passes no more (IEC 60534-2-1:2011)."""

from __future__ import annotations

from math import sqrt

from ullage.quantities import from_si, to_si

CRITICAL_PRESSURE = 22.064e6
"""Critical pressure of water [Pa] (IAPWS R2-83)."""


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
