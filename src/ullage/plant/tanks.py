"""Volume and surface of each tank, fast: cubic cells between depths at which the shape is exact.

A *stand* is one way the rig stands (level, or on a slope). For every tank and stand there is a
run of cells; in each, the volume is the cubic through four exact points. Tables are made once
from `ullage.rig.shapes`, which knows the shapes; a strapping table has its own knots as cells.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import cos, pi, tan

from ullage.hydraulics.build import tilted
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.layout import Integers, Reals, of
from ullage.rig import shapes
from ullage.rig.model import Box, Rig, Slope, Tank

CELLS = 64
"""Cells of a tank without knots of its own, closest together at floor and lid, where a lying cylinder bends most."""

LEAST_CELL = 1e-9
"""Depths closer together than this are one [m]."""

NEWTON_LIMIT = 30
"""Steps of the search for a depth within a cell."""


@kernel
def depth_of(n: Integers, r: Reals, run: int, volume: float) -> float:
    """Depth above the middle of the floor [m] at which a tank holds a volume [m3].

    Parameters
    ----------
    n, r : columns
        The plant.
    run : int
        ``tank * stands + stand``.
    volume : float
        Volume [m3].
    """
    depths, volumes = n[at.CELL_DEPTH], n[at.CELL_VOLUME]
    low, high = of(n, at.CELL_FIRST, run), of(n, at.CELL_FIRST, run + 1) - 1
    if volume <= r[volumes + low]:
        return r[depths + low]
    if volume >= r[volumes + high]:
        return r[depths + high]
    while high - low > 1:
        middle = (low + high) // 2
        if r[volumes + middle] <= volume:
            low = middle
        else:
            high = middle
    start = r[depths + low]
    return start + part_of(n, r, low, volume - r[volumes + low]) * (r[depths + low + 1] - start)


@kernel
def part_of(n: Integers, r: Reals, cell: int, wanted: float) -> float:
    """Part 0..1 of a cell's height below which it holds a volume [m3]: Newton kept within its bounds."""
    linear, square, cube = r[n[at.CELL_LINEAR] + cell], r[n[at.CELL_SQUARE] + cell], r[n[at.CELL_CUBE] + cell]
    left, right = 0.0, 1.0
    part = wanted / (linear + square + cube)
    for _ in range(NEWTON_LIMIT):
        over = part * (linear + part * (square + part * cube)) - wanted
        if over > 0.0:
            right = part
        else:
            left = part
        slope = linear + part * (2.0 * square + part * 3.0 * cube)
        to = part - over / slope if slope > 0.0 else left
        if to < left or to > right:
            to = 0.5 * (left + right)
        moved = abs(to - part)
        part = to
        if moved < 1e-13:
            break
    return part


@kernel
def surface_of(n: Integers, r: Reals, run: int, volume: float) -> float:
    """Height [m] above the datum of the surface over the middle of the floor."""
    return r[n[at.BASE] + run] + r[n[at.UPRIGHT_SHARE] + run] * depth_of(n, r, run, volume)


@dataclass(slots=True)
class Surfaces:
    """Tables of all tanks on all stands, by the names of `ullage.plant.layout`; run ``tank * stands + stand``.

    Attributes
    ----------
    cell_first : (R + 1,)
        Cells of run r are ``cell_first[r]`` up to ``cell_first[r + 1] - 1``; the last entry of a run is its end.
    cell_depth : (C,) [m]
        Depth above the middle of the floor at the start of each cell.
    cell_volume : (C,) [m3]
        Volume at the start of each cell.
    cell_linear, cell_square, cell_cube : (C,) [m3]
        Volume in the cell: ``volume + s (linear + s (square + s cube))`` with s from 0 to 1.
    base : (R,) [m]
        Height of the middle of the floor above the datum.
    upright_share : (R,)
        Height gained per metre of depth, 1 on level ground.
    ahead, across : (R,) [m/m]
        Rise of the surface in the tank's own frame.
    """

    cell_first: list[int] = field(default_factory=lambda: [0])
    cell_depth: list[float] = field(default_factory=list)
    cell_volume: list[float] = field(default_factory=list)
    cell_linear: list[float] = field(default_factory=list)
    cell_square: list[float] = field(default_factory=list)
    cell_cube: list[float] = field(default_factory=list)
    base: list[float] = field(default_factory=list)
    upright_share: list[float] = field(default_factory=list)
    ahead: list[float] = field(default_factory=list)
    across: list[float] = field(default_factory=list)

    def add(self, tank: Tank, slope: Slope) -> None:
        """Add the run of one tank on one stand."""
        ahead, across = -tan(slope.ahead) / cos(slope.across), -tan(slope.across)
        knots = _knots(tank, ahead, across)
        for low, high in zip(knots, [*knots[1:], None], strict=True):
            start = shapes.volume(tank.shape, low, ahead, across)
            third, twice, whole = 0.0, 0.0, 0.0
            if high is not None:
                step = (high - low) / 3.0
                third = shapes.volume(tank.shape, low + step, ahead, across) - start
                twice = shapes.volume(tank.shape, low + 2.0 * step, ahead, across) - start
                whole = shapes.volume(tank.shape, high, ahead, across) - start
            self.cell_depth.append(low)
            self.cell_volume.append(start)
            self.cell_linear.append(9.0 * third - 4.5 * twice + whole)
            self.cell_square.append(-22.5 * third + 18.0 * twice - 4.5 * whole)
            self.cell_cube.append(13.5 * third - 13.5 * twice + 4.5 * whole)
        self.cell_first.append(len(self.cell_depth))
        floor = tank.floor_at
        self.base.append(tilted(slope, floor.x, floor.y, floor.z))
        self.upright_share.append(cos(slope.ahead) * cos(slope.across))
        self.ahead.append(ahead)
        self.across.append(across)


def surfaces_of(rig: Rig, stands: Sequence[Slope]) -> Surfaces:
    """The tables of all tanks of a rig, on each of the ways it stands."""
    surfaces = Surfaces()
    for tank in rig.tanks.values():
        for slope in stands:
            surfaces.add(tank, slope)
    return surfaces


def _corner_depths(box: Box, ahead: float, across: float) -> list[float]:
    """Depths at which the surface of a sloping box passes one of its corners; between them the volume is a cubic."""
    along, beside = 0.5 * ahead * box.length, 0.5 * across * box.width
    corners = [x * along + y * beside for x in (-1.0, 1.0) for y in (-1.0, 1.0)]
    depths = sorted([*corners, *(box.height + rise for rise in corners)])
    return depths[:1] + [depth for last, depth in itertools.pairwise(depths) if depth - last > LEAST_CELL]


def _knots(tank: Tank, ahead: float, across: float) -> list[float]:
    """Depths between which the volume is a cubic, or nearly one: exactly where the shape allows it."""
    shape, slopes = tank.shape, ahead != 0.0 or across != 0.0
    if shape.strapping is not None:
        return [depth for depth, _ in shape.strapping.table]
    if shape.upright is not None and not slopes:
        return [0.0, shape.upright.height]
    if shape.box is not None and (shape.box.corner == 0.0 or not slopes):
        return _corner_depths(shape.box, ahead, across)
    low = shapes.depth(shape, 0.0, ahead, across)
    high = shapes.depth(shape, shapes.whole(shape), ahead, across)
    evenly = (0.5 - 0.5 * cos(pi * i / CELLS) for i in range(CELLS))
    return [*(low + (high - low) * (0.5 - 0.5 * cos(pi * part)) for part in evenly), high]
