"""Tanks to scale: outline, water, nozzles, vent, overflow, senders and floats where they are."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor

from ullage.report.drawing.frame import Frame
from ullage.report.drawing.labels import Labels
from ullage.report.drawing.outline import outline
from ullage.report.drawing.paper import Node
from ullage.report.drawing.routing import STEPS
from ullage.report.drawing.scene import Drawn, Mark, Rect, Spot, Water
from ullage.report.drawing.stage import Stage
from ullage.rig.model import Tank
from ullage.rig.sensing import top
from ullage.rig.shapes import height

ROD = 0.16
"""Where a sender whose place is not stated is drawn: so far from the right wall, as a part of the width."""

RIGHT, FOOT, LEFT, HEAD = 0, 1, 2, 3
"""Directions out of a tank, as numbered in `ullage.report.drawing.routing.STEPS`."""


@dataclass(frozen=True, slots=True)
class Vessel:
    """A tank on the sheet.

    Attributes
    ----------
    name : str
        Of the tank.
    part : Tank
        As in the rig.
    corners : tuple of Spot
        Its outline [px].
    box : Rect
        Around it [px].
    frame : Frame
        How the view lies.
    """

    name: str
    part: Tank
    corners: tuple[Spot, ...]
    box: Rect
    frame: Frame

    def spot(self, x: float, y: float, depth: float) -> Spot:
        """Where a place in the tank lies, given from the middle of its floor [m]."""
        floor = self.part.floor_at
        return self.frame.flat(floor.x + x, floor.z + depth if self.frame.view == "side" else floor.y + y)

    def wall(self, level: float) -> tuple[float, float]:
        """Where a level line meets the walls at the left and at the right [px]."""
        xs = []
        for a, b in zip(self.corners, (*self.corners[1:], self.corners[0]), strict=True):
            if min(a.y, b.y) - 1e-9 <= level <= max(a.y, b.y) + 1e-9:
                xs += [a.x, b.x] if abs(a.y - b.y) < 1e-9 else [a.x + (b.x - a.x) * (level - a.y) / (b.y - a.y)]
        return (min(xs), max(xs)) if xs else (self.box.x1, self.box.x2)

    def lid(self, x: float) -> tuple[float, float]:
        """Where a plumb line meets the outline above and below [px]."""
        ys = []
        for a, b in zip(self.corners, (*self.corners[1:], self.corners[0]), strict=True):
            if min(a.x, b.x) - 1e-9 <= x <= max(a.x, b.x) + 1e-9:
                ys += [a.y, b.y] if abs(a.x - b.x) < 1e-9 else [a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x)]
        return (min(ys), max(ys)) if ys else (self.box.y1, self.box.y2)


def vessel(name: str, part: Tank, frame: Frame) -> Vessel:
    """A tank where it stands."""
    floor = part.floor_at
    base = floor.z if frame.view == "side" else floor.y
    corners = tuple(frame.flat(floor.x + x, base + up) for x, up in outline(part.shape, frame.view))
    box = Rect(
        min(c.x for c in corners), min(c.y for c in corners), max(c.x for c in corners), max(c.y for c in corners)
    )
    return Vessel(name, part, corners, box, frame)


def draw(stage: Stage, labels: Labels, it: Vessel, depth: float) -> Drawn:
    """Put a tank on the sheet with its water; its words, vent and overflow come later, when all tanks stand."""
    part = Drawn(it.name, "tanks", labels.title(it.name), it.box)
    part.marks.append(Mark("area", it.corners, "tank"))
    look = "waste" if it.part.holds == "waste" else "cold"
    if it.frame.view == "side":
        part.water = Water(it.corners, it.spot(0, 0, 0).y, it.frame.scale, depth, look)
    else:
        part.water = _gauge(it, depth, look)
    stage.put(part)
    return part


def _gauge(it: Vessel, depth: float, look: str) -> Water:
    """How full a tank is that is seen from above: a narrow glass at its right wall."""
    tall = 0.7 * (it.box.y2 - it.box.y1)
    wide = min(9.0, 0.1 * (it.box.x2 - it.box.x1))
    right, foot = it.box.x2 - 0.8 * wide, it.box.middle.y + 0.5 * tall
    corners = (Spot(right - wide, foot), Spot(right, foot), Spot(right, foot - tall), Spot(right - wide, foot - tall))
    return Water(corners, foot, tall / height(it.part.shape), depth, look)


def nozzles(stage: Stage, it: Vessel, towards: dict[str, Spot]) -> None:
    """Make the joints of a tank: each opening leads out by the wall that is nearest to it.

    Parameters
    ----------
    towards : dict
        For each opening the place to which its lines lead on; it decides between walls that are equally near.
    """
    used: dict[int, list[int]] = {}
    for name, opening in it.part.openings.items():
        inner = it.spot(opening.x, opening.y, opening.at)
        inner = Spot(min(max(inner.x, it.box.x1), it.box.x2), min(max(inner.y, it.box.y1), it.box.y2))
        way, foot, node = _way_out(stage, it, inner, towards.get(name, inner), used)
        used.setdefault(way, []).append(node[1] if way in (RIGHT, LEFT) else node[0])
        at = stage.paper.spot(node)
        foot = Spot(foot.x, at.y) if way in (RIGHT, LEFT) else Spot(at.x, foot.y)
        inside = Spot(inner.x, foot.y) if way in (RIGHT, LEFT) else Spot(foot.x, inner.y)
        # Where no place is stated, a plan shows only that there is an opening, not how far in it lies.
        known = it.frame.view == "side" or opening.x or opening.y
        stage.join(f"{it.name}.{name}", node, (way,), 2, (at, foot, inside) if known else (at, foot))
        stage.paper.take(Rect(*at, *at).grown(1.6 * stage.paper.unit), wall=False)


def _way_out(stage: Stage, it: Vessel, inner: Spot, goal: Spot, used: dict[int, list[int]]) -> tuple[int, Spot, Node]:
    """By which wall an opening leads out, where it passes it, and the node before it: the nearest that is free."""
    paper = stage.paper
    choices = []
    for way, foot in _walls(it, inner, goal):
        across = way in (RIGHT, LEFT)
        column, row = paper.node(foot)
        if across:
            # The wall is straight only between the floor and the lid.
            row = min(max(row, ceil(it.box.y1 / paper.unit)), floor(it.box.y2 / paper.unit))
        while any(abs((row if across else column) - other) < 2 for other in used.get(way, ())):
            column, row = column + (not across), row + across
        out = {RIGHT: it.box.x2, LEFT: -it.box.x1, FOOT: it.box.y2, HEAD: -it.box.y1}[way]
        step = int((out + 0.55 * paper.unit) // paper.unit) + 1
        node = {RIGHT: (step, row), LEFT: (-step, row), FOOT: (column, step), HEAD: (column, -step)}[way]
        node = paper.inside(*node)
        choices.append((way, foot, node))
        ahead = (node[0] + STEPS[way][0], node[1] + STEPS[way][1])
        if not any(paper.walls[y * paper.columns + x] for x, y in (node, paper.inside(*ahead))):
            return choices[-1]
    return choices[0]


def _walls(it: Vessel, inner: Spot, goal: Spot) -> list[tuple[int, Spot]]:
    """The walls of a tank with the place where each is nearest to an opening, the nearest first."""
    left, right = it.wall(inner.y)
    head, foot = it.lid(inner.x)
    choices = [
        (inner.y - head, HEAD, Spot(inner.x, head)),
        (foot - inner.y, FOOT, Spot(inner.x, foot)),
        (inner.x - left, LEFT, Spot(left, inner.y)),
        (right - inner.x, RIGHT, Spot(right, inner.y)),
    ]

    def cost(choice: tuple[float, int, Spot]) -> tuple[float, float]:
        near, _, at = choice
        return round(near / 6.0), abs(at.x - goal.x) + abs(at.y - goal.y)

    return [(way, at) for _, way, at in sorted(choices, key=cost)]


def breathe(stage: Stage, it: Vessel, part: Drawn) -> None:
    """The vent and the overflow of a tank."""
    unit = stage.paper.unit
    if it.part.vent is not None and it.frame.view == "side":
        x = _free_place(stage, it, 2.2 * unit)
        if x is not None:
            part.marks += _gooseneck(Spot(x, it.lid(x)[0]), unit)
            stage.paper.take(Rect(x - 0.3 * unit, it.lid(x)[0] - 1.9 * unit, x + 1.3 * unit, it.lid(x)[0] - 0.1))
    if it.part.overflow is not None and it.frame.view == "side":
        level = it.spot(0, 0, it.part.overflow.at).y
        left, right = it.wall(level)
        drop = 1.7 * unit
        sides = [(left, -1), (right, 1)]
        if it.box.middle.x > 0.5 * stage.drawing.width:
            sides.reverse()
        for x, sign in sides:
            near, far = x + sign * 0.55 * unit, x + sign * 1.4 * unit
            room_there = Rect(min(near, far), level - 0.3 * unit, max(near, far), level + drop)
            if stage.paper.free(room_there) or (x, sign) == sides[-1]:
                stage.paper.take(room_there)
                lower = it.wall(level + drop)[sign > 0]
                out = max(0.9 * unit, sign * (lower - x) + 0.6 * unit)
                part.marks += _spout(Spot(x, level), sign * out, unit, it.part.overflow.to)
                break


def _free_place(stage: Stage, it: Vessel, tall: float) -> float | None:
    width = it.box.x2 - it.box.x1
    for share in (0.3, 0.7, 0.2, 0.8, 0.5, 0.1, 0.9, 0.4, 0.6):
        x = it.box.x1 + share * width
        head = it.lid(x)[0]
        unit = stage.paper.unit
        if stage.paper.free(Rect(x - 0.6 * unit, head - tall, x + 1.6 * unit, min(head, it.box.y1) - 0.55 * unit)):
            return x
    return None


def _gooseneck(foot: Spot, unit: float) -> list[Mark]:
    """A vent: a pipe that turns down at its end."""
    rise, turn = 1.2 * unit, 0.45 * unit
    a, b = foot.by(0, -rise), foot.by(2 * turn, -rise)
    over = 0.62 * unit
    return [
        Mark("line", (foot, a), "vent"),
        Mark("curve", (a, a.by(0, -over), b.by(0, -over), b), "vent"),
        Mark("line", (b, b.by(0, 0.25 * unit)), "vent"),
    ]


def _spout(wall: Spot, out: float, unit: float, to: str) -> list[Mark]:
    """An overflow: out of the wall and down, with a point."""
    drop = 1.0 * unit
    tip = wall.by(out, drop + 0.6 * unit)
    return [
        Mark("line", (wall, wall.by(out, 0), wall.by(out, drop)), "spill" if to == "outdoors" else "spill indoors"),
        Mark("area", (tip.by(-0.35 * unit, -0.6 * unit), tip.by(0.35 * unit, -0.6 * unit), tip), "tip"),
    ]


def rods(stage: Stage, it: Vessel, part: Drawn) -> dict[str, Spot]:
    """The senders and floats of a tank as they sit in it; for each the place from which its bubble is led."""
    feet: dict[str, Spot] = {}
    unit = stage.paper.unit
    width = it.box.x2 - it.box.x1
    for name, sender in stage.rig.senders.items():
        if sender.on != it.name:
            continue
        x = it.spot(sender.x, sender.y, 0).x if sender.x else it.box.x2 - ROD * width
        if it.frame.view == "plan":
            y = it.spot(0, sender.y, 0).y if sender.y else it.box.y1 + ROD * (it.box.y2 - it.box.y1)
            part.marks.append(Mark("disc", (Spot(x, y),), "eye", 0.3 * unit))
            feet[name] = Spot(x, y)
            continue
        low, high = it.spot(0, 0, sender.zero_at).y, it.spot(0, 0, top(sender, it.part.shape)).y
        head, foot = it.lid(x)
        high, low = max(high, head), min(low, foot)
        part.marks.append(Mark("line", (Spot(x, low), Spot(x, high)), "rod"))
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            y, wide = low + share * (high - low), (0.32 if share in (0.0, 0.5, 1.0) else 0.2) * unit
            part.marks.append(Mark("line", (Spot(x - wide, y), Spot(x + wide, y)), "rod"))
        feet[name] = Spot(x, head)
        stage.paper.take(Rect(x, head, x, head).grown(0.6 * unit), wall=False)
    feet.update(_floats(stage, it, part))
    return feet


def _floats(stage: Stage, it: Vessel, part: Drawn) -> dict[str, Spot]:
    feet: dict[str, Spot] = {}
    unit = stage.paper.unit
    for name, switch in stage.rig.floats.items():
        if switch.on != it.name:
            continue
        if it.frame.view == "plan":
            foot = Spot(it.box.x1, it.box.middle.y) if not switch.x else it.spot(switch.x, switch.y, 0)
            at = foot.by(0.6 * unit if not switch.x else 0, (0.9 * len(feet) - 0.9) * unit)
            part.marks.append(Mark("disc", (at,), "ball", 0.28 * unit))
            feet[name] = at
            continue
        level = it.spot(0, 0, min(switch.at, height(it.part.shape))).y
        left, _ = it.wall(level)
        foot = Spot(left, level) if not switch.x else Spot(it.spot(switch.x, 0, 0).x - unit, level)
        ball = foot.by(1.1 * unit, 0)
        part.marks.append(Mark("line", (foot, ball), "rod"))
        part.marks.append(Mark("disc", (ball,), "ball", 0.3 * unit))
        feet[name] = foot
    return feet
