"""How much a tank holds at a depth, level or on a slope.

A depth is measured along the tank's own wall, from its floor, above the middle of the floor
[m]. On a slope the liquid's surface in the tank's own frame is the plane
``depth + ahead * x + across * y`` with the slopes as tangents [m/m]; it is cut off at the floor and
the lid. Closed forms where there are any; else the volume is summed over strips whose areas are
closed forms, with Gauss's rule, to about 1e-9 of the whole.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from math import acos, asin, cos, hypot, pi, sin, sqrt

from ullage.rig.model import Box, Lying, Shape, Strapping, Tank, Upright

_GAUSS = (
    (-0.9602898564975363, 0.1012285362903763),
    (-0.7966664774136267, 0.2223810344533745),
    (-0.5255324099163290, 0.3137066458778873),
    (-0.1834346424956498, 0.3626837833783620),
    (0.1834346424956498, 0.3626837833783620),
    (0.5255324099163290, 0.3137066458778873),
    (0.7966664774136267, 0.2223810344533745),
    (0.9602898564975363, 0.1012285362903763),
)
"""Abscissae and weights of Gauss's rule with 8 points (Abramowitz and Stegun, table 25.4)."""

_PANELS = 64
"""Panels of the sum over strips: the surface may meet floor and lid within one."""

_EXACT = 1e-11
"""A depth is found when its volume is right to this share of the whole tank."""

_STEPS_LIMIT = 100
"""Steps of the search for a depth."""


def height(shape: Shape) -> float:
    """Inner height from floor to brim [m]."""
    if shape.box is not None:
        return shape.box.height
    if shape.upright is not None:
        return shape.upright.height
    if shape.lying is not None:
        return shape.lying.diameter
    assert shape.strapping is not None
    return shape.strapping.table[-1][0]


def volume(shape: Shape, depth: float, ahead: float = 0.0, across: float = 0.0) -> float:
    """Volume below the surface [m3].

    Parameters
    ----------
    shape : Shape
        One of the shapes.
    depth : float
        Depth above the middle of the floor [m]; may lie below the floor or above the lid on a slope.
    ahead, across : float
        Rise of the surface in the tank's frame along x and y [m/m].

    Notes
    -----
    A strapping table says nothing about the plan of the tank, so that a slope is left out of account:
    exact for tanks whose walls are upright and whose middle is the middle of the plan, while the
    surface touches neither floor nor lid (CHECKS GEO-10).
    """
    if shape.box is not None:
        return _box(shape.box, depth, ahead, across)
    if shape.upright is not None:
        return _upright(shape.upright, depth, hypot(ahead, across))
    if shape.lying is not None:
        along, beside = (ahead, across) if shape.lying.along == "x" else (across, ahead)
        return _lying(shape.lying, depth, along, beside)
    assert shape.strapping is not None
    return _strapped(shape.strapping, depth)


def depth(shape: Shape, content: float, ahead: float = 0.0, across: float = 0.0) -> float:
    """Depth above the middle of the floor at which a shape holds a volume [m].

    Parameters
    ----------
    shape : Shape
        One of the shapes.
    content : float
        Volume [m3], limited to what the shape holds.
    ahead, across : float
        As of `volume`.

    Notes
    -----
    Regula falsi in the Illinois form (Dowell and Jarratt, BIT 11 (1971) 168): an end that stays
    twice counts half, so that the bracket closes from both sides.
    """
    low, high = _reach(shape, ahead, across)
    if content <= 0.0:
        return low
    full = volume(shape, high, ahead, across)
    if content >= full:
        return high
    middle = sign = 0.0
    low_miss, high_miss = -content, full - content
    for _ in range(_STEPS_LIMIT):
        middle = (low * high_miss - high * low_miss) / (high_miss - low_miss)
        miss = volume(shape, middle, ahead, across) - content
        if abs(miss) <= _EXACT * full:
            break
        if miss < 0.0:
            low, low_miss, high_miss = middle, miss, high_miss * (0.5 if sign < 0.0 else 1.0)
        else:
            high, high_miss, low_miss = middle, miss, low_miss * (0.5 if sign > 0.0 else 1.0)
        sign = miss
    return middle


def whole(shape: Shape) -> float:
    """Volume up to the brim [m3]."""
    return volume(shape, height(shape))


def spills_at(tank: Tank) -> float:
    """Depth at which a tank runs over on level ground [m]: at its overflow, else at its brim."""
    brim = height(tank.shape)
    return brim if tank.overflow is None else min(brim, tank.overflow.at)


def capacity(tank: Tank) -> float:
    """Volume up to where a tank runs over on level ground [m3]: what 100 % means."""
    return volume(tank.shape, spills_at(tank))


def _reach(shape: Shape, ahead: float, across: float) -> tuple[float, float]:
    """Depths in the middle at which the tank is just empty and just full on a slope [m]."""
    if shape.box is not None:
        rise = 0.5 * (abs(ahead) * shape.box.length + abs(across) * shape.box.width)
    elif shape.upright is not None:
        rise = 0.5 * hypot(ahead, across) * shape.upright.diameter
    elif shape.lying is not None:
        along, beside = (ahead, across) if shape.lying.along == "x" else (across, ahead)
        radius = 0.5 * shape.lying.diameter
        rise = 0.5 * abs(along) * shape.lying.length + radius * (sqrt(1.0 + beside * beside) - 1.0)
    else:
        rise = 0.0
    return -rise, height(shape) + rise


# --- box -------------------------------------------------------------------------------------


def _box(box: Box, depth: float, ahead: float, across: float) -> float:
    """A box of plan area ``L W - (4 - pi) r^2`` (closed form, CHECKS GEO-12)."""
    length, width, radius = box.length, box.width, min(box.corner, 0.5 * box.length, 0.5 * box.width)
    if radius == 0.0 or (ahead == 0.0 and across == 0.0):
        area = length * width - (4.0 - pi) * radius * radius
        return area * _mean_clipped(depth, ahead * length, across * width, box.height)
    middle = width - 2.0 * radius
    inner = length * middle * _mean_clipped(depth, ahead * length, across * middle, box.height)

    def strip(angle: float) -> float:
        reach = length - 2.0 * radius + 2.0 * radius * cos(angle)
        y = 0.5 * middle + radius * sin(angle)
        both = sum(_mean_clipped(depth + side * y * across, ahead * reach, 0.0, box.height) for side in (-1.0, 1.0))
        return both * reach * radius * cos(angle)

    return inner + _summed(strip, 0.0, 0.5 * pi)


def _mean_clipped(middle: float, rise: float, other: float, top: float) -> float:
    """Mean depth over a rectangle of a plane cut off at 0 and ``top``.

    Parameters
    ----------
    middle : float
        Depth of the plane in the middle [m].
    rise, other : float
        Its rise over the whole of each side [m].
    top : float
        Height of the lid [m].
    """
    return _mean_ramp(middle, rise, other) - _mean_ramp(middle - top, rise, other)


def _mean_ramp(middle: float, rise: float, other: float) -> float:
    """Mean of ``max(u, 0)`` of a plane ``u`` over a rectangle (integrated by parts; no differences
    of nearly equal terms, so that it holds for any slope however small).
    """
    p, q = max(abs(rise), abs(other)), min(abs(rise), abs(other))
    below = 0.5 * (p + q) - middle
    if below <= 0.0:
        return middle
    if below >= p + q:
        return 0.0
    if below <= q:
        return middle + below**3 / (6.0 * p * q)
    if below <= p:
        return middle + (3.0 * below * (below - q) + q * q) / (6.0 * p)
    return (p + q - below) ** 3 / (6.0 * p * q)


# --- cylinders and tables -----------------------------------------------------------------------


def _upright(tank: Upright, depth: float, slope: float) -> float:
    radius = 0.5 * tank.diameter
    if slope == 0.0:
        return pi * radius * radius * min(max(depth, 0.0), tank.height)

    def strip(angle: float) -> float:
        reach = 2.0 * radius * cos(angle)
        return _mean_clipped(depth, slope * reach, 0.0, tank.height) * reach * radius * cos(angle)

    return 2.0 * _summed(strip, 0.0, 0.5 * pi)


def _lying(tank: Lying, depth: float, along: float, beside: float) -> float:
    """Segments of the round section; a slope across the axis only turns them."""
    radius = 0.5 * tank.diameter
    turned = sqrt(1.0 + beside * beside)

    def section(x: float) -> float:
        return segment(radius, radius + (depth + along * x - radius) / turned)

    if along == 0.0:
        return tank.length * section(0.0)
    return _summed(section, -0.5 * tank.length, 0.5 * tank.length)


def segment(radius: float, depth: float) -> float:
    """Area of a circle below a chord at a depth [m2] (closed form, CHECKS GEO-04)."""
    if depth <= 0.0:
        return 0.0
    if depth >= 2.0 * radius:
        return pi * radius * radius
    chord = sqrt(depth * (2.0 * radius - depth))
    angle = acos((radius - depth) / radius) if depth > 0.25 * radius else 2.0 * asin(sqrt(0.5 * depth / radius))
    return radius * radius * angle - (radius - depth) * chord


def _strapped(tank: Strapping, depth: float) -> float:
    table = tank.table
    if depth <= 0.0:
        return 0.0
    if depth >= table[-1][0]:
        return table[-1][1]
    at = bisect_right(table, depth, key=lambda pair: pair[0])
    (low, less), (high, more) = table[at - 1], table[at]
    return less + (more - less) * (depth - low) / (high - low)


def _summed(strip: Callable[[float], float], start: float, end: float) -> float:
    half = 0.5 * (end - start) / _PANELS
    return half * sum(
        weight * strip(start + half * (2 * panel + 1 + at)) for panel in range(_PANELS) for at, weight in _GAUSS
    )
