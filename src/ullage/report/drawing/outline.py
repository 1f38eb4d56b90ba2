"""The outline of a tank from the side and from above, to scale, and where its water stands in it.

Outlines are closed lists of points about the middle of the tank's floor [m]: along x and up from
the side, along x and y from above.
"""

from __future__ import annotations

from itertools import pairwise
from math import cos, pi, sin, sqrt
from typing import Literal

from ullage.rig.model import Box, Shape, Strapping

View = Literal["side", "plan"]
"""From where a rig is drawn to scale."""

Outline = list[tuple[float, float]]
"""Corners of a closed line [m]."""

ROUND = 48
"""Corners that a circle is drawn with."""


def outline(shape: Shape, view: View) -> Outline:
    """The outline of a shape [m]: seen along y, or from above."""
    if shape.box is not None:
        return _upended(shape.box.length, shape.box.height) if view == "side" else _rounded(shape.box)
    if shape.upright is not None:
        diameter = shape.upright.diameter
        return _upended(diameter, shape.upright.height) if view == "side" else _circle(diameter, 0.0)
    if shape.lying is not None:
        diameter, length = shape.lying.diameter, shape.lying.length
        if view == "side":
            return _circle(diameter, 0.5 * diameter) if shape.lying.along == "y" else _upended(length, diameter)
        return _flat(length, diameter) if shape.lying.along == "x" else _flat(diameter, length)
    assert shape.strapping is not None
    profile = widths(shape.strapping)
    if view == "side":
        right = [(0.5 * width, depth) for depth, width in profile]
        return right + [(-x, depth) for x, depth in reversed(right)]
    most = max(width for _, width in profile)
    return _flat(most, most)


def widths(strapping: Strapping) -> list[tuple[float, float]]:
    """Pairs of depth and width [m] of a tank of which only a strapping table is known: the side of a square plan.

    A table of 0 L at 0, 10 L at 100 mm and 50 L at 200 mm has 0.1 m2 below and 0.4 m2 above: a side of
    316 mm at 50 mm and of 632 mm at 150 mm.
    """
    table = strapping.table
    middles = [(0.5 * (a + b), sqrt(max(more - less, 0.0) / (b - a))) for (a, less), (b, more) in pairwise(table)]
    return [(table[0][0], middles[0][1]), *middles, (table[-1][0], middles[-1][1])]


def reach(shape: Shape, view: View) -> tuple[float, float, float, float]:
    """Least and greatest of both coordinates of an outline [m]."""
    xs, ys = zip(*outline(shape, view), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def _upended(width: float, tall: float) -> Outline:
    return [(-0.5 * width, 0.0), (0.5 * width, 0.0), (0.5 * width, tall), (-0.5 * width, tall)]


def _flat(length: float, width: float) -> Outline:
    return [(x, y - 0.5 * width) for x, y in _upended(length, width)]


def _circle(diameter: float, up: float) -> Outline:
    turns = [2.0 * pi * i / ROUND for i in range(ROUND)]
    return [(0.5 * diameter * cos(t), up + 0.5 * diameter * sin(t)) for t in turns]


def _rounded(box: Box) -> Outline:
    """A box from above, its corners rounded."""
    radius = min(box.corner, 0.5 * box.length, 0.5 * box.width)
    if radius <= 0.0:
        return _flat(box.length, box.width)
    corners: Outline = []
    for quarter, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1))):
        middle = sx * (0.5 * box.length - radius), sy * (0.5 * box.width - radius)
        for i in range(9):
            turn = 0.5 * pi * (quarter + i / 8)
            corners.append((middle[0] + radius * cos(turn), middle[1] + radius * sin(turn)))
    return corners
