"""What the wheels bear, in the rig file: axles as weighed and as plated, and masses beside the water."""

from __future__ import annotations

from ullage.rig.part import Part
from ullage.rig.place import Position
from ullage.rig.ranges import CentreHeight, Height, Mass, MassSpan, Plate, Track


class Axle(Part):
    """One axle, or a group of axles close together by its middle; the hitch of a trailer counts as one.

    ``weighed`` is what it bears with empty tanks, full heater and pipes, and without the ``masses``.
    """

    x: Height
    limit: Plate | None = None
    wheel: Plate | None = None
    weighed: Plate | None = None
    left: Mass | None = None


class Weight(Part):
    """What holds for the whole rig: its plate, and how far apart its wheels stand."""

    gross: Plate | None = None
    side_difference: Mass | None = None
    track: Track | None = None
    centre_height: CentreHeight | None = None


class Cargo(Part):
    """A mass beside the water: people, gear, fuel. A range where it comes and goes."""

    mass: MassSpan
    at: Position
