"""The name of a tank and what it holds: inside where there is room, else beside it."""

from __future__ import annotations

from itertools import product

from ullage.report.drawing.labels import Labels
from ullage.report.drawing.placing import nearby
from ullage.report.drawing.scene import Drawn, Mark, Rect, Spot, stacked
from ullage.report.drawing.stage import Stage
from ullage.report.drawing.vessels import Vessel
from ullage.report.lettering import LEADING, room
from ullage.report.quantity_words import figures, in_unit, unit_of
from ullage.rig.model import Tank
from ullage.rig.shapes import capacity, volume

WALL = 2.4
"""Words in a tank keep this far from its wall [px]."""

Lines = list[tuple[str, float, str]]
"""Lines of text: text, size, look."""


def content_words(labels: Labels, tank: Tank, depth: float) -> tuple[str, str]:
    """What a tank holds: in full, and as a part of what it holds up to its overflow."""
    now, most = volume(tank.shape, depth), capacity(tank)
    share = f"{figures(100 * now / most, 2, 0)} %" if most > 0 else ""
    unit = unit_of("volume", labels.units)
    amounts = (f"{in_unit(value, 'volume', labels.units):.3g}" for value in (now, most))
    return f"{next(amounts)} of {next(amounts)} {unit}", share


def name_tank(stage: Stage, labels: Labels, it: Vessel, part: Drawn, depth: float) -> None:
    """Write the name of a tank and what it holds.

    Inside in full, or only its name and how full it is; clear of the surface if there is a place that is; else
    beside the tank.
    """
    sheet = stage.sheet
    full, share = content_words(labels, it.part, depth)
    name = (it.name, 1.2 * sheet.name, "tankname")
    variants: list[Lines] = [[name, (full, sheet.small, "content")], [name, (share, sheet.small, "content")]]
    variants += [[(it.name, sheet.name, "tankname"), variants[1][1]], [(f"{it.name} {share}", sheet.name, "tankname")]]
    marks = [_extent(mark) for mark in part.marks[1:]]
    tails = [joint.tail for place, joint in stage.joints.items() if place.startswith(f"{it.name}.")]
    marks += [_extent(Mark("line", tail, "")) for tail in tails]
    levels, surface = [it.box.middle.y], []
    if part.water is not None and it.frame.view == "side":
        at = part.water.surface
        surface = [Rect(it.box.x1, at - 1, it.box.x2, at + 1)]
        levels += sorted((0.5 * (it.box.y1 + at), 0.5 * (at + it.box.y2)), key=lambda y: abs(y - at), reverse=True)
    elif part.water is not None:
        marks.append(_extent(Mark("area", part.water.outline, "")))
    for kept_clear, lines in product((marks + surface, marks), variants):
        box = _inside(it, lines, levels, kept_clear)
        if box is not None:
            part.words += stacked(lines, Spot(box.middle.x, box.y1), "middle")
            return
    part.words += stacked(variants[1], _outside(stage, it, *_size(variants[1])), "middle")


def _outside(stage: Stage, it: Vessel, width: float, tall: float) -> Spot:
    """Where words find room beside a tank: the middle of their top."""
    x, y = it.box.middle
    off = stage.paper.unit
    for middle in (
        Spot(it.box.x2 + off + width / 2, y),
        Spot(it.box.x1 - off - width / 2, y),
        Spot(x, it.box.y2 + off + tall / 2),
        Spot(it.box.x1 + width / 2, it.box.y1 - off - tall / 2),
    ):
        box = Rect(middle.x - width / 2, middle.y - tall / 2, middle.x + width / 2, middle.y + tall / 2)
        if stage.paper.free(box):
            stage.paper.take(box)
            return Spot(middle.x, box.y1)
    place = nearby(stage, Rect(-width / 2, -tall / 2, width / 2, tall / 2), it.box.middle)
    return place.by(0, -tall / 2)


def _size(lines: Lines) -> tuple[float, float]:
    return max(room((text,), size)[0] for text, size, _ in lines), sum(0.86 * LEADING * size for _, size, _ in lines)


def _inside(it: Vessel, lines: Lines, levels: list[float], clear: list[Rect]) -> Rect | None:
    """Where some lines find room in a tank, clear of what stands in it."""
    width, tall = _size(lines)
    for across, level in product((0.5, 0.4, 0.6, 0.3, 0.7), levels):
        middle = Spot(it.box.x1 + across * (it.box.x2 - it.box.x1), level)
        box = Rect(middle.x - width / 2, middle.y - tall / 2, middle.x + width / 2, middle.y + tall / 2)
        if _within(it, box.grown(WALL)) and not any(box.meets(mark) for mark in clear):
            return box
    return None


def _within(it: Vessel, box: Rect) -> bool:
    if box.x1 < it.box.x1 or box.x2 > it.box.x2 or box.y1 < it.box.y1 or box.y2 > it.box.y2:
        return False
    spans = (it.wall(box.y1), it.wall(box.y2), it.wall(box.middle.y))
    return all(left <= box.x1 and right >= box.x2 for left, right in spans)


def _extent(mark: Mark) -> Rect:
    xs, ys = [p.x for p in mark.points], [p.y for p in mark.points]
    return Rect(min(xs), min(ys), max(xs), max(ys)).grown(mark.radius + 1.0)
