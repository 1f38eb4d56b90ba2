"""The rig to scale, from the side and from above."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from ullage.report.drawing import fixed, foot, tank_names, vessels
from ullage.report.drawing.frame import Frame, frame
from ullage.report.drawing.labels import DRIVEN, METERED, Labels
from ullage.report.drawing.lines import run_lines
from ullage.report.drawing.outline import View
from ullage.report.drawing.scene import Drawing, Mark, Rect, Spot, Words
from ullage.report.drawing.sheet import SHEETS, Sheet, SheetName
from ullage.report.drawing.stage import Stage
from ullage.report.drawing.train import DOWN, lay_out, parted
from ullage.report.lettering import printable
from ullage.report.listing import counted
from ullage.report.quantity_words import System
from ullage.rig.model import Rig
from ullage.rig.names import IN_LINE, place_of
from ullage.rig.shapes import capacity, depth

VIEW_WORDS = {"side": "side elevation, seen from the right", "plan": "plan, seen from above"}
"""The views in words."""


def first_depths(rig: Rig) -> dict[str, float]:
    """Depth of each tank as a rig starts [m]."""
    return {
        name: depth(tank.shape, tank.starts_with * capacity(tank)) if tank.starts_with else 0.0
        for name, tank in rig.tanks.items()
    }


def about(rig: Rig) -> str:
    """What a drawing holds, for those who listen to it."""
    counts = ((len(rig.tanks), "tank"), (len(rig.lines), "line"), (len(rig.valves), "valve"), (len(rig.pumps), "pump"))
    return ", ".join(counted(count, what) for count, what in counts if count)


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
    best: Drawing | None = None
    for room in SHEETS[sheet].rooms:
        drawing = _attempt(rig, view, whole, SHEETS[sheet], units, room)
        if best is not None and drawing.trespasses >= best.trespasses:
            break
        best = drawing
        if not drawing.trespasses:
            break
    assert best is not None
    return best


def _attempt(rig: Rig, view: View, depths: Mapping[str, float], sheet: Sheet, units: System, above: int) -> Drawing:
    """Draw a rig with so much room over it."""
    shown: dict[str, tuple[str, ...]] = {"names": IN_LINE, "numbers": METERED, "none": DRIVEN}
    labels = Labels(rig, sheet, units, shown[sheet.letters])
    it = frame(rig, view, sheet, above * sheet.unit, sheet.under * sheet.unit)
    lack = _longest(labels) * sheet.unit - it.origin.y
    if lack > 0:
        it = frame(rig, view, sheet, above * sheet.unit + lack, sheet.under * sheet.unit)
    tall = it.origin.y + sheet.under * sheet.unit
    title = f"{printable(rig.rig)}: {VIEW_WORDS[view]}"
    drawing = Drawing(view, title, about(rig), sheet.width, tall)
    stage = Stage(rig, sheet, drawing)
    _ground(stage, it)
    finish = _stand(stage, labels, it, depths)
    run_lines(stage, labels)
    for each in finish:
        each()
    foot.close(stage, labels, it)
    return drawing


def _longest(labels: Labels) -> float:
    """Height that the longest train needs when it stands upright, with room for its line at both ends [units]."""
    trains = [parted(labels.slots(line))[1] for line in labels.rig.lines]
    return max((lay_out(slots, labels.sheet, DOWN).length + 4.0 for slots in trains if slots), default=0.0)


def _stand(stage: Stage, labels: Labels, it: Frame, depths: Mapping[str, float]) -> list[Callable[[], None]]:
    """Everything that has its place; what is given back draws what waits for its line."""
    rig = stage.rig
    tanks = [vessels.vessel(name, tank, it) for name, tank in rig.tanks.items()]
    parts = [vessels.draw(stage, labels, tank, depths[tank.name]) for tank in tanks]
    for tank in tanks:
        vessels.nozzles(stage, tank, _goals(rig, it, tank.name))
    middle = it.flat(0.5 * (it.left + it.right), it.bottom).x
    for name, port in rig.ports.items():
        tip = it.spot(port.at)
        sides = (0, 2, 3, 1) if tip.x >= middle else (2, 0, 3, 1)
        fixed.port(stage, labels, name, tip, sides if stage.sheet.letters == "names" else (3, *sides))
    for name, point in rig.points.items():
        fixed.point(stage, labels, name, it.spot(point.at))
    finish = [fixed.fixture(stage, labels, name, it.spot(part.at)) for name, part in rig.fixtures.items()]
    feet: dict[str, Spot] = {}
    for tank, part in zip(tanks, parts, strict=True):
        feet.update(vessels.rods(stage, tank, part))
        vessels.breathe(stage, tank, part)
        tank_names.name_tank(stage, labels, tank, part, depths[tank.name])
    for name in rig.points:
        fixed.point_name(stage, labels, name)
    fixed.instruments(stage, labels, feet)
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
    size = stage.sheet.small
    low = level.y + 1.4 * unit + size if look == "ground" else drawing.height - 0.4 * unit
    top = level.y - 1.5 * unit if it.view == "side" else 0.6 * unit
    drawing.behind.append(Mark("line", (Spot(level.x, top), Spot(level.x, low - size)), "axis"))
    drawing.behind.append(Mark("disc", (level,), "origin", 0.35 * unit))
    drawing.words.append(Words(Spot(level.x, low), "x = 0", size, "faint", "middle"))
    word = "ground" if look == "ground" else "z = 0" if it.view == "side" else "y = 0"
    drawing.words.append(Words(Spot(width - 0.8 * unit, level.y + unit + size), word, size, "faint", "end"))
    for words in drawing.words:
        stage.paper.take(words.box, wall=False)
