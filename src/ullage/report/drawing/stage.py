"""One view in the making: joints and parts take their places on the sheet, trains between them, lines last."""

from __future__ import annotations

from dataclasses import dataclass

from ullage.report.drawing.paper import Node, Paper
from ullage.report.drawing.routing import ANY, BEND, STEPS, Router, Wire, corners
from ullage.report.drawing.scene import Drawing, Drawn, Rect, Run, Spot, around
from ullage.report.drawing.sheet import Sheet
from ullage.report.drawing.train import Block, Slot, drawn
from ullage.rig.model import Rig

AGAINST = 3.0
"""A block that looks away from where its line comes from costs so many bends."""


@dataclass(frozen=True, slots=True)
class Joint:
    """Where lines begin and end.

    Attributes
    ----------
    node : Node
        On the grid.
    ways : tuple of int
        Directions in which lines may leave it (`ullage.report.drawing.routing.STEPS`).
    tail : tuple of Spot
        From its node on to where the line really ends [px].
    gate : int
        Its number, from 2 on.
    """

    node: Node
    ways: tuple[int, ...]
    tail: tuple[Spot, ...]
    gate: int


@dataclass(frozen=True, slots=True)
class Placed:
    """A train in its place."""

    line: int
    slots: tuple[Slot, ...]
    block: Block
    inlet: Node

    @property
    def outlet(self) -> Node:
        """Its far end."""
        along, length = self.block.along, self.block.length
        return self.inlet[0] + along[0] * length, self.inlet[1] + along[1] * length

    @property
    def way(self) -> int:
        """Its direction as a number."""
        return STEPS.index(self.block.along)


class Stage:
    """A sheet that is being filled."""

    def __init__(self, rig: Rig, sheet: Sheet, drawing: Drawing) -> None:
        self.rig, self.sheet, self.drawing = rig, sheet, drawing
        self.paper = Paper(drawing.width, drawing.height, sheet.unit)
        self.joints: dict[str, Joint] = {}
        self.trains: dict[int, Placed] = {}
        self.spurs: list[tuple[str, Node, tuple[int, int], float]] = []

    def put(self, part: Drawn, wall: bool = True) -> None:
        """Draw a part and keep its room."""
        self.drawing.parts.append(part)
        for box in part.boxes:
            self.paper.take(box, wall)

    def join(self, name: str, node: Node, ways: tuple[int, ...] = ANY, clear: int = 1, tail: tuple[Spot, ...] = ()) -> None:
        """Make a joint; the nodes next to it are kept for its own lines."""
        gate = len(self.joints) + 2
        self.joints[name] = Joint(node, ways, tail or (self.paper.spot(node),), gate)
        for way in ways:
            self.paper.gate(node, STEPS[way], clear, gate)

    def seat(self, line: int, slots: tuple[Slot, ...], blocks: list[Block]) -> bool:
        """Find the cheapest place for a train among some blocks; whether there is any."""
        ends = self.rig.lines[line]
        start, end = self.joints[ends.start], self.joints[ends.end]
        best: tuple[float, Node, Block] | None = None
        for block in blocks:
            across, down = _Cost(start, end, block, 0), _Cost(start, end, block, 1)
            found = self.paper.best(around(block.boxes), across.at, down.at)
            if found is not None and (best is None or found[0] < best[0] - 1e-9):
                best = *found, block
        if best is None:
            return False
        self.place(line, slots, best[2], best[1])
        return True

    def place(self, line: int, slots: tuple[Slot, ...], block: Block, inlet: Node) -> None:
        """Put a train where it is to stand."""
        self.trains[line] = placed = Placed(line, slots, block, inlet)
        at = self.paper.spot(inlet)
        boxes = [Rect(b.x1 + at.x, b.y1 + at.y, b.x2 + at.x, b.y2 + at.y) for b in block.boxes]
        for box in boxes:
            self.paper.take(box)
        self.paper.take(around(boxes), wall=False)
        self.drawing.parts += drawn(slots, block, at, self.sheet)
        for node, sign in ((inlet, -1), (placed.outlet, 1)):
            number = 1000 + 2 * line + (sign > 0)
            self.paper.gate(node, (sign * block.along[0], sign * block.along[1]), 1, number)

    def spur(self, joint: str, node: Node, along: tuple[int, int], reach: float) -> None:
        """Join what stands at a node, looking along a direction and so far on [px], to a joint."""
        self.paper.gate(node, (-along[0], -along[1]), 1, 900 + len(self.spurs))
        self.spurs.append((joint, node, along, reach))

    def connect(self, looks: dict[int, tuple[str, str]]) -> None:
        """Lay all lines.

        Parameters
        ----------
        looks : dict
            For each line how it looks before and behind its heater, if it has one.
        """
        wires: list[tuple[int, int, Wire]] = []
        for line, ends in enumerate(self.rig.lines):
            wires += [(line, *part) for part in self._wires(line, ends.start, ends.end)]
        wires += [(-1, i, self._spur(i)) for i in range(len(self.spurs))]
        ends_at = [joint.node for joint in self.joints.values()]
        ends_at += [node for train in self.trains.values() for node in (train.inlet, train.outlet)]
        ends_at += [spur[1] for spur in self.spurs]
        router = Router(self.paper, ends_at)
        router.lay([wire for _, _, wire in wires])
        for line in range(len(self.rig.lines)):
            legs = {leg: wire.path for at, leg, wire in wires if at == line}
            self.drawing.runs += self._runs(line, legs, *looks[line])
        for _, i, wire in (found for found in wires if found[0] < 0):
            joint, node, along, reach = self.spurs[i]
            last = self.paper.spot(node).by(reach * along[0], reach * along[1])
            points = _joined(self._spots(wire.path), (last,))
            self.drawing.runs.append(Run(-1, points, looks_of(self.rig, joint, looks)))
        self.drawing.dots += self._dots([wire for _, _, wire in wires])

    def _wires(self, line: int, start: str, end: str) -> list[tuple[int, Wire]]:
        """The connections of a line: from its start to its train and on, or straight on."""
        a, b = self.joints[start], self.joints[end]
        train = self.trains.get(line)
        if train is None:
            arrives = tuple((way + 2) % 4 for way in b.ways)
            return [(2, Wire(a.node, b.node, a.ways, arrives, start, (a.gate, b.gate)))]
        way, number = train.way, 1000 + 2 * line
        return [
            (0, Wire(a.node, train.inlet, a.ways, (way,), start, (a.gate, number))),
            (1, Wire(b.node, train.outlet, b.ways, ((way + 2) % 4,), end, (b.gate, number + 1))),
        ]

    def _spur(self, number: int) -> Wire:
        joint, node, along, _ = self.spurs[number]
        at = self.joints[joint]
        return Wire(at.node, node, at.ways, (STEPS.index(along),), joint, (at.gate, 900 + number))

    def _runs(self, line: int, legs: dict[int, list[Node]], before: str, behind: str) -> list[Run]:
        ends = self.rig.lines[line]
        head, foot = self.joints[ends.start].tail[::-1], self.joints[ends.end].tail
        if 2 in legs:
            return [Run(line, _joined(head, self._spots(legs[2]), foot), before)]
        first, last = self._spots(legs[0]), self._spots(legs[1][::-1])
        if before == behind:
            return [Run(line, _joined(head, first, last, foot), before)]
        train = self.trains[line]
        at = next(i for i, slot in enumerate(train.slots) if slot.kind == "heaters")
        split = self.paper.spot(train.inlet).by(
            *(abs(train.block.centres[at]) * step for step in train.block.along)
        )
        return [Run(line, _joined(head, first, (split,)), before), Run(line, _joined((split,), last, foot), behind)]

    def _spots(self, path: list[Node]) -> tuple[Spot, ...]:
        return tuple(self.paper.spot(node) for node in path)

    def _dots(self, wires: list[Wire]) -> list[Spot]:
        """Where lines of one joint part."""
        beside: dict[tuple[str, Node], set[Node]] = {}
        for wire in wires:
            for a, b in zip(wire.path, wire.path[1:], strict=False):
                beside.setdefault((wire.joint, a), set()).add(b)
                beside.setdefault((wire.joint, b), set()).add(a)
        return [self.paper.spot(node) for (_, node), others in beside.items() if len(others) > 2]


def looks_of(rig: Rig, joint: str, looks: dict[int, tuple[str, str]]) -> str:
    """How what hangs at a joint looks: like a line that begins or ends there."""
    for line, ends in enumerate(rig.lines):
        if ends.end == joint:
            return looks[line][1]
        if ends.start == joint:
            return looks[line][0]
    return "cold"


def _joined(*stretches: tuple[Spot, ...]) -> tuple[Spot, ...]:
    """Stretches one after the other, with only their ends and bends."""
    spots: list[Spot] = []
    for spot in (spot for stretch in stretches for spot in stretch):
        if spots and abs(spot.x - spots[-1].x) + abs(spot.y - spots[-1].y) < 1e-6:
            continue
        while len(spots) > 1 and _straight(spots[-2], spots[-1], spot):
            spots.pop()
        spots.append(spot)
    return tuple(spots)


def _straight(a: Spot, b: Spot, c: Spot) -> bool:
    return (a.x == b.x == c.x and (b.y - a.y) * (c.y - b.y) > 0) or (a.y == b.y == c.y and (b.x - a.x) * (c.x - b.x) > 0)


class _Cost:
    """What a place for a block costs by one of its coordinates: the way to both ends, its bends, looking away."""

    def __init__(self, start: Joint, end: Joint, block: Block, axis: int) -> None:
        self.along = block.along[axis]
        self.far = block.along[axis] * block.length
        self.pins = ((start, 1), (end, -1))
        self.axis = axis

    def at(self, place: int) -> float:
        """The cost with the inlet in a column or row."""
        cost = 0.0
        for (joint, sign), pin in zip(self.pins, (place, place + self.far), strict=True):
            off = pin - joint.node[self.axis]
            cost += abs(off)
            if self.along and off * self.along * sign <= 0:
                cost += AGAINST * BEND
            if not self.along and off:
                cost += BEND
            if len(joint.ways) == 1 and (way := STEPS[joint.ways[0]][self.axis]):
                if off * way <= 0:
                    cost += AGAINST * BEND
            elif len(joint.ways) == 1 and off:
                cost += BEND
        return cost
