"""The colours of charts and pages, light and dark, and what stands beside them so that colour is never alone.

A chart is drawn once in the light inks; since no two inks are equal, the dark one is the same
text with each ink exchanged, and the one in a page has names in their place, which the page
fills by the reader's own wish.
"""

from __future__ import annotations

from dataclasses import dataclass, fields


@dataclass(frozen=True, slots=True)
class Inks:
    """One set of colours (``#rrggbb``).

    Attributes
    ----------
    paper, ground : str
        Behind everything; behind a panel.
    text, faint, grid : str
        Letters; lesser letters; lines of a grid.
    series_1 to series_5 : str
        Lines of one panel, each also with a dash of its own (`DASHES`).
    limit, wish, alarm, open, travel, rest : str
        A limit that must not be passed; a target; something wrong; an open valve; one that moves; a step's bar.
    """

    paper: str
    ground: str
    text: str
    faint: str
    grid: str
    series_1: str
    series_2: str
    series_3: str
    series_4: str
    series_5: str
    limit: str
    wish: str
    alarm: str
    open: str
    travel: str
    rest: str

    def series(self, index: int) -> str:
        """Colour of a line by its place in the panel."""
        return (self.series_1, self.series_2, self.series_3, self.series_4, self.series_5)[index % 5]


LIGHT = Inks(
    paper="#fbfaf6",
    ground="#ffffff",
    text="#16212a",
    faint="#54626b",
    grid="#dfe2df",
    series_1="#0b5f73",
    series_2="#a65a08",
    series_3="#7a3b86",
    series_4="#3c7a2a",
    series_5="#44535c",
    limit="#a3232a",
    wish="#2f6db5",
    alarm="#c0272d",
    open="#2a8797",
    travel="#e0b040",
    rest="#cfdfe2",
)

DARK = Inks(
    paper="#12181c",
    ground="#182025",
    text="#e8edef",
    faint="#a7b4bb",
    grid="#313c42",
    series_1="#5cc3d6",
    series_2="#f0a651",
    series_3="#d39be0",
    series_4="#93cf7d",
    series_5="#bcc8ce",
    limit="#ff8a86",
    wish="#86b8f2",
    alarm="#ff7b72",
    open="#3f9fb0",
    travel="#c9992e",
    rest="#2f4850",
)

DASHES: tuple[tuple[float, ...], ...] = ((), (5, 2), (1.5, 1.5), (7, 2, 1.5, 2), (3, 1))
"""Dash of each line of a panel, in line widths (empty: unbroken)."""


def named(svg: str) -> str:
    """A chart drawn in light inks, with the name of each ink in its place (see `declared`)."""
    for f in fields(Inks):
        svg = svg.replace(getattr(LIGHT, f.name), f"var(--{f.name.replace('_', '-')})")
    return svg


def declared(inks: Inks) -> str:
    """The declarations that fill the names of `named`, for a style sheet."""
    return "".join(f"--{f.name.replace('_', '-')}:{getattr(inks, f.name)};" for f in fields(Inks))
