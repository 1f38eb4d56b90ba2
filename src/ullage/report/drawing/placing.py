"""The free place next to where something belongs."""

from __future__ import annotations

from ullage.report.drawing.scene import Rect, Spot
from ullage.report.drawing.stage import Stage


def nearby(stage: Stage, box: Rect, goal: Spot, wall: bool = True, take: bool = True) -> Spot:
    """Where a box given about (0, 0) finds room next to a place; its middle, kept free from then on if it is taken."""
    column, row = stage.paper.node(goal)
    unit = stage.paper.unit

    def across(place: int) -> float:
        return _gap(box.x1 + place * unit, box.x2 + place * unit, goal.x) + 0.05 * abs(place - column)

    def down(place: int) -> float:
        return _gap(box.y1 + place * unit, box.y2 + place * unit, goal.y) + 0.05 * abs(place - row)

    found = stage.paper.best(box, across, down)
    at = stage.paper.spot(found[0][1] if found else (column, row))
    if take:
        stage.paper.take(Rect(box.x1 + at.x, box.y1 + at.y, box.x2 + at.x, box.y2 + at.y), wall)
    return at


def _gap(low: float, high: float, at: float) -> float:
    return max(low - at, at - high, 0.0)
