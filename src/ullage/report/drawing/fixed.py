"""What has its place besides tanks: ports, fixtures, points, and the instruments and accumulators near them."""

from __future__ import annotations

from collections.abc import Callable
from math import hypot

from ullage.report.drawing.labels import Labels
from ullage.report.drawing.paper import Node
from ullage.report.drawing.placing import nearby
from ullage.report.drawing.routing import STEPS
from ullage.report.drawing.scene import Drawn, Mark, Rect, Spot, Words, around, stacked
from ullage.report.drawing.stage import Stage
from ullage.report.drawing.symbols import ACCUMULATOR, TAP, Stance, stand
from ullage.report.drawing.train import ACROSS, BACK, DOWN, UP, Block, Slot, bubble, drawn, lay_out, marks_box
from ullage.report.lettering import LEADING, room

AHEAD = 3
"""Before the tip of a flag nothing should stand so far [units]."""

PAD = 5.0
"""Distance of a name from the edge of its flag [px]."""


def port(stage: Stage, labels: Labels, name: str, tip: Spot, sides: tuple[int, ...]) -> None:
    """A port as a flag beside its place.

    Parameters
    ----------
    tip : Spot
        Where it is [px].
    sides : tuple of int
        The sides to which its flag may lie, the best first (`ullage.report.drawing.routing.STEPS`).
    """
    supply = stage.rig.ports[name].kind == "supply"
    under = labels.pressure(name)
    node = stage.paper.node(tip)
    tip = stage.paper.spot(node)
    boxes = {side: _flag_box(stage, name, side, under) for side in sides}
    free = [s for s in sides if stage.paper.free(_moved(boxes[s], tip))]
    side = next((s for s in free if _leads_on(stage, node, (s + 2) % 4)), free[0] if free else -1)
    if side < 0:
        side = sides[0]
        true, tip = tip, nearby(stage, boxes[side], tip, take=False)
        stage.drawing.behind.append(Mark("line", (true, tip), "lead"))
        node = stage.paper.node(tip)
    tall = stage.sheet.name + 8
    body = _moved(_flag_box(stage, name, side, ""), tip)
    part = Drawn(name, "ports", labels.title(name), body, [Mark("area", _flag(body, side, supply, tall), "flag")])
    size = stage.sheet.name
    away = STEPS[side]
    middle = body.middle.by(0.2 * tall * away[0] * (1 if supply else -1), 0.2 * tall * away[1] * (1 if supply else -1))
    part.words.append(Words(middle.by(0, 0.35 * size), name, size, "name", "middle"))
    if under:
        edge, anchor = (tip.x, "end") if side == 2 else (tip.x, "start") if side == 0 else (middle.x, "middle")
        foot = Spot(edge, body.y1 - 0.3 * stage.sheet.small if side == 3 else body.y2 + 0.9 * stage.sheet.small)
        part.words.append(Words(foot, under, stage.sheet.small, "faint", anchor))  # type: ignore[arg-type]
    stage.put(part)
    stage.join(name, node, ((side + 2) % 4,), 2)


def _leads_on(stage: Stage, node: Node, way: int) -> bool:
    """Whether nothing stands before a node in a direction."""
    ahead = [(node[0] + k * STEPS[way][0], node[1] + k * STEPS[way][1]) for k in range(1, AHEAD + 1)]
    return all(
        0 < x < stage.paper.columns and 0 < y < stage.paper.rows and not stage.paper.walls[y * stage.paper.columns + x]
        for x, y in ahead
    )


def _line(stage: Stage) -> float:
    return 0.86 * LEADING * stage.sheet.small


def _flag_box(stage: Stage, name: str, side: int, under: str) -> Rect:
    """The room of a flag on one side of a tip at (0, 0), and of what stands under it (over it when it stands above)."""
    tall = stage.sheet.name + 8
    width = room((name,), stage.sheet.name)[0] + 2 * PAD
    x, y = STEPS[side]
    low = _line(stage) if under else 0.0
    if x:
        far = max(width + 0.5 * tall, room((under,), stage.sheet.small)[0])
        return Rect(min(0.0, x * far), -0.5 * tall, max(0.0, x * far), 0.5 * tall + low)
    far, half = 1.4 * tall + low, 0.5 * max(width, room((under,), stage.sheet.small)[0])
    return Rect(-half, min(0.0, y * far), half, max(0.0, y * far))


def _flag(box: Rect, side: int, supply: bool, tall: float) -> tuple[Spot, ...]:
    """A flag that points at the rig for a supply, and away from it for a discharge."""
    x1, y1, x2, y2 = box
    way = (side + 2) % 4 if supply else side
    cut, (mx, my) = 0.45 * tall, box.middle
    return {
        0: (Spot(x1, y1), Spot(x2 - cut, y1), Spot(x2, my), Spot(x2 - cut, y2), Spot(x1, y2)),
        2: (Spot(x2, y1), Spot(x1 + cut, y1), Spot(x1, my), Spot(x1 + cut, y2), Spot(x2, y2)),
        1: (Spot(x1, y1), Spot(x2, y1), Spot(x2, y2 - cut), Spot(mx, y2), Spot(x1, y2 - cut)),
        3: (Spot(x1, y2), Spot(x2, y2), Spot(x2, y1 + cut), Spot(mx, y1), Spot(x1, y1 + cut)),
    }[way]


def _moved(box: Rect, at: Spot) -> Rect:
    return Rect(box.x1 + at.x, box.y1 + at.y, box.x2 + at.x, box.y2 + at.y)


def fixture(stage: Stage, labels: Labels, name: str, at: Spot) -> Callable[[], None]:
    """A fixture at its place; what is given back draws it, once it is known from which side its line comes."""
    unit, sheet = stage.paper.unit, stage.sheet
    lines = labels.label(name) or ((name, sheet.name, "name"),)
    width = max(room((text,), size)[0] for text, size, _ in lines)
    tall = sum(0.86 * LEADING * size for _, size, _ in lines)
    body = Rect(-1.15 * unit, -0.9 * unit, 1.15 * unit, 1.3 * unit)
    below = Rect(-width / 2, 1.4 * unit, width / 2, 1.4 * unit + tall)
    above = Rect(-width / 2, -tall - 1.1 * unit, width / 2, -1.1 * unit)
    tried = [(nearby(stage, around((body, label)), at, take=False), label) for label in (below, above)]
    spot, label = min(tried, key=lambda each: hypot(each[0].x - at.x, each[0].y - at.y))
    if hypot(spot.x - at.x, spot.y - at.y) > 1.5 * unit:
        stage.drawing.behind.append(Mark("line", (at, spot), "lead"))
    part = Drawn(name, "fixtures", labels.title(name), _moved(body, spot))
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
    spot = nearby(stage, Rect(0, 0, 0, 0).grown(1.2 * unit), at, take=False)
    part = Drawn(name, "points", labels.title(name), Rect(*spot, *spot).grown(0.3 * unit))
    part.marks.append(Mark("disc", (spot,), "solid", 0.32 * unit))
    stage.put(part, wall=False)
    stage.join(name, stage.paper.node(spot), (0, 1, 2, 3), 1)


def point_name(stage: Stage, labels: Labels, name: str) -> None:
    """The name of a point, near it."""
    lines = labels.label(name)
    if not lines:
        return
    spot = stage.paper.spot(stage.joints[name].node)
    part = next(part for part in stage.drawing.parts if part.name == name)
    width, tall = room((lines[0][0],), lines[0][1])
    unit = stage.paper.unit
    for right, down in ((1, -1), (-1, -1), (1, 1), (-1, 1)):
        x, y = spot.x + right * (0.6 * unit + width / 2), spot.y + down * (0.5 * unit + tall / 2)
        box = Rect(x - width / 2, y - tall / 2, x + width / 2, y + tall / 2)
        if stage.paper.free(box):
            stage.paper.take(box)
            break
    else:
        at = nearby(stage, Rect(-width / 2, -tall / 2, width / 2, tall / 2), spot)
        x, y = at
        part.marks.append(Mark("line", (spot, at.by(0, -tall / 2 if y > spot.y else tall / 2)), "lead"))
    part.words += stacked(lines, Spot(x, y - tall / 2), "middle")


def accumulator(stage: Stage, labels: Labels, name: str) -> None:
    """An accumulator near its point."""
    joint = stage.joints.get(stage.rig.accumulators[name].at)
    if joint is None:
        return
    slots = (Slot(name, "accumulators", labels.title(name), ACCUMULATOR, labels.label(name)),)
    places: list[tuple[float, Node, Block]] = []
    windows = stage.windows(joint.node, joint.node)
    for along in (UP, ACROSS, BACK, DOWN):
        block = lay_out(slots, stage.sheet, along)
        across, down = _away(joint.node[0], along[0]), _away(joint.node[1], along[1])
        found = stage.paper.best(around(block.boxes), across, down, windows)
        places += [(cost, node, block) for cost, node in found]
    places.sort(key=lambda place: place[0])
    for i, (_, node, block) in enumerate(places):
        if stage.spur(stage.rig.accumulators[name].at, node, block, last=i == len(places) - 1):
            stage.drawing.parts += drawn(slots, block, stage.paper.spot(node), stage.sheet)
            break


def _away(joint: int, along: int) -> Callable[[int], float]:
    """What it costs to stand in a row (or column) when the block looks along or against it."""
    return lambda place: abs(place - joint - 2 * along) + (6.0 if (place - joint) * along < 0 else 0.0)


def instruments(stage: Stage, labels: Labels, feet: dict[str, Spot]) -> None:
    """The bubbles of all instruments that sit neither in a line nor on a pump.

    Parameters
    ----------
    feet : dict
        Where those of the tanks sense [px].
    """
    if stage.sheet.letters == "none":
        return
    for name, spot in feet.items():
        _instrument(stage, labels, name, spot)
    for name, probe in stage.rig.probes.items():
        if probe.of not in stage.rig.pumps:
            at = stage.joints.get(probe.of)
            _instrument(stage, labels, name, stage.paper.spot(at.node) if at else None)


def _instrument(stage: Stage, labels: Labels, name: str, foot: Spot | None) -> None:
    """The bubble of an instrument near the place where it senses, or in a corner when that is not on the sheet."""
    sheet = stage.sheet
    named = sheet.letters == "names"
    width = room((name,), sheet.small)[0] if named else 0.0
    half = 0.5 * sheet.bubble
    goal = foot or Spot(stage.drawing.width - sheet.bubble, stage.drawing.height)
    column, row = stage.paper.node(goal)
    best = None
    # The name stands on the far side of the bubble, so that the line to its foot does not cross it.
    for side in (-1, 1):
        far = half + (1.15 * sheet.small if named else 0)
        box = Rect(-max(half, width / 2), -(far if side < 0 else half), max(half, width / 2), far if side > 0 else half)
        found = stage.paper.best(
            box,
            lambda c: abs(c - column),
            lambda r, s=side: abs(r - row) + (6.0 if (r - row) * s < 2 else 0.0),  # type: ignore[misc]
        )
        if found and (best is None or found[0][0] < best[0]):
            best = *found[0], side, box
    _, node, side, box = best or (0.0, (column, row), 1, Rect(0, 0, 0, 0))
    middle = stage.paper.spot(node)
    stage.paper.take(_moved(box, middle))
    marks, letters = bubble(middle, labels.inside(name), sheet)
    if foot is not None:
        far = hypot(middle.x - foot.x, middle.y - foot.y) or 1.0
        edge = middle.by((foot.x - middle.x) * half / far, (foot.y - middle.y) * half / far)
        marks.insert(0, Mark("line", (foot, edge), "signal"))
    part = Drawn(name, labels.kinds[name], labels.title(name), marks_box(middle, sheet), marks, letters)
    if named:
        part.words.append(
            Words(
                middle.by(0, half + sheet.small if side > 0 else -half - 0.3 * sheet.small),
                name,
                sheet.small,
                "faint",
                "middle",
            )
        )
    stage.drawing.parts.append(part)
