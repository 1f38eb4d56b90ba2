"""What a drawing is made of, before it is written down: marks, words, parts, runs of lines.

All coordinates are those of the sheet [px], y downwards.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

from ullage.report.lettering import LEADING, room


class Spot(NamedTuple):
    """A place on the sheet [px]."""

    x: float
    y: float

    def by(self, dx: float, dy: float) -> Spot:
        """The place so far from this one."""
        return Spot(self.x + dx, self.y + dy)


class Rect(NamedTuple):
    """A rectangle on the sheet [px]: left, top, right, bottom."""

    x1: float
    y1: float
    x2: float
    y2: float

    @property
    def middle(self) -> Spot:
        """Its middle."""
        return Spot(0.5 * (self.x1 + self.x2), 0.5 * (self.y1 + self.y2))

    def grown(self, by: float) -> Rect:
        """The same, wider by so much on every side."""
        return Rect(self.x1 - by, self.y1 - by, self.x2 + by, self.y2 + by)

    def meets(self, other: Rect, slack: float = 1e-6) -> bool:
        """Whether two rectangles overlap."""
        return (
            self.x1 < other.x2 - slack
            and other.x1 < self.x2 - slack
            and self.y1 < other.y2 - slack
            and other.y1 < self.y2 - slack
        )


def around(boxes: Iterable[Rect]) -> Rect:
    """The least rectangle around some (at least one)."""
    some = list(boxes)
    return Rect(min(b.x1 for b in some), min(b.y1 for b in some), max(b.x2 for b in some), max(b.y2 for b in some))


@dataclass(frozen=True, slots=True)
class Mark:
    """A stroke or an area.

    Attributes
    ----------
    shape : str
        ``line`` (open), ``area`` (closed), ``curve`` (cubic Bezier curves end to end), ``disc`` (one point and a
        radius).
    points : tuple of Spot
        Its points [px].
    look : str
        Class in the style sheet.
    radius : float
        Of a disc [px].
    """

    shape: Literal["line", "area", "curve", "disc"]
    points: tuple[Spot, ...]
    look: str
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text; ``at`` is on its base line, at its ``anchor``; turned, it is read from the right."""

    at: Spot
    text: str
    size: float
    look: str = ""
    anchor: Literal["start", "middle", "end"] = "start"
    turned: bool = False

    @property
    def box(self) -> Rect:
        """The room that it takes."""
        width, _ = room((self.text,), self.size)
        back = {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        if self.turned:
            foot = self.at.y + back
            return Rect(self.at.x - 0.8 * self.size, foot - width, self.at.x + 0.25 * self.size, foot)
        left = self.at.x - back
        return Rect(left, self.at.y - 0.8 * self.size, left + width, self.at.y + 0.25 * self.size)


def stacked(
    lines: Iterable[tuple[str, float, str]], top: Spot, anchor: Literal["start", "middle", "end"]
) -> tuple[Words, ...]:
    """Lines of text (text, size, look) one below the other, the first with its top at a place."""
    words: list[Words] = []
    y = top.y
    for text, size, look in lines:
        words.append(Words(Spot(top.x, y + 0.85 * size), text, size, look, anchor))
        y += 0.86 * LEADING * size
    return tuple(words)


@dataclass(frozen=True, slots=True)
class Water:
    """The water in a tank: an outline that is filled up to a level.

    Attributes
    ----------
    outline : tuple of Spot
        The tank [px].
    empty, metre : float
        Where its floor lies, and how far up a metre of depth reaches [px].
    depth : float
        Of the water [m].
    look : str
        What it is: ``cold`` or ``waste``.
    """

    outline: tuple[Spot, ...]
    empty: float
    metre: float
    depth: float
    look: str

    @property
    def surface(self) -> float:
        """Where the surface lies [px]."""
        return self.empty - self.metre * self.depth


@dataclass(slots=True)
class Drawn:
    """One part of the rig as it stands in a drawing.

    Attributes
    ----------
    name, kind : str
        Its name and its group in the rig, such as ``valves``.
    title : str
        What it is, in words.
    marks, words : list
        How it looks.
    box : Rect
        The room of its marks, which nothing else may stand in.
    state : str
        ``closed`` or ``open`` for a valve at rest.
    water : Water, optional
        Of a tank.
    """

    name: str
    kind: str
    title: str
    box: Rect
    marks: list[Mark] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    state: str = ""
    water: Water | None = None

    @property
    def boxes(self) -> list[Rect]:
        """The room of its marks, and that of each of its words outside of it."""
        return [self.box, *(w.box for w in self.words if not w.box.meets(self.box))]


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of a line between two of its parts or ends.

    Attributes
    ----------
    line : int
        Which line of the rig; -1 for what joins an accumulator to its point.
    points : tuple of Spot
        Its corners [px], in the direction of the line.
    look : str
        Class in the style sheet, by what runs in it.
    """

    line: int
    points: tuple[Spot, ...]
    look: str


@dataclass(slots=True)
class Drawing:
    """A whole drawing."""

    view: str
    title: str
    about: str
    width: float
    height: float
    behind: list[Mark] = field(default_factory=list)
    before: list[Mark] = field(default_factory=list)
    words: list[Words] = field(default_factory=list)
    parts: list[Drawn] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    dots: list[Mark] = field(default_factory=list)
    arrows: list[Mark] = field(default_factory=list)
    trespasses: int = 0
