"""The sheets that a rig is drawn on: a page of A4, a telephone held upright, a small screen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

SheetName = Literal["a4", "phone", "handset"]
"""The sheets by name."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet, and how large things are on it.

    Attributes
    ----------
    width, tall : float
        Width of the drawing, and the most height that the rig itself takes of it [px].
    unit : float
        Distance of two lines side by side [px]; symbols are measured in it.
    name, small, tag : float
        Sizes of letters [px]: names of parts; what is said beside them; tags in bubbles.
    bubble : float
        Diameter of an instrument's bubble [px].
    letters : str
        Whether parts in lines are named where they stand, by numbers with a key below, or not at all.
    edge : float
        Room beside the rig [px].
    rooms : tuple of int
        Room over the rig, tried in turn until nothing stands in the way of anything [units].
    under : int
        Room under the rig [units].
    """

    width: float
    tall: float
    unit: float
    name: float
    small: float
    tag: float
    bubble: float
    letters: Literal["names", "numbers", "none"]
    edge: float
    rooms: tuple[int, ...]
    under: int


SHEETS: dict[SheetName, Sheet] = {
    # The width of A4 held sideways at 96 dots per inch, so that 11 px are 8 points in print.
    "a4": Sheet(1120, 620, 10, 11, 9.5, 8.6, 28, "names", 120, (8, 16, 28, 46), 6),
    # The width of a telephone held upright; no letter is smaller than 8 px.
    "phone": Sheet(390, 330, 6, 10.5, 9, 8.5, 17, "numbers", 34, (16, 28, 44), 6),
    # A screen of 320 by 240: what moves water, what holds it, and how much.
    "handset": Sheet(320, 160, 5.5, 10, 9, 8, 20, "none", 24, (6, 8), 3),
}
"""How large things are on each sheet."""
