"""Upkeep in the rig file: what disinfects it, filters, drain cocks, and how often things are done."""

from __future__ import annotations

from typing import Literal

from ullage.rig.part import Name, Part
from ullage.rig.ranges import Density, Interval, Strength, Throughput, Time, Volume


class Disinfectant(Part):
    """A solution of sodium hypochlorite. ``stated`` says what the per cent on its label are of.

    ``w/v``: grams of chlorine in 100 mL. ``w/w``: grams of chlorine in 100 g, which needs the ``density``.
    """

    strength: Strength
    stated: Literal["w/v", "w/w"]
    density: Density | None = None
    plain: bool | None = None
    contact: Time | None = None


class Filter(Part):
    """A cartridge beside or behind a part of a line; its loss of pressure is that of the part."""

    at: Name
    every: Interval
    passes: Throughput | None = None
    holds: Volume | None = None


class Drain(Part):
    """A drain cock, shut while the rig is in use: ``at`` a point, a ``tank.opening``, or where a part begins."""

    at: str


class Upkeep(Part):
    """How often things are done, and how much water is used."""

    water_a_day: Volume | None = None
    disinfect: Interval | None = None
    proof_test: Interval | None = None
    calibrate: Interval | None = None
