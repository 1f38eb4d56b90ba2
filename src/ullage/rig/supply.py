"""Electricity in the rig file: battery, wires, what else draws, and the handset's own small battery."""

from __future__ import annotations

from typing import Annotated, Literal

from ullage.rig.gauges import WireSize
from ullage.rig.part import Name, Part
from ullage.rig.ranges import Charge, Current, Fraction, Length, Resistance, Time, TimeADay, Voltage, Wattage


class Wire(Part):
    """The pair of wires that feeds a part, from its board; a board, and a part without one, from the battery."""

    length: Length
    size: Annotated[float, WireSize("area", 5e-8, 3e-4)]
    serves: Literal["safety", "other"] | None = None
    fuse: Current | None = None


class Load(Part):
    """What draws from the battery beside pumps, valves and boards; it states its current or its power."""

    draws: Current | None = None
    power: Wattage | None = None
    inrush: Current | None = None
    daily: TimeADay | None = None
    least_voltage: Voltage | None = None
    wire: Wire | None = None
    board: Name | None = None


class Rating(Part):
    """What a battery gives when it is emptied within a time, as its data sheet lists it."""

    capacity: Charge
    over: Time


class Power(Part):
    """The supply of the boards, pumps and motors."""

    voltage: Voltage = 12.6
    capacity: Charge = 360000.0
    resistance: Resistance = 0.02
    least: Voltage = 10.5
    rated_over: Time = 72000.0
    quicker: Rating | None = None
    usable: Fraction | None = None


class Gesture(Part):
    """An attitude of the handset, kept for a while, gives a command. ``does`` is ``start fill`` and the like."""

    attitude: Literal["upright", "inverted", "flat", "docked"]
    dwell: Time
    does: str


class Wake(Part):
    """Something for which the handset wakes again and again."""

    draws: Current
    lasts: Time
    every: Time


class Handset(Part):
    """The thing carried to the fill port."""

    stale: Time = 10.0
    gestures: tuple[Gesture, ...] = ()
    battery: Charge | None = None
    sleeps: Current | None = None
    wakes: dict[Name, Wake] = {}
