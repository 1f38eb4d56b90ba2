"""Where the mass of a tank's content lies on level ground, by closed forms.

The water's density is an argument: this room is a sibling of the one that knows it.
"""

from __future__ import annotations

from itertools import pairwise
from math import sqrt

from ullage.rig.model import Lying, Shape, Strapping
from ullage.rig.shapes import segment, volume


def lift(shape: Shape, depth: float) -> float:
    """First moment of a content about the floor, the integral of height over volume [m4].

    Parameters
    ----------
    shape : Shape
        One of the shapes.
    depth : float
        Depth of the content [m], from nothing to the brim.

    Notes
    -----
    Upright walls: half of volume times depth. A lying cylinder: the moment of a circular segment
    about the middle of the circle is two thirds of the cube of half its chord (integrated;
    CHECKS GEO-04 gives the areas). A half full cylinder of 1 m diameter and 2 m length holds
    0.7854 m3 at 0.28779 m in the mean: 0.226032 m4. A strapping table: each layer of it has an even plan.
    """
    if shape.lying is not None:
        return _lying(shape.lying, depth)
    if shape.strapping is not None:
        return _strapped(shape.strapping, depth)
    return 0.5 * volume(shape, depth) * depth


def _lying(tank: Lying, depth: float) -> float:
    radius = 0.5 * tank.diameter
    half_chord = sqrt(max(depth * (tank.diameter - depth), 0.0))
    return tank.length * (radius * segment(radius, depth) - 2.0 / 3.0 * half_chord**3)


def _strapped(tank: Strapping, depth: float) -> float:
    total = 0.0
    for (low, less), (high, more) in pairwise(tank.table):
        top = min(depth, high)
        if top > low:
            total += (more - less) * (top - low) / (high - low) * 0.5 * (low + top)
    return total
