"""The rig to scale, from the side and from above."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial

from ullage.report.drawing import fixed, foot, vessels
from ullage.report.drawing.frame import Frame, frame
from ullage.report.drawing.labels import Labels, services
from ullage.report.drawing.outline import View
from ullage.report.drawing.scene import Drawing, Mark, Rect, Spot, Words
from ullage.report.drawing.sheet import SHEETS, Sheet, SheetName
from ullage.report.drawing.stage import Stage
from ullage.report.drawing.train import ACROSS, BACK, DOWN, UP, Block, Slot, lay_out
from ullage.report.lettering import printable
from ullage.report.quantity_words import System
from ullage.rig.model import Rig
from ullage.rig.names import place_of
from ullage.rig.shapes import capacity, depth

ROOM = (5, 14, 26, 44, 80)
"""Room over the rig, tried in turn until every train has its place [units]."""

UNDER = 6
"""Room under the rig [units]."""

VIEW_WORDS = {"side": "side elevation, seen from the right", "plan": "plan, seen from above"}
"""The views in words."""


def first_depths(rig: Rig) -> dict[str, float]:
    """Depth of each tank as a rig starts [m]."""
    return {
        name: depth(tank.shape, tank.starts_with * capacity(tank)) if tank.starts_with else 0.0
        for name, tank in rig.tanks.items()
    }


def scaled(
    rig: Rig, view: View, depths: Mapping[str, float] | None = None, sheet: SheetName = "a4", units: System = "metric"
) -> Drawing:
    """A rig to scale.

    Parameters
    ----------
    rig : Rig
        The rig.
    view : str
        ``side`` or ``plan``.
    depths : mapping, optional
        Depth of the water in each tank [m]; as it starts where not given.
    sheet : str
        What it is drawn on.
    units : str
        Units of what is written.
    """
    whole = {**first_depths(rig), **(depths or {})}
    for room in ROOM:
        stage, fits = _attempt(rig, view, whole, SHEETS[sheet], units, room)
        if fits:
            break
    return stage.drawing


def _attempt(
    rig: Rig, view: View, depths: Mapping[str, float], sheet: Sheet, units: System, above: int
) -> tuple[Stage, bool]:
    """Draw a rig with so much room over it; whether every train found its place."""
    it = frame(rig, view, sheet, above * sheet.unit, UNDER * sheet.unit)
    tall = it.origin.y + UNDER * sheet.unit
    title = f"{printable(rig.rig)}: {VIEW_WORDS[view]}"
    drawing = Drawing(view, title, "", sheet.width, tall)
    stage, labels = Stage(rig, sheet, drawing), Labels(rig, sheet, units)
    _ground(stage, it)
    finish = _stand(stage, labels, it, depths)
    fits = True
    looks = services(rig)
    order = sorted(range(len(rig.lines)), key=lambda i: (-len(labels.slots(rig.lines[i])), i))
    for line in order:
        slots = labels.slots(rig.lines[line])
        if slots:
            fits &= stage.seat(line, slots, _blocks(slots, sheet))
    for name in rig.points:
        fixed.point_name(stage, labels, name)
    stage.connect(looks)
    for each in finish:
        each()
    foot.close(stage, labels, it)
    return stage, fits


def _blocks(slots: tuple[Slot, ...], sheet: Sheet) -> list[Block]:
    blocks = [lay_out(slots, sheet, along) for along in (ACROSS, BACK, DOWN, UP)]
    return blocks + [lay_out(slots, sheet, along, mirrored=True) for along in (DOWN, UP)]


def _stand(stage: Stage, labels: Labels, it: Frame, depths: Mapping[str, float]) -> list[partial[None]]:
    """Everything that has its place; what is given back draws what waits for its line."""
    rig = stage.rig
    tanks = [vessels.vessel(name, tank, it) for name, tank in rig.tanks.items()]
    parts = [vessels.draw(stage, labels, tank, depths[tank.name]) for tank in tanks]
    for tank in tanks:
        vessels.nozzles(stage, tank, _goals(rig, it, tank.name))
    middle = it.flat(0.5 * (it.left + it.right), it.bottom).x
    for name, port in rig.ports.items():
        tip = it.spot(port.at)
        fixed.port(stage, labels, name, tip, (1, -1) if tip.x >= middle else (-1, 1))
    for name, point in rig.points.items():
        fixed.point(stage, labels, name, it.spot(point.at))
    finish = [
        partial(fixed.fixture(stage, labels, name, it.spot(part.at))) for name, part in rig.fixtures.items()
    ]
    feet: dict[str, Spot] = {}
    for tank, part in zip(tanks, parts, strict=True):
        feet.update(vessels.rods(stage, tank, part))
        vessels.breathe(stage, tank, part)
        vessels.words(stage, labels, tank, part, depths[tank.name])
    for name in rig.accumulators:
        fixed.accumulator(stage, labels, name)
    if stage.sheet.letters != "none":
        for name, spot in feet.items():
            fixed.instrument(stage, labels, name, spot)
        for name, probe in rig.probes.items():
            if probe.of not in rig.pumps:
                at = stage.joints.get(probe.of)
                fixed.instrument(stage, labels, name, stage.paper.spot(at.node) if at else None)
    return finish


def _goals(rig: Rig, it: Frame, tank: str) -> dict[str, Spot]:
    """For each opening of a tank where its line leads to."""
    goals: dict[str, Spot] = {}
    for line in rig.lines:
        for here, there in ((line.start, line.end), (line.end, line.start)):
            name, _, opening = here.partition(".")
            if name == tank and opening:
                goals.setdefault(opening, it.spot(place_of(rig, there)))
    return goals


def _ground(stage: Stage, it: Frame) -> None:
    """The ground of a side elevation, the axis of a plan, and the origin of both."""
    drawing, unit = stage.drawing, stage.paper.unit
    level = it.flat(0.0, 0.0)
    width = drawing.width
    buried = it.view == "side" and it.bottom < -1e-9
    look = "ground" if it.view == "side" and not buried else "axis"
    drawing.behind.append(Mark("line", (Spot(0.6 * unit, level.y), Spot(width - 0.6 * unit, level.y)), look))
    if look == "ground":
        x = unit
        while x < width - unit:
            drawing.behind.append(Mark("line", (Spot(x, level.y), Spot(x - 0.6 * unit, level.y + 0.6 * unit)), "hatch"))
            x += 1.2 * unit
        stage.paper.take(Rect(0, level.y - 0.4 * unit, width, drawing.height))
    top = level.y - 1.5 * unit if look == "ground" else level.y - 0.8 * unit
    drawing.behind.append(Mark("line", (Spot(level.x, top), Spot(level.x, level.y + 1.2 * unit)), "axis"))
    drawing.behind.append(Mark("disc", (level,), "origin", 0.35 * unit))
    size = stage.sheet.small
    drawing.words.append(Words(level.by(0, 1.4 * unit + size), "x = 0", size, "faint", "middle"))
    word = "ground" if it.view == "side" else "y = 0"
    drawing.words.append(Words(Spot(0.8 * unit, level.y + 1.4 * unit + size - 0.4 * unit), word, size, "faint", "start"))
    stage.paper.take(Rect(level.x - 2 * unit, level.y + 0.2 * unit, level.x + 2 * unit, level.y + 1.6 * unit + size), wall=False)
