"""What has its place besides tanks: ports, fixtures, points, and the instruments and accumulators near them."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot

from ullage.report.drawing.labels import Labels
from ullage.report.drawing.scene import Drawn, Mark, Rect, Spot, Words, around, stacked
from ullage.report.drawing.stage import Stage
from ullage.report.drawing.symbols import ACCUMULATOR, TAP, Stance, stand
from ullage.report.drawing.train import ACROSS, BACK, DOWN, UP, Slot, bubble, drawn, lay_out, marks_box
from ullage.report.drawing.vessels import nearby
from ullage.report.lettering import LEADING, room
from ullage.report.quantity_words import in_unit, figures, unit_of

PAD = 5.0
"""Distance of a name from the edge of its flag [px]."""


def flag_size(stage: Stage, name: str) -> tuple[float, float, float]:
    """Width of the box of a port's flag, of its tip, and its height [px]."""
    width, _ = room((name,), stage.sheet.name)
    tall = stage.sheet.name + 8
    return width + 2 * PAD, 0.5 * tall, tall


def port(stage: Stage, labels: Labels, name: str, tip: Spot, sides: tuple[int, ...]) -> None:
    """A port as a flag beside its place; ``sides`` are those to which it may lie (1: right, -1: left)."""
    supply = stage.rig.ports[name].kind == "supply"
    width, point, tall = flag_size(stage, name)
    node = stage.paper.node(tip)
    tip = stage.paper.spot(node)
    under = _pressure(stage, labels, name)
    below = 0.86 * LEADING * stage.sheet.small if under else 0.0

    def box(side: int) -> Rect:
        near, far = tip.x + side * 0.2, tip.x + side * (width + point)
        return Rect(min(near, far), tip.y - tall / 2, max(near, far), tip.y + tall / 2 + below)

    side = next((s for s in sides if stage.paper.free(box(s).grown(1))), 0)
    if not side:
        side = sides[0]
        moved = nearby(stage, _about(box(side), tip), tip, wall=False)
        stage.drawing.behind.append(Mark("line", (tip, moved), "lead"))
        node, tip = stage.paper.node(moved), moved
    long, shape = side * (width + point), -side * point
    # A supply's flag points at the rig, a discharge's away from it.
    corners = (
        (tip, tip.by(side * point, -tall / 2), tip.by(long, -tall / 2), tip.by(long, tall / 2), tip.by(side * point, tall / 2))
        if supply
        else (
            tip.by(0, -tall / 2),
            tip.by(long + shape, -tall / 2),
            tip.by(long, 0),
            tip.by(long + shape, tall / 2),
            tip.by(0, tall / 2),
        )
    )
    part = Drawn(name, "ports", labels.title(name), box(side), [Mark("area", corners, "flag")])
    middle = tip.x + side * (width / 2 + (point if supply else 0))
    part.words.append(Words(Spot(middle, tip.y + 0.35 * stage.sheet.name), name, stage.sheet.name, "name", "middle"))
    if under:
        part.words.append(
            Words(Spot(middle, tip.y + tall / 2 + 0.9 * stage.sheet.small), under, stage.sheet.small, "faint", "middle")
        )
    stage.put(part)
    stage.join(name, node, (2 if side > 0 else 0,), 2)


def _pressure(stage: Stage, labels: Labels, name: str) -> str:
    span = stage.rig.ports[name].pressure
    if span is None or stage.sheet.letters != "names":
        return ""
    low, high = (figures(in_unit(value, "pressure", labels.units), 2) for value in (span.least, span.most))
    return f"{low} .. {high} {unit_of('pressure', labels.units)}"


def _about(box: Rect, at: Spot) -> Rect:
    return Rect(box.x1 - at.x, box.y1 - at.y, box.x2 - at.x, box.y2 - at.y)


def fixture(stage: Stage, labels: Labels, name: str, at: Spot) -> Callable[[], None]:
    """A fixture at its place; what is given back draws it, once it is known from which side its line comes."""
    unit, sheet = stage.paper.unit, stage.sheet
    lines = labels.label(name) or ((name, sheet.name, "name"),)
    width = max(room((text,), size)[0] for text, size, _ in lines)
    tall = sum(0.86 * LEADING * size for _, size, _ in lines)
    body = Rect(-1.15 * unit, -0.9 * unit, 1.15 * unit, 1.3 * unit)
    label = Rect(-width / 2, 1.4 * unit, width / 2, 1.4 * unit + tall)
    spot = nearby(stage, around((body, label)), at, wall=False)
    if hypot(spot.x - at.x, spot.y - at.y) > 1.5 * unit:
        stage.drawing.behind.append(Mark("line", (at, spot), "lead"))
    part = Drawn(name, "fixtures", labels.title(name), Rect(*(b + s for b, s in zip(body, (*spot, *spot), strict=True))))
    part.words += stacked(lines, spot.by(0, label.y1), "middle")
    stage.put(part)
    stage.join(name, stage.paper.node(spot), (0, 2), 2)

    def finish() -> None:
        ends = [run.points for run in stage.drawing.runs if run.line >= 0 and name in _ends(stage, run.line)]
        before = [points[-2] if points[-1] == spot else points[1] for points in ends if spot in (points[0], points[-1])]
        from_right = bool(before) and before[0].x > spot.x
        marks, _ = stand(TAP, Stance(spot, (-1 if from_right else 1, 0), (0, -1), unit), sheet.small)
        part.marks += marks

    return finish


def _ends(stage: Stage, line: int) -> tuple[str, str]:
    ends = stage.rig.lines[line]
    return ends.start, ends.end


def point(stage: Stage, labels: Labels, name: str, at: Spot) -> None:
    """A point where lines meet."""
    unit = stage.paper.unit
    spot = nearby(stage, Rect(0, 0, 0, 0).grown(0.4 * unit), at, wall=False)
    part = Drawn(name, "points", labels.title(name), Rect(*spot, *spot).grown(0.3 * unit))
    part.marks.append(Mark("disc", (spot,), "solid", 0.32 * unit))
    stage.put(part, wall=False)
    stage.join(name, stage.paper.node(spot), (0, 1, 2, 3), 2)


def point_name(stage: Stage, labels: Labels, name: str) -> None:
    """The name of a point, near it."""
    lines = labels.label(name)
    if not lines:
        return
    spot = stage.paper.spot(stage.joints[name].node)
    part = next(part for part in stage.drawing.parts if part.name == name)
    width, tall = room((lines[0][0],), lines[0][1])
    at = nearby(stage, Rect(-width / 2, -tall / 2, width / 2, tall / 2), spot)
    part.words += stacked(lines, at.by(0, -tall / 2), "middle")


def accumulator(stage: Stage, labels: Labels, name: str) -> None:
    """An accumulator near its point."""
    joint = stage.joints.get(stage.rig.accumulators[name].at)
    if joint is None:
        return
    slots = (Slot(name, "accumulators", labels.title(name), ACCUMULATOR, labels.label(name)),)
    best = None
    for along in (UP, ACROSS, BACK, DOWN):
        block = lay_out(slots, stage.sheet, along)
        found = stage.paper.best(
            around(block.boxes),
            lambda c, a=along: abs(c - joint.node[0] - 2 * a[0]) + 6 * ((c - joint.node[0]) * a[0] < 0),  # type: ignore[misc]
            lambda r, a=along: abs(r - joint.node[1] - 2 * a[1]) + 6 * ((r - joint.node[1]) * a[1] < 0),  # type: ignore[misc]
        )
        if found is not None and (best is None or found[0] < best[0]):
            best = *found, block
    if best is None:
        return
    _, node, block = best
    at = stage.paper.spot(node)
    for box in block.boxes:
        stage.paper.take(Rect(box.x1 + at.x, box.y1 + at.y, box.x2 + at.x, box.y2 + at.y))
    stage.drawing.parts += drawn(slots, block, at, stage.sheet)
    stage.spur(stage.rig.accumulators[name].at, node, block.along, abs(block.centres[0]))


def instrument(stage: Stage, labels: Labels, name: str, foot: Spot | None) -> None:
    """The bubble of an instrument near the place where it senses, or in a corner when that is not on the sheet."""
    sheet = stage.sheet
    named = sheet.letters == "names"
    width = room((name,), sheet.small)[0] if named else 0.0
    half = 0.5 * sheet.bubble
    box = Rect(-max(half, width / 2), -half, max(half, width / 2), half + (1.1 * sheet.small if named else 0))
    goal = foot or Spot(stage.drawing.width - sheet.bubble, stage.drawing.height)
    middle = nearby(stage, box, goal)
    marks, letters = bubble(middle, labels.tags[name], sheet)
    if foot is not None:
        far = hypot(middle.x - foot.x, middle.y - foot.y) or 1.0
        edge = middle.by((foot.x - middle.x) * half / far, (foot.y - middle.y) * half / far)
        marks.insert(0, Mark("line", (foot, edge), "signal"))
    part = Drawn(name, labels.kinds[name], labels.title(name), marks_box(middle, sheet), marks, letters)
    if named:
        part.words.append(Words(middle.by(0, half + sheet.small), name, sheet.small, "faint", "middle"))
    stage.drawing.parts.append(part)
