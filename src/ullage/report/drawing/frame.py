"""From the rig's own metres to the sheet: side elevation (x forward, z up) and plan (x forward, y to the left)."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ullage.report.drawing.outline import View, reach
from ullage.report.drawing.scene import Spot
from ullage.report.drawing.sheet import Sheet
from ullage.rig.model import Rig
from ullage.rig.place import Position

LEAST_SPAN = 0.3
"""A rig is drawn as if it were at least so large [m]: one of a single point has a scale, too."""


@dataclass(frozen=True, slots=True)
class Frame:
    """How a view lies on the sheet.

    Attributes
    ----------
    view : str
        ``side`` or ``plan``.
    scale : float
        [px/m].
    left, bottom : float
        Least coordinates that are shown [m].
    origin : Spot
        Where those lie on the sheet [px].
    right, top : float
        Greatest coordinates that are shown [m].
    """

    view: View
    scale: float
    left: float
    bottom: float
    right: float
    top: float
    origin: Spot

    def spot(self, at: Position) -> Spot:
        """Where a place of the rig lies on the sheet."""
        return self.flat(at.x, at.z if self.view == "side" else at.y)

    def flat(self, across: float, up: float) -> Spot:
        """Where a place of the view lies on the sheet."""
        return self.origin.by(self.scale * (across - self.left), -self.scale * (up - self.bottom))


def frame(rig: Rig, view: View, sheet: Sheet, above: float, below: float) -> Frame:
    """The scale at which a rig fits a sheet.

    Parameters
    ----------
    above, below : float
        Room over and under the rig [px].
    """
    places = list(_places(rig, view)) or [(0.0, 0.0)]
    left, right = min(x for x, _ in places), max(x for x, _ in places)
    bottom, top = min(up for _, up in places), max(up for _, up in places)
    if view == "side":
        bottom, top = min(bottom, 0.0), max(top, 0.0)
    left, right = _widened(left, right)
    bottom, top = _widened(bottom, top)
    scale = min((sheet.width - 2 * sheet.edge) / (right - left), sheet.tall / (top - bottom))
    start = 0.5 * (sheet.width - scale * (right - left))
    return Frame(view, scale, left, bottom, right, top, Spot(start, above + scale * (top - bottom)))


def _widened(low: float, high: float) -> tuple[float, float]:
    lack = max(LEAST_SPAN - (high - low), 0.0)
    return low - 0.5 * lack, high + 0.5 * lack


def _places(rig: Rig, view: View) -> Iterator[tuple[float, float]]:
    """What a view has to hold [m]."""
    for tank in rig.tanks.values():
        floor = tank.floor_at
        x1, up1, x2, up2 = reach(tank.shape, view)
        base = floor.z if view == "side" else floor.y
        yield floor.x + x1, base + up1
        yield floor.x + x2, base + up2
    for group in (rig.ports, rig.points, rig.fixtures):
        for part in group.values():
            yield part.at.x, part.at.z if view == "side" else part.at.y
