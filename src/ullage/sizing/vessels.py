"""Closed vessels: what an accumulator gives, and what water takes when it warms."""

from __future__ import annotations

from ullage.hydraulics.water import ATMOSPHERE, specific_volume


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
