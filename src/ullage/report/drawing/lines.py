"""The lines of a rig: trains seated, ways laid, pipes named and arrows set along them."""

from __future__ import annotations

import itertools
from itertools import product

from ullage.report.drawing import fixed
from ullage.report.drawing.labels import Labels, services
from ullage.report.drawing.paper import Node
from ullage.report.drawing.placing import nearby
from ullage.report.drawing.routing import STEPS, Wire
from ullage.report.drawing.scene import Drawn, Mark, Rect, Spot, Words, stacked
from ullage.report.drawing.stage import Stage
from ullage.report.drawing.train import ACROSS, BACK, DOWN, UP, Block, Slot, lay_out, parted

ARROW = 4
"""An arrow stands on a stretch of at least so many units."""

TURNED = 8.0
"""A name that is read from the right costs so much more than one that is read from below [units]."""

APART = 12
"""A name stands at most so far from its pipe, if it can [units]."""

OFF = 0.35
"""Distance of a pipe's name from its line [units]."""


def run_lines(stage: Stage, labels: Labels, seats: dict[int, tuple[Block, Node]] | None = None) -> None:
    """Seat all trains and lay all lines.

    Parameters
    ----------
    seats : dict, optional
        Where the train of each line stands, where that is settled; else each is put where its line is shortest.
    """
    rig, sheet = stage.rig, stage.sheet
    split = {line: parted(labels.slots(ends)) for line, ends in enumerate(rig.lines)}
    stage.bare = stage.paper.copy()
    blocks: dict[int, list[Block]] = {}
    for line in sorted(split, key=lambda i: (-len(split[i][1]), i)):
        slots = split[line][1]
        if not slots:
            continue
        if seats is not None:
            stage.place(line, slots, *seats[line])
            continue
        blocks[line] = [lay_out(slots, sheet, along) for along in (ACROSS, BACK, DOWN, UP)]
        blocks[line] += [lay_out(slots, sheet, along, mirrored=True) for along in (DOWN, UP)]
        stage.seat(line, slots, blocks[line])
    stage.lay(blocks)
    for name in rig.accumulators if sheet.letters != "none" else ():
        fixed.accumulator(stage, labels, name)
    if seats is not None:
        for name in (name for name in rig.points if name in stage.joints):
            fixed.point_name(stage, labels, name)
    looks = services(rig)
    stage.draw(looks)
    for line, (before, _, behind) in split.items():
        legs = stage.legs(line)
        for slots, leg, back in ((before, 2 if 2 in legs else 0, False), (behind, 1, True)):
            if leg in legs:
                _name_pipes(stage, slots, _own(legs[leg], back))
        _arrows(stage, legs, looks[line])


def _own(wire: Wire, back: bool) -> list[Node]:
    """The nodes that a connection shares with no other, in the direction of its line."""
    path = wire.path[wire.own :]
    return path[::-1] if back else path


def _stretches(path: list[Node]) -> list[tuple[int, int]]:
    """First and last index of the straight stretches of a path."""
    bends = [0]
    for i in range(1, len(path) - 1):
        (x1, y1), (x2, y2), (x3, y3) = path[i - 1 : i + 2]
        if (x2 - x1, y2 - y1) != (x3 - x2, y3 - y2):
            bends.append(i)
    bends.append(len(path) - 1)
    return [(a, b) for a, b in itertools.pairwise(bends) if b > a]


def _name_pipes(stage: Stage, slots: tuple[Slot, ...], path: list[Node]) -> None:
    """Write the names of pipes along the stretches of their way, the longest first."""
    for i, slot in enumerate(slots):
        low, high = i * (len(path) - 1) / len(slots), (i + 1) * (len(path) - 1) / len(slots)
        middle = stage.paper.spot(path[round(0.5 * (low + high))])
        part = Drawn(slot.name, slot.kind, slot.title, Rect(*middle, *middle))
        if slot.label:
            part.words += _seat(stage, path, (low, high), slot) or _apart(
                stage, part, path[int(low) : int(high) + 1], slot
            )
        stage.drawing.parts.append(part)


def _apart(stage: Stage, part: Drawn, path: list[Node], slot: Slot) -> tuple[Words, ...]:
    """The name of a pipe where there is room for it, with a thin line to its way that crosses no other name."""
    width, tall = slot.size()
    unit = stage.paper.unit
    middle = 0.5 * (len(path) - 1)
    for far, i in product(range(1, APART), sorted(range(len(path)), key=lambda i: (abs(i - middle), i))):
        foot = stage.paper.spot(path[i])
        for (x, y), shift in product(STEPS, (0.0, 0.45, -0.45)):
            tip = foot.by(far * unit * x, far * unit * y)
            at = tip.by(x * width / 2 + (shift * width if y else 0.0), y * tall / 2)
            box = Rect(at.x - width / 2, at.y - tall / 2, at.x + width / 2, at.y + tall / 2)
            near = foot.by(0.3 * unit * x, 0.3 * unit * y)
            lead = Rect(min(near.x, tip.x), min(near.y, tip.y), max(near.x, tip.x), max(near.y, tip.y))
            if stage.paper.free(box) and stage.paper.bare(lead.grown(0.5)):
                stage.paper.take(box)
                part.marks.append(Mark("line", (foot, tip), "lead"))
                return stacked(slot.label, Spot(box.x1, box.y1), "start")
    foot = stage.paper.spot(path[round(middle)])
    at = nearby(stage, Rect(-width / 2, -tall / 2, width / 2, tall / 2), foot)
    low = Rect(at.x - width / 2, at.y - tall / 2, at.x + width / 2, at.y + tall / 2)
    near = Spot(min(max(foot.x, low.x1), low.x2), min(max(foot.y, low.y1), low.y2))
    part.marks.append(Mark("line", (foot, near), "lead"))
    return stacked(slot.label, at.by(-width / 2, -tall / 2), "start")


def _seat(stage: Stage, path: list[Node], span: tuple[float, float], slot: Slot) -> tuple[Words, ...]:
    """The name of a pipe beside its way, where there is room; turned where a stretch that runs up has no more."""
    width, tall = slot.size()
    unit = stage.paper.unit
    tries: list[tuple[float, int, Rect, bool]] = []
    for a, b in (s for s in _stretches(path) if s[1] > span[0] and s[0] < span[1]):
        level = path[a][1] == path[b][1]
        for turned in (False,) if level else (False, True):
            wide, high = (tall, width) if turned else (width, tall)
            lack = max((wide if level else high) / unit - (b - a), 0.0)
            for i in range(a, b + 1):
                at = stage.paper.spot(path[i])
                cost = lack + 0.2 * abs(i - 0.5 * (a + b)) - 0.3 * (b - a) + (TURNED if turned else 0.0)
                for top in _beside(at, level, wide, high, OFF * unit):
                    tries.append((cost, len(tries), Rect(top.x, top.y, top.x + wide, top.y + high), turned))
    for _, _, box, turned in sorted(tries):
        if stage.paper.free(box):
            stage.paper.take(box)
            return _turned(slot, box) if turned else stacked(slot.label, Spot(box.x1, box.y1), "start")
    return ()


def _turned(slot: Slot, box: Rect) -> tuple[Words, ...]:
    ((text, size, look),) = slot.label
    return (Words(Spot(box.x1 + 0.85 * size, box.y2), text, size, look, "start", turned=True),)


def _beside(at: Spot, level: bool, width: float, tall: float, gap: float) -> tuple[Spot, Spot]:
    """Top left of a name on either side of a line."""
    if level:
        return at.by(-width / 2, -gap - tall), at.by(-width / 2, gap)
    return at.by(gap + 2, -tall / 2), at.by(-gap - 2 - width, -tall / 2)


def _arrows(stage: Stage, legs: dict[int, Wire], looks: tuple[str, str]) -> None:
    """An arrow on the longest stretch of each way, in the direction of the line."""
    unit = stage.paper.unit
    for leg, wire in legs.items():
        way = _own(wire, leg == 1)
        a, b = max(_stretches(way), key=lambda s: (s[1] - s[0], -s[0]), default=(0, 0))
        crossed = {node for other in stage.wires.values() if other.joint != wire.joint for node in other.path}
        middle = 0.5 * (a + b)
        free = [i for i in range(a + 1, b) if not crossed & set(way[i - 1 : i + 2])]
        if b - a < ARROW or not free:
            continue
        i = min(free, key=lambda i: abs(i - middle))
        x, y = way[b][0] - way[b - 1][0], way[b][1] - way[b - 1][1]
        at = stage.paper.spot(way[i])
        tip, back = at.by(0.5 * unit * x, 0.5 * unit * y), at.by(-0.35 * unit * x, -0.35 * unit * y)
        side = 0.38 * unit
        corners = (tip, back.by(-side * y, side * x), back.by(side * y, -side * x))
        stage.drawing.arrows.append(Mark("area", corners, f"arrow {looks[leg == 1]}"))
