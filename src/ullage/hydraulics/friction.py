"""Friction in a round pipe, and the table that the solver reads it from.

The Darcy factor f depends on the Reynolds number and on roughness over bore:

- up to Re 2000 laminar, ``f = 64 / Re`` (Poiseuille);
- from Re 4000 the Colebrook-White equation, solved exactly;
- between them the cubic in Re that meets both with the same value and slope
  (Dunlop 1991, as in the EPANET 2.2 manual, table "Darcy-Weisbach").

The table holds ``F(x) = f x^2`` of ``x = Re / 2000``, so one table serves every pipe of one
relative roughness at any temperature: ``h = c F(s q)`` with two figures c and s per pipe.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from itertools import pairwise
from math import log, log10, pi

from ullage.kernels import kernel
from ullage.quantities import G_STANDARD

LAMINAR_END = 2000.0
"""Reynolds number up to which the flow is laminar (EPANET 2.2 manual)."""

TURBULENT_START = 4000.0
"""Reynolds number from which the flow is turbulent (EPANET 2.2 manual)."""

CELLS = 128
"""Cells of one tier of a table. A cubic in each cell is good to 3e-7."""

TIERS = ((2.0, 0.25), (34.0, 4.0), (546.0, 64.0))
"""Start and width of the cells of each tier, in x; the last ends at x = 8738, Re 17,500,000."""

TABLE = 4 * CELLS * len(TIERS)
"""Figures of one table."""

_START_1, _START_2, _START_3, _END = 2.0, 34.0, 546.0, 8738.0

_LN10 = log(10.0)

Law = Callable[[float, float], tuple[float, float]]
"""Factor and its slope against Re, from Re and roughness over bore, for turbulent flow."""


def colebrook(reynolds: float, ratio: float) -> tuple[float, float]:
    """Darcy factor and its slope d f / d Re by the Colebrook-White equation (Colebrook 1939).

    ``1/sqrt(f) = -2 log10(ratio / 3.7 + 2.51 / (Re sqrt(f)))``, by Newton from Haaland's
    start until nothing changes. Re 100,000 and ratio 0.0001 give 0.0185139 (row HYD-13).

    Parameters
    ----------
    reynolds : float
        Reynolds number [-].
    ratio : float
        Roughness over bore [-].
    """
    rough, smooth = ratio / 3.7, 2.51 / reynolds
    x = -1.8 * log10((ratio / 3.7) ** 1.11 + 6.9 / reynolds)
    for _ in range(20):
        inner = rough + smooth * x
        step = (x + 2.0 * log10(inner)) / (1.0 + 2.0 * smooth / (_LN10 * inner))
        x -= step
        if abs(step) < 1e-14 * x:
            break
    inner = rough + smooth * x
    pull = 2.0 / (_LN10 * inner)
    slope_of_x = pull * smooth * x / reynolds / (1.0 + pull * smooth)
    return 1.0 / (x * x), -2.0 * slope_of_x / x**3


@cache
def table(ratio: float, law: Law = colebrook) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Coefficients of the bend between Re 2000 and 4000, and of all cells beyond.

    Parameters
    ----------
    ratio : float
        Roughness over bore [-].
    law : Law
        The turbulent law.

    Returns
    -------
    bend : (4,)
        Cubic of f in ``x - 1``.
    cells : (TABLE,)
        Cubic of F in the cell's own 0..1.
    """
    factor, slope = law(TURBULENT_START, ratio)
    bend = _hermite(64.0 / LAMINAR_END, -64.0 / LAMINAR_END, factor, slope * LAMINAR_END)
    cells: list[float] = []
    for start, width in TIERS:
        ends = [_value(law, start + width * i, ratio) for i in range(CELLS + 1)]
        for (value, rise), (value_end, rise_end) in pairwise(ends):
            cells.extend(_hermite(value, rise * width, value_end, rise_end * width))
    return bend, tuple(cells)


def _value(law: Law, x: float, ratio: float) -> tuple[float, float]:
    """F and its slope at x by the law itself."""
    factor, slope = law(LAMINAR_END * x, ratio)
    return factor * x * x, slope * LAMINAR_END * x * x + 2.0 * factor * x


def _hermite(value: float, slope: float, value_end: float, slope_end: float) -> tuple[float, float, float, float]:
    """Cubic on 0..1 with given values and slopes at both ends."""
    rise = value_end - value
    return value, slope, 3.0 * rise - 2.0 * slope - slope_end, slope + slope_end - 2.0 * rise


@kernel
def friction(x: float, index: int, bend: Sequence[float], cells: Sequence[float]) -> tuple[float, float]:
    """``F(x) = f x^2`` and its slope for ``x = Re / 2000 >= 0``, from table ``index``.

    Beyond the last cell f keeps its last value.
    """
    if x <= 1.0:
        return 0.032 * x, 0.032
    if x <= 2.0:
        at, u = 4 * index, x - 1.0
        f = bend[at] + u * (bend[at + 1] + u * (bend[at + 2] + u * bend[at + 3]))
        rise = bend[at + 1] + u * (2.0 * bend[at + 2] + u * 3.0 * bend[at + 3])
        return f * x * x, x * (2.0 * f + rise * x)
    if x < _START_2:
        first, per_cell, place = 0, 4.0, (x - _START_1) * 4.0
    elif x < _START_3:
        first, per_cell, place = CELLS, 0.25, (x - _START_2) * 0.25
    elif x < _END:
        first, per_cell, place = 2 * CELLS, 0.015625, (x - _START_3) * 0.015625
    else:
        return _beyond(x, index, cells)
    cell = int(place)
    t = place - cell
    at = TABLE * index + 4 * (first + cell)
    c1, c2, c3 = cells[at + 1], cells[at + 2], cells[at + 3]
    return cells[at] + t * (c1 + t * (c2 + t * c3)), (c1 + t * (2.0 * c2 + t * 3.0 * c3)) * per_cell


@kernel
def _beyond(x: float, index: int, cells: Sequence[float]) -> tuple[float, float]:
    at = TABLE * (index + 1) - 4
    c0, c1, c2, c3 = cells[at], cells[at + 1], cells[at + 2], cells[at + 3]
    value = c0 + c1 + c2 + c3
    slope = (c1 + 2.0 * c2 + 3.0 * c3) * 0.015625
    factor = value / (_END * _END)
    past = x - _END
    return value + past * (slope + past * factor), slope + 2.0 * past * factor


def section(bore: float, length: float, viscosity: float, lightness: float = 1.0) -> tuple[float, float]:
    """Scale and head of a pipe's friction section.

    Parameters
    ----------
    bore, length : float
        [m].
    viscosity : float
        Kinematic viscosity of what flows [m2/s].
    lightness : float
        Its density over that of the water in whose metres heads are counted [-].

    Returns
    -------
    scale : float
        Re / 2000 per flow [s/m3].
    head : float
        Loss per unit of F [m]: ``L / D * v^2 / 2g`` at Re 2000.
    """
    speed = LAMINAR_END * viscosity / bore
    area = 0.25 * pi * bore * bore
    return 1.0 / (speed * area), lightness * length / bore * speed * speed / (2.0 * G_STANDARD)
