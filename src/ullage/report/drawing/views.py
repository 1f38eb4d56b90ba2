"""The drawings of a rig by name: what pages, the book and ``ullage draw`` ask for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

from ullage.report.drawing.flow import flow
from ullage.report.drawing.scaled import scaled
from ullage.report.drawing.scene import Drawing
from ullage.report.drawing.sheet import SHEETS, SheetName
from ullage.report.drawing.svg import svg
from ullage.report.quantity_words import System
from ullage.rig.model import Rig

ViewName = Literal["side", "plan", "flow"]
"""The drawings by name."""

VIEWS: tuple[ViewName, ...] = ("side", "plan", "flow")
"""All drawings, in the order in which they are looked at."""


def view(
    rig: Rig,
    name: ViewName,
    sheet: SheetName = "a4",
    units: System = "metric",
    depths: Mapping[str, float] | None = None,
) -> str:
    """A drawing of a rig as an SVG document.

    Parameters
    ----------
    rig : Rig
        The rig.
    name : str
        ``side`` and ``plan`` are to scale, ``flow`` is not.
    sheet : str
        What it is drawn on.
    units : str
        Units of what is written.
    depths : mapping, optional
        Depth of the water in each tank [m]; as the rig starts where not given.
    """
    return svg(composed(rig, name, sheet, units, depths), SHEETS[sheet].unit)


def composed(
    rig: Rig,
    name: ViewName,
    sheet: SheetName = "a4",
    units: System = "metric",
    depths: Mapping[str, float] | None = None,
) -> Drawing:
    """A drawing before it is written down (arguments as of `view`)."""
    if name == "flow":
        return flow(rig, depths, sheet, units)
    return scaled(rig, name, depths, sheet, units)
