"""Where a thing is in the rig."""

from __future__ import annotations

from ullage.rig.part import Part
from ullage.rig.ranges import Height


class Position(Part):
    """A place in the rig [m]: x forward from the rear axle, y to the left, z up from the ground."""

    x: Height = 0.0
    y: Height = 0.0
    z: Height = 0.0
