"""The flow diagram: not to scale, sources left (above on a narrow sheet), outlets right (below)."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from ullage.report.drawing import fixed, foot, tank_names, vessels
from ullage.report.drawing.frame import Frame
from ullage.report.drawing.labels import DRIVEN, Labels
from ullage.report.drawing.lines import run_lines
from ullage.report.drawing.outline import outline
from ullage.report.drawing.ranks import node_of, ranks
from ullage.report.drawing.routing import STEPS
from ullage.report.drawing.scaled import about, first_depths
from ullage.report.drawing.scene import Drawing, Rect, Spot, around
from ullage.report.drawing.sheet import SHEETS, SheetName
from ullage.report.drawing.stage import Stage
from ullage.report.drawing.train import ACROSS, BACK, DOWN, UP, Block, Slot, lay_out, parted
from ullage.report.lettering import printable, room
from ullage.report.quantity_words import System
from ullage.rig.model import Rig, Tank
from ullage.rig.names import IN_LINE
from ullage.rig.shapes import height

GAP = {"names": 2.0, "numbers": 2.0, "none": 1.0}
"""Least length of a line before and behind a train, by what letters a sheet has [units]."""

ROW_GAP = 1.0
"""Room between two rows [units]."""

SIDE = 4.0
"""Least room between two pieces side by side [units]."""

EDGE = 2.0
"""Room before the first and behind the last node [units]."""

TANK = {"names": (11.0, 7.0), "numbers": (13.0, 7.0), "none": (8.0, 5.6)}
"""Width and height of a tank by what letters a sheet has [units]."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How far something reaches from its middle [units]: against and with the flow, to its top and its foot side."""

    lead: float
    trail: float
    over: float
    under: float


class Diagram:
    """Where everything of a diagram stands, along and across the flow [units]."""

    def __init__(self, rig: Rig, labels: Labels, upright: bool) -> None:
        self.rig, self.labels, self.upright = rig, labels, upright
        self.sheet = labels.sheet
        self.tank = TANK[labels.sheet.letters]
        self.order = ranks(rig)
        self.ends = [(node_of(rig, line.start), node_of(rig, line.end)) for line in rig.lines]
        self.split = {line: parted(labels.slots(ends)) for line, ends in enumerate(rig.lines)}
        self.blocks: dict[int, Block] = {}
        for line, (_, slots, _) in self.split.items():
            ahead, behind = (DOWN, UP) if upright else (ACROSS, BACK)
            if slots:
                self.blocks[line] = lay_out(slots, self.sheet, behind if line in self.order.back else ahead)
        self.reaches = {name: self._reach(name) for name in self.order.nodes}
        self.along = self._along()
        self._pack()
        self.across, self.wide = self._across()
        self.long = max((self.along[n] + self.reaches[n].trail for n in self.order.nodes), default=0.0)

    def _name(self, slots: tuple[Slot, ...]) -> float:
        """Room for the names of pipes along the flow [units]."""
        sizes = [slot.size() for slot in slots if slot.label]
        return sum((tall if self.upright else width) / self.sheet.unit + 0.7 for width, tall in sizes)

    def _spans(self, line: int) -> tuple[float, float, float]:
        """Room along a line before its train, for it, and behind it [units]."""
        before, slots, behind = self.split[line]
        length = self.blocks[line].length if slots else 0.0
        gap = GAP[self.sheet.letters]
        return max(gap, self._name(before)), length, max(gap, self._name(behind))

    def _reach(self, name: str) -> Reach:
        rig, unit, sheet = self.rig, self.sheet.unit, self.sheet
        width = room((name,), sheet.name)[0] / unit
        if name in rig.tanks:
            sensed = sheet.letters != "none"
            bubble = (
                (sheet.bubble + (1.2 * sheet.small if sheet.letters == "names" else 0)) / unit + 1.5 if sensed else 2.2
            )
            flat = Reach(
                0.5 * self.tank[0] + 0.6,
                0.5 * self.tank[0] + 0.6,
                0.5 * self.tank[1] + bubble,
                0.5 * self.tank[1] + 2.5,
            )
            return Reach(flat.over, flat.under, flat.lead, flat.trail) if self.upright else flat
        if name in rig.ports:
            flag = width + (2 * fixed.PAD + 0.5 * (sheet.name + 8)) / unit
            flag = max(flag, room((self.labels.pressure(name),), sheet.small)[0] / unit)
            half = 0.5 * (sheet.name + 8) / unit + 0.3
            supply = rig.ports[name].kind == "supply"
            if self.upright:
                far = 1.4 * (sheet.name + 8) / unit
                return Reach(far if supply else 0.5, 0.5 if supply else far, 0.5 * flag, 0.5 * flag)
            return Reach(flag if supply else 0.5, 0.5 if supply else flag, half, half + 1.3)
        if name in rig.fixtures:
            lines = len(self.labels.label(name)) or 1
            low = 1.6 + lines * 1.3 * sheet.name / unit
            half = max(1.8, 0.5 * width + 0.3)
            return Reach(1.5, low, half, half) if self.upright else Reach(half, half, 1.4, low)
        return Reach(1.0, 1.0, 1.5, 1.5)

    def _along(self) -> dict[str, float]:
        """The place of each node along the flow: behind all that lead to it, outlets last."""
        along = {name: self.reaches[name].lead for name in self.order.nodes}
        for _ in along:
            for line, (start, end) in enumerate(self.ends):
                if line not in self.order.back and start != end:
                    step = self.reaches[start].trail + sum(self._spans(line)) + self.reaches[end].lead
                    along[end] = max(along[end], along[start] + step)
        last: dict[int, float] = {}
        for name, group in self.order.group.items():
            last[group] = max(last.get(group, 0.0), along[name] + self.reaches[name].trail)
        ports, begin = self.rig.ports, {start for start, _ in self.ends}
        last_ones = {name for name in along if name in self.rig.fixtures or name in ports} - begin
        outlets = [
            name for name in along if name in last_ones and (name not in ports or ports[name].kind == "discharge")
        ]
        for name in outlets:
            along[name] = last[self.order.group[name]] - self.reaches[name].trail
        return along

    def _pack(self) -> None:
        """Let a small piece share the rows of earlier ones, left of where those begin."""
        begins: dict[int, float] = {}
        for group in dict.fromkeys(self.order.group.values()):
            nodes = [name for name in self.order.nodes if self.order.group[name] == group]
            lines = [line for line in self.order.line_row if self.ends[line][0] in nodes]
            long = max(self.along[name] + self.reaches[name].trail for name in nodes)
            rows = sorted({*(self.order.row[n] for n in nodes), *(self.order.line_row[line] for line in lines)})
            shift = 0
            while (
                begins
                and rows[0] - shift - 1 >= 0
                and all(begins.get(row - shift - 1, long + SIDE) >= long + SIDE for row in rows)
            ):
                shift += 1
            for name in nodes:
                self.order.row[name] -= shift
                row, lead = self.order.row[name], self.along[name] - self.reaches[name].lead
                begins[row] = min(begins.get(row, lead), lead)
            for line in lines:
                self.order.line_row[line] -= shift
                row, start = self.order.line_row[line], self.along[self.ends[line][0]] - 1.0
                begins[row] = min(begins.get(row, start), start)

    def _across(self) -> tuple[dict[int, float], float]:
        """The place of each row across the flow, and how wide all of them are."""
        over: dict[int, float] = {}
        under: dict[int, float] = {}
        for name, row in self.order.row.items():
            over[row] = max(over.get(row, 0.0), self.reaches[name].over)
            under[row] = max(under.get(row, 0.0), self.reaches[name].under)
        for line, row in self.order.line_row.items():
            box = around(self.blocks[line].boxes) if line in self.blocks else Rect(0, 0, 0, 0)
            low, high = (box.x1, box.x2) if self.upright else (box.y1, box.y2)
            over[row] = max(over.get(row, 1.0), -low / self.sheet.unit)
            under[row] = max(under.get(row, 1.0), high / self.sheet.unit)
        across: dict[int, float] = {}
        edge = 1.0
        for row in sorted(over):
            across[row] = edge + over[row]
            edge = across[row] + under[row] + ROW_GAP
        return across, edge

    def spot(self, along: float, across: float, shift: float) -> Spot:
        """A place of the diagram on the sheet [px]."""
        unit = self.sheet.unit
        pair = (across + shift, along + EDGE) if self.upright else (along + EDGE + shift, across)
        return Spot(round(pair[0]) * unit, round(pair[1]) * unit)

    def at(self, name: str, shift: float) -> Spot:
        """Where a node stands on the sheet."""
        return self.spot(self.along[name], self.across[self.order.row[name]], shift)

    def seat(self, line: int, shift: float) -> Spot:
        """Where the inlet of a train stands on the sheet."""
        start, end = self.ends[line]
        before, length, behind = self._spans(line)
        row = self.across[self.order.line_row[line]]
        if line in self.order.back:
            middle = 0.5 * (self.along[start] + self.along[end])
            return self.spot(middle + 0.5 * length, row, shift)
        slack = self.along[end] - self.reaches[end].lead - self.along[start] - self.reaches[start].trail
        spare = max(slack - before - length - behind, 0.0)
        lag = spare if self.order.row[end] == self.order.line_row[line] and end not in self.rig.fixtures else 0.0
        return self.spot(self.along[start] + self.reaches[start].trail + before + 0.5 * lag, row, shift)


def flow(
    rig: Rig, depths: Mapping[str, float] | None = None, sheet: SheetName = "a4", units: System = "metric"
) -> Drawing:
    """The flow diagram of a rig.

    Parameters
    ----------
    rig : Rig
        The rig.
    depths : mapping, optional
        Depth of the water in each tank [m]; as it starts where not given.
    sheet : str
        What it is drawn on: across on a page, downwards on a telephone.
    units : str
        Units of what is written.
    """
    on = SHEETS[sheet]
    labels = Labels(rig, on, units, DRIVEN if on.letters == "none" else IN_LINE)
    upright = on.letters == "numbers"
    plan = Diagram(rig, labels, upright)
    wide, tall = (plan.wide, plan.long + 2 * EDGE) if upright else (plan.long + 2 * EDGE, plan.wide)
    width = max(wide * on.unit, on.width)
    shift = max(on.width / on.unit - wide, 0.0) / 2
    drawing = Drawing("flow", f"{printable(rig.rig)}: flow diagram, not to scale", about(rig), width, tall * on.unit)
    stage = Stage(rig, on, drawing)
    finish = _stand(stage, labels, plan, {**first_depths(rig), **(depths or {})}, shift)
    seats = {line: (block, stage.paper.node(plan.seat(line, shift))) for line, block in plan.blocks.items()}
    run_lines(stage, labels, seats)
    for each in finish:
        each()
    foot.close(stage, labels, None)
    return drawing


def _stand(
    stage: Stage, labels: Labels, plan: Diagram, depths: Mapping[str, float], shift: float
) -> list[Callable[[], None]]:
    """All nodes in their places; what is given back draws what waits for its line."""
    rig = stage.rig
    finish: list[Callable[[], None]] = []
    tanks = [(_vessel(plan, name, rig.tanks[name], shift)) for name in plan.order.nodes if name in rig.tanks]
    parts = [vessels.draw(stage, labels, it, depths[it.name]) for it in tanks]
    for it in tanks:
        _nozzles(stage, plan, it)
    for name in plan.order.nodes:
        at = plan.at(name, shift)
        if name in rig.ports:
            ways = (3, 1) if plan.upright else (2, 0)
            fixed.port(stage, labels, name, at, ways[:1] if rig.ports[name].kind == "supply" else ways[1:])
        elif name in rig.points:
            fixed.point(stage, labels, name, at)
        elif name in rig.fixtures:
            finish.append(fixed.fixture(stage, labels, name, at))
    feet: dict[str, Spot] = {}
    for it, part in zip(tanks, parts, strict=True):
        feet.update(vessels.rods(stage, it, part))
        vessels.breathe(stage, it, part)
        tank_names.name_tank(stage, labels, it, part, depths[it.name])
    fixed.instruments(stage, labels, feet)
    return finish


def _vessel(plan: Diagram, name: str, tank: Tank, shift: float) -> vessels.Vessel:
    """A tank in the size of all tanks of a diagram, in its own shape."""
    wide, tall = (side * plan.sheet.unit for side in plan.tank)
    middle = plan.at(name, shift)
    raw = outline(tank.shape, "side")
    reach = max(abs(x) for x, _ in raw)
    scale = tall / height(tank.shape)
    corners = tuple(middle.by(0.5 * wide * x / reach, 0.5 * tall - scale * up) for x, up in raw)
    box = Rect(middle.x - 0.5 * wide, middle.y - 0.5 * tall, middle.x + 0.5 * wide, middle.y + 0.5 * tall)
    floor = tank.floor_at
    frame = Frame("side", scale, floor.x, floor.z, floor.x, floor.z, Spot(middle.x, box.y2))
    return vessels.Vessel(name, tank, corners, box, frame)


def _nozzles(stage: Stage, plan: Diagram, it: vessels.Vessel) -> None:
    """The openings of a tank: what comes in on the side that the flow comes from, what leads back from above."""
    sides: dict[int, list[str]] = {}
    for opening in it.part.openings:
        end = f"{it.name}.{opening}"
        comes = [i for i, line in enumerate(plan.rig.lines) if line.end == end]
        leads = [i for i, line in enumerate(plan.rig.lines) if line.start == end]
        if not comes and not leads:
            continue
        back = any(i in plan.order.back for i in (*comes, *leads))
        ahead, behind, aside = (1, 3, 2) if plan.upright else (0, 2, 3)
        sides.setdefault(aside if back else ahead if leads else behind, []).append(opening)
    for way, openings in sides.items():
        for i, opening in enumerate(openings):
            _nozzle(stage, it, opening, way, (i + 1) / (len(openings) + 1))


def _nozzle(stage: Stage, it: vessels.Vessel, opening: str, way: int, share: float) -> None:
    unit = stage.paper.unit
    x, y = STEPS[way]
    if x:
        # A single line keeps to the middle of the tank, where its row is.
        at = Spot(it.box.x2 if x > 0 else it.box.x1, it.box.y1 + share * (it.box.y2 - it.box.y1))
    else:
        at = Spot(it.box.x1 + share * (it.box.x2 - it.box.x1), it.box.y2 if y > 0 else it.box.y1)
    column, row = stage.paper.node(at)
    node = stage.paper.inside(column + x, row + y)
    spot = stage.paper.spot(node)
    foot = Spot(it.wall(spot.y)[x > 0], spot.y) if x else Spot(spot.x, it.lid(spot.x)[y > 0])
    stage.join(f"{it.name}.{opening}", node, (way,), 2, (spot, foot))
    stage.paper.take(Rect(*spot, *spot).grown(1.6 * unit), wall=False)
