"""Symbols of parts in lines, in units of the sheet, flow from left to right, the middle at (0, 0).

After ISO 10628-2 (valves, pumps, heater) and ISO 14617 (check valve, restrictor, accumulator, motors of valves),
all from memory, the standards not being at hand; letters of a motor and what a valve does without
power (FC, FO, FL) after ANSI/ISA-5.1.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi, sin
from typing import Literal

from ullage.report.drawing.scene import Mark, Spot, Words
from ullage.rig.model import Pump, Rig, Valve

Shape = Literal["line", "area", "curve", "disc"]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A mark of a symbol, in units; of a disc, ``points`` holds its middle and ``radius`` its radius."""

    shape: Shape
    points: tuple[tuple[float, float], ...]
    look: str
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Symbol:
    """A symbol.

    Attributes
    ----------
    half : float
        Half its length along the line [units].
    above, below : float
        How far it reaches to either side of the line [units].
    strokes : tuple of Stroke
        How it looks.
    letters : tuple
        Place and text of letters in it, which stay upright however it is turned.
    """

    half: float
    above: float
    below: float
    strokes: tuple[Stroke, ...]
    letters: tuple[tuple[float, float, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Stance:
    """How a symbol stands on the sheet: its middle, its direction and the side to which its top lies.

    Attributes
    ----------
    middle : Spot
        On the sheet [px].
    along, above : tuple of int
        Unit vectors on the sheet.
    unit : float
        Size of a unit [px].
    """

    middle: Spot
    along: tuple[int, int]
    above: tuple[int, int]
    unit: float

    def spot(self, x: float, y: float) -> Spot:
        """Where a point of the symbol comes to lie (y upwards in the symbol)."""
        u = self.unit
        return self.middle.by(u * (x * self.along[0] + y * self.above[0]), u * (x * self.along[1] + y * self.above[1]))


def stand(symbol: Symbol, stance: Stance, letter: float) -> tuple[list[Mark], list[Words]]:
    """The marks and letters of a symbol where it stands.

    Parameters
    ----------
    letter : float
        Size of its letters [px].
    """
    marks = [
        Mark(s.shape, tuple(stance.spot(x, y) for x, y in s.points), s.look, s.radius * stance.unit)
        for s in symbol.strokes
    ]
    words = [
        Words(stance.spot(x, y).by(0, 0.35 * letter), text, letter, "letter", "middle") for x, y, text in symbol.letters
    ]
    return marks, words


def part_symbol(rig: Rig, kind: str, name: str) -> Symbol:
    """The symbol of a part that sits in a line (meters apart, which are bubbles)."""
    if kind == "valves":
        return valve(rig.valves[name])
    if kind == "pumps":
        return pump(rig.pumps[name])
    return {"checks": CHECK, "restrictors": RESTRICTOR, "heaters": HEATER}.get(kind, PIPE)


def without_power(part: Valve) -> str:
    """What a motor valve does without power, in the letters of ISA-5.1: fails closed, open, or last (where it is)."""
    if part.motor is None or part.motor.without_power is None:
        return ""
    words = {"stays": "FL", "spring open": "FO"}
    return words.get(part.motor.without_power, "FC")


def valve(part: Valve) -> Symbol:
    """A valve by its kind, with what turns it above."""
    strokes = [*_bow_tie(), *_INSIDE[part.kind]]
    if part.motor is None:
        strokes += [_line((0, 0), (0, 0.95)), _line((-0.5, 0.95), (0.5, 0.95))]
        return Symbol(1.0, 1.0, 0.65, tuple(strokes))
    strokes.append(_line((0, 0.35 if part.kind == "ball" else 0), (0, 0.85)))
    if part.kind == "solenoid":
        strokes.append(Stroke("area", ((-0.5, 0.85), (0.5, 0.85), (0.5, 1.85), (-0.5, 1.85)), "body"))
        letters = ((0.0, 1.35, "S"),)
    else:
        strokes.append(Stroke("disc", ((0, 1.4),), "body", 0.55))
        letters = ((0.0, 1.4, "M"),)
    top = 1.95
    if (part.motor.without_power or "").startswith("spring"):
        steps = [(0.0, top - 0.1), (0.0, 2.0), (0.4, 2.1), (-0.4, 2.25), (0.4, 2.4), (-0.4, 2.55), (0.0, 2.65)]
        strokes.append(Stroke("line", tuple(steps), "thin"))
        top = 2.7
    return Symbol(1.0, top, 0.65, tuple(strokes), letters)


def _line(*points: tuple[float, float], look: str = "stroke") -> Stroke:
    return Stroke("line", points, look)


def _bow_tie() -> Iterator[Stroke]:
    yield Stroke("area", ((-1, 0.6), (-1, -0.6), (0, 0)), "body tie")
    yield Stroke("area", ((1, 0.6), (1, -0.6), (0, 0)), "body tie")


_INSIDE: dict[str, tuple[Stroke, ...]] = {
    "ball": (Stroke("disc", ((0, 0),), "body", 0.35),),
    "gate": (_line((0, 0.6), (0, -0.6)),),
    "butterfly": (_line((-0.35, -0.6), (0.35, 0.6)), Stroke("disc", ((0, 0),), "solid", 0.16)),
    "solenoid": (),
}
"""What tells the body of one kind of valve from another."""


def _arc(
    x: float, y: float, radius: float, start: float, end: float, count: int = 12
) -> tuple[tuple[float, float], ...]:
    turns = [start + (end - start) * i / count for i in range(count + 1)]
    return tuple((x + radius * cos(t), y + radius * sin(t)) for t in turns)


PIPE = Symbol(1.0, 0.0, 0.0, ())
"""A pipe is the line itself."""

CHECK = Symbol(
    0.9,
    0.7,
    0.7,
    (
        Stroke("area", ((-0.9, 0.6), (0.9, 0.6), (0.9, -0.6), (-0.9, -0.6)), "blank"),
        _line((-0.9, 0.65), (-0.9, -0.65)),
        _line((0.9, 0.65), (0.9, -0.65)),
        _line((-0.9, 0.6), (0.9, -0.6)),
        Stroke("area", ((0.9, -0.6), (0.2, -0.38), (0.45, -0.05)), "solid"),
    ),
)
"""A check valve: an arrow from the inlet across to the outlet."""

RESTRICTOR = Symbol(
    0.8,
    0.75,
    0.75,
    (
        Stroke("line", _arc(0, 1.1, 0.85, pi * 1.12, pi * 1.88), "stroke"),
        Stroke("line", _arc(0, -1.1, 0.85, pi * 0.88, pi * 0.12), "stroke"),
    ),
)
"""A restrictor: the line between two arcs."""

HEATER = Symbol(
    2.0,
    1.1,
    1.1,
    (
        Stroke("area", ((-2, 1.0), (2, 1.0), (2, -1.0), (-2, -1.0)), "body"),
        _line((-2, 0), (-1.4, 0), (-1.0, 0.6), (-0.3, -0.6), (0.3, 0.6), (1.0, -0.6), (1.4, 0), (2, 0)),
    ),
)
"""A heater: a vessel with a zigzag."""

ACCUMULATOR = Symbol(
    1.4,
    0.8,
    0.8,
    (
        Stroke(
            "area",
            (*_arc(-0.6, 0, 0.75, pi * 1.5, pi * 0.5), *_arc(0.6, 0, 0.75, pi * 0.5, -pi * 0.5)),
            "body",
        ),
        _line((0.1, 0.75), (0.1, -0.75)),
        Stroke("area", ((1.15, 0), (0.6, 0.35), (0.6, -0.35)), "body"),
    ),
)
"""An accumulator: a vessel with a membrane, gas at the far end from its line."""

TAP = Symbol(
    1.1,
    1.1,
    1.2,
    (
        _line((-1.1, 0), (0.3, 0)),
        Stroke("curve", ((0.3, 0), (0.9, 0), (0.9, -0.3), (0.9, -0.75)), "stroke"),
        _line((-0.2, 0), (-0.2, 0.65)),
        _line((-0.65, 0.65), (0.25, 0.65)),
        Stroke("area", ((0.9, -0.95), (0.72, -0.95), (0.9, -1.25), (1.08, -0.95)), "drop"),
    ),
)
"""A tap: a spout with its handle."""


def pump(part: Pump) -> Symbol:
    """A pump: a circle with a point towards its outlet; one that primes itself has a diaphragm."""
    strokes = [
        Stroke("disc", ((0, 0),), "body", 1.25),
        Stroke("line", ((-0.35, 1.2), (1.25, 0), (-0.35, -1.2)), "stroke"),
    ]
    if part.self_priming:
        strokes.append(Stroke("line", _arc(-1.5, 0, 0.95, -pi * 0.28, pi * 0.28), "stroke"))
    return Symbol(1.25, 1.3, 1.3, tuple(strokes))
