"""Pumps: the head left at the inlet, and the power that a lift takes."""

from __future__ import annotations

from ullage.quantities import G_STANDARD


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
