"""Cold and heat in the rig file: the frost that a rig is meant to stand, and what keeps its pipes from it."""

from __future__ import annotations

from ullage.rig.part import Part
from ullage.rig.ranges import Conductivity, FrostAir, LengthOrNone, Speed, Time


class Insulation(Part):
    """A sleeve of foam or the like around a pipe."""

    thickness: LengthOrNone
    conductivity: Conductivity | None = None


class Frost(Part):
    """The worst frost that the rig is meant to stand."""

    air: FrostAir
    lasts: Time
    wind: Speed | None = None
