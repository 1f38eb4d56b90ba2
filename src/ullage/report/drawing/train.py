"""The parts of a line, one behind the other, as one block that is placed as a whole.

A block lies along one of four directions from its inlet to its outlet, both on nodes of the grid. Names
stand beside it where it runs up or down, below it where it runs across, there in two rows where they are
too long for one.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil

from ullage.report.drawing.scene import Drawn, Mark, Rect, Spot, Words, stacked
from ullage.report.drawing.sheet import Sheet
from ullage.report.drawing.symbols import Stance, Symbol, stand
from ullage.report.lettering import LEADING, room

ACROSS, DOWN, BACK, UP = (1, 0), (0, 1), (-1, 0), (0, -1)
"""Directions of a block."""

BESIDE = 1.7
"""Distance of the names from a line that runs up or down [units]."""

UNDER = 1.55
"""Distance of the names from a line that runs across [units]."""

STEM = 0.5
"""Least length between a symbol and a bubble above it [units]."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One part in a line.

    Attributes
    ----------
    name, kind, title : str
        Its name, its group, what it is in words.
    symbol : Symbol
        How it looks; of a meter the room of its bubble.
    label : tuple
        Lines of text beside it (text, size, look).
    tag : str
        Of a meter: what stands in its bubble.
    state : str
        Of a valve: how it rests.
    over : tuple
        Instruments that sit on it (name, tag, title).
    """

    name: str
    kind: str
    title: str
    symbol: Symbol
    label: tuple[tuple[str, float, str], ...] = ()
    tag: str = ""
    state: str = ""
    over: tuple[tuple[str, str, str], ...] = ()

    def size(self) -> tuple[float, float]:
        """Width and height of its label [px]."""
        width = max((room((text,), size)[0] for text, size, _ in self.label), default=0.0)
        return width, sum(0.86 * LEADING * size for _, size, _ in self.label)


@dataclass(slots=True)
class Block:
    """A train laid out about its inlet at (0, 0) [px].

    Attributes
    ----------
    along : tuple of int
        Its direction.
    length : int
        From inlet to outlet [units].
    boxes : list of Rect
        The room of the line itself, its symbols and its labels.
    centres : list of float
        Of the slots, from the inlet [px].
    seats : list of Spot
        Where each label begins.
    above : tuple of int
        To which side the tops of symbols lie.
    anchor : str
        How labels are anchored.
    """

    along: tuple[int, int]
    length: int
    boxes: list[Rect]
    centres: list[float]
    seats: list[Spot]
    above: tuple[int, int]
    anchor: str
    rows: list[int] = field(default_factory=list)


def bubble_symbol(sheet: Sheet) -> Symbol:
    """The room of a bubble in a line."""
    radius = 0.5 * sheet.bubble / sheet.unit
    return Symbol(radius, radius, radius, ())


def lay_out(slots: tuple[Slot, ...], sheet: Sheet, along: tuple[int, int], mirrored: bool = False) -> Block:
    """Lay a train out in a direction; ``mirrored`` puts names and tops on the other side."""
    return _upright(slots, sheet, along, mirrored) if along[0] == 0 else _level(slots, sheet, along)


def _least(slot: Slot, sheet: Sheet) -> int:
    """Length of a slot [units]: its symbol with half a unit to spare at both ends, and what sits on it."""
    if slot.over:
        return ceil(sheet.bubble / sheet.unit + 2.2)
    return max(ceil(2 * slot.symbol.half + 0.75), 2 if slot.kind == "pipes" else 3)


def _upright(slots: tuple[Slot, ...], sheet: Sheet, along: tuple[int, int], mirrored: bool) -> Block:
    unit, sign = sheet.unit, along[1]
    side = -1 if mirrored else 1
    at, centres, seats, boxes = 0.0, [], [], []
    for slot in slots:
        width, tall = slot.size()
        length = max(_least(slot, sheet), ceil((tall + 2) / unit))
        centre = sign * (at + 0.5 * length) * unit
        gap = side * max(BESIDE if sheet.letters == "names" else 1.0, slot.symbol.below + 0.3) * unit
        centres.append(centre)
        seats.append(Spot(gap, centre - 0.5 * tall))
        boxes += [_extent(slot, sheet, along, (-side, 0), centre)]
        boxes += _over_boxes(slot, sheet, along, (-side, 0), centre)
        if slot.label:
            boxes.append(_beside(gap, gap + side * width, centre, tall))
        at += length
    ends = Rect(-0.3 * unit, min(0.0, sign * at * unit), 0.3 * unit, max(0.0, sign * at * unit))
    return Block(along, int(at), [*boxes, ends], centres, seats, (-side, 0), "end" if mirrored else "start")


def _beside(near: float, far: float, centre: float, tall: float) -> Rect:
    return Rect(min(near, far), centre - 0.5 * tall, max(near, far), centre + 0.5 * tall)


def _level(slots: tuple[Slot, ...], sheet: Sheet, along: tuple[int, int]) -> Block:
    unit, sign = sheet.unit, along[0]
    at, centres, rows, boxes = 0, [], [], []
    ends = [-1e9, -1e9]
    row_height = max((slot.size()[1] for slot in slots), default=0.0) + 1.0
    for slot in slots:
        width = slot.size()[0]
        length = _least(slot, sheet)
        while True:
            middle = (at + 0.5 * length) * unit
            row = next((r for r in (0, 1) if middle - 0.5 * width >= ends[r] + 4), -1)
            if row >= 0 or not slot.label:
                break
            length += 1
        if slot.label:
            ends[row] = middle + 0.5 * width
        centres.append(sign * middle)
        rows.append(max(row, 0))
        boxes.append(_extent(slot, sheet, along, (0, -1), sign * middle))
        boxes += _over_boxes(slot, sheet, along, (0, -1), sign * middle)
        at += length
    seats = [Spot(c, UNDER * unit + row * row_height) for c, row in zip(centres, rows, strict=True)]
    for slot, seat in zip(slots, seats, strict=True):
        width, tall = slot.size()
        if slot.label:
            boxes.append(Rect(seat.x - 0.5 * width, seat.y, seat.x + 0.5 * width, seat.y + tall))
    reach = Rect(min(0.0, sign * at * unit), -0.3 * unit, max(0.0, sign * at * unit), 0.3 * unit)
    return Block(along, at, [*boxes, reach], centres, seats, (0, -1), "middle", rows)


def _extent(
    slot: Slot, sheet: Sheet, along: tuple[int, int], above: tuple[int, int], centre: float, bubbles: bool = True
) -> Rect:
    """The room of a symbol and of the bubbles on it, about the inlet [px]."""
    unit = sheet.unit
    count = len(slot.over) if bubbles else 0
    top = slot.symbol.above + count * (STEM + sheet.bubble / unit)
    half = max(slot.symbol.half, 0.5 * sheet.bubble / unit if count else 0.0)
    stance = Stance(Spot(along[0] * abs(centre), along[1] * abs(centre)), along, above, unit)
    a, b = stance.spot(-half, top), stance.spot(half, -slot.symbol.below)
    return Rect(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y))


def _over_boxes(slot: Slot, sheet: Sheet, along: tuple[int, int], above: tuple[int, int], centre: float) -> list[Rect]:
    """The room of the names of the bubbles on a part, about the inlet [px]."""
    stance = Stance(Spot(along[0] * abs(centre), along[1] * abs(centre)), along, above, sheet.unit)
    return [words.box for part in _on_top(slot, stance, sheet) for words in part.words if words.look == "faint"]


def drawn(slots: tuple[Slot, ...], block: Block, inlet: Spot, sheet: Sheet) -> list[Drawn]:
    """The parts of a train that has its place."""
    parts: list[Drawn] = []
    for i, slot in enumerate(slots):
        centre, seat = block.centres[i], block.seats[i]
        middle = inlet.by(block.along[0] * abs(centre), block.along[1] * abs(centre))
        stance = Stance(middle, block.along, block.above, sheet.unit)
        marks, words = stand(slot.symbol, stance, 0.8 * sheet.unit)
        if slot.tag:
            marks, words = bubble(middle, slot.tag, sheet)
        extent = _extent(slot, sheet, block.along, block.above, centre, bubbles=False)
        box = Rect(extent.x1 + inlet.x, extent.y1 + inlet.y, extent.x2 + inlet.x, extent.y2 + inlet.y)
        part = Drawn(slot.name, slot.kind, slot.title, box, marks, words, slot.state)
        part.words += stacked(slot.label, inlet.by(seat.x, seat.y), block.anchor)  # type: ignore[arg-type]
        if block.rows and block.rows[i] and slot.label:
            foot = Spot(middle.x, inlet.y + seat.y - 1)
            part.marks.insert(0, Mark("line", (middle.by(0, slot.symbol.below * sheet.unit + 2), foot), "lead"))
        parts.append(part)
        parts += _on_top(slot, stance, sheet)
    return parts


def _on_top(slot: Slot, stance: Stance, sheet: Sheet) -> list[Drawn]:
    """The bubbles of the instruments that sit on a part."""
    parts: list[Drawn] = []
    radius = 0.5 * sheet.bubble / sheet.unit
    foot = slot.symbol.above
    for i, (name, tag, title) in enumerate(slot.over):
        middle = stance.spot(0.0, foot + STEM + radius)
        marks, words = bubble(middle, tag, sheet)
        marks.insert(0, Mark("line", (stance.spot(0.0, foot), stance.spot(0.0, foot + STEM)), "signal"))
        words += _over_name(name, middle, stance.above, i, sheet)
        parts.append(Drawn(name, "probes", title, marks_box(middle, sheet), marks, words))
        foot += STEM + 2 * radius
    return parts


def _over_name(name: str, middle: Spot, above: tuple[int, int], count: int, sheet: Sheet) -> list[Words]:
    """The name of an instrument on a part: right of its bubble above a line, else under (over) it by turns."""
    if sheet.letters != "names":
        return []
    half, size = 0.5 * sheet.bubble, sheet.small
    if above[1]:
        return [Words(middle.by(half + 3, 0.3 * size), name, size, "faint")]
    far = half + size if count % 2 == 0 else -half - 0.3 * size
    side = above[0]
    return [Words(middle.by(-side * half, far), name, size, "faint", "start" if side > 0 else "end")]


def marks_box(middle: Spot, sheet: Sheet) -> Rect:
    """The room of a bubble."""
    return Rect(*middle, *middle).grown(0.5 * sheet.bubble)


def bubble(middle: Spot, tag: str, sheet: Sheet) -> tuple[list[Mark], list[Words]]:
    """An instrument's bubble after ISA-5.1: a circle, its letters above, the number of its loop below.

    Where there is no room for letters it holds the number of the key.
    """
    letters, _, loop = tag.partition("-")
    size = sheet.tag
    marks = [Mark("disc", (middle,), "bubble", 0.5 * sheet.bubble)]
    if not loop:
        return marks, [Words(middle.by(0, 0.36 * size), letters, size, "tag", "middle")]
    return marks, [
        Words(middle.by(0, -0.12 * size), letters, size, "tag", "middle"),
        Words(middle.by(0, 0.92 * size), loop, size, "tag", "middle"),
    ]


def parted(slots: tuple[Slot, ...]) -> tuple[tuple[Slot, ...], tuple[Slot, ...], tuple[Slot, ...]]:
    """The pipes before the first other part of a line, what stands between, and the pipes behind the last one."""
    others = [i for i, slot in enumerate(slots) if slot.kind != "pipes"]
    if not others:
        return slots, (), ()
    return slots[: others[0]], slots[others[0] : others[-1] + 1], slots[others[-1] + 1 :]
