"""Vents: the hole that a flow of air asks for, and the pressure in a tank that also drains run into."""

from __future__ import annotations

from math import pi, sqrt

from ullage.hydraulics.fittings import ORIFICE, resistance_of_orifice
from ullage.quantities import G_STANDARD
from ullage.sizing.flows import Flows
from ullage.sizing.losses import losses


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


def breathing_out(filling: Flows, tank: str, drained: float) -> float:
    """Gauge pressure of the air in a tank [Pa] while it is filled through its lines and from the drains of taps.

    What drains let in is no part of the network, but its air has to leave by the same vent; where it
    cannot, it blows through the water seal of a drain and the smell comes in.

    Parameters
    ----------
    filling : Flows
        With the flow in the tank's lines.
    tank : str
    drained : float
        Flow from taps [m3/s].
    """
    vent = filling.plumbing.link_of.get(("vent", tank))
    if vent is None or drained <= 0.0:
        return filling.over_pressure(tank)
    lost = losses(filling.plumbing, vent, max(filling.flow[vent], 0.0) + drained)
    return sum(lost.values()) / filling.plumbing.head_of(1.0)
