"""Vents: the pressure of the air in a tank that is filled, from the drains of taps too."""

from __future__ import annotations

from ullage.sizing.flows import Flows
from ullage.sizing.losses import losses


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
