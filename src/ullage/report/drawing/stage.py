"""One view in the making: joints and parts take their places on the sheet, trains between them, lines last."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from ullage.report.drawing.paper import Node, Paper
from ullage.report.drawing.routing import ANY, BEND, STEPS, Router, Wire
from ullage.report.drawing.scene import Drawing, Drawn, Mark, Rect, Run, Spot, around
from ullage.report.drawing.sheet import Sheet
from ullage.report.drawing.train import Block, Slot, drawn
from ullage.rig.model import Rig

ROUNDS = 2
"""So often each train is tried elsewhere."""

TRIED = 24
"""Places that are tried for each train once all lines lie."""

PULL = 1.6
"""A train is drawn so much more to the end to which its pipes are shorter."""

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
        self.crowded = 0
        self.wires: dict[tuple[int, int], Wire] = {}
        self.router = Router(self.paper, ())
        self.bare = self.paper
        self.spurs: list[tuple[Node, Block]] = []

    def put(self, part: Drawn, wall: bool = True) -> None:
        """Draw a part and keep its room."""
        self.drawing.parts.append(part)
        for box in part.boxes:
            self.paper.take(box, wall)

    def join(
        self, name: str, node: Node, ways: tuple[int, ...] = ANY, clear: int = 1, tail: tuple[Spot, ...] = ()
    ) -> None:
        """Make a joint; the nodes next to it are kept for its own lines."""
        gate = len(self.joints) + 2
        self.joints[name] = Joint(node, ways, tail or (self.paper.spot(node),), gate)
        for way in ways:
            self.paper.gate(node, STEPS[way], clear, gate, through=len(ways) < len(ANY))

    def seat(self, line: int, slots: tuple[Slot, ...], blocks: list[Block]) -> None:
        """Put a train where it is cheapest among some blocks; half way between its ends where there is no room."""
        found = min(self._places(line, blocks), key=lambda place: place[0], default=None)
        if found is None:
            a, b = (self.joints[end].node for end in (self.rig.lines[line].start, self.rig.lines[line].end))
            block = blocks[0]
            node = self.paper.inside((a[0] + b[0]) // 2 - block.length // 2 * block.along[0], (a[1] + b[1]) // 2)
            self.crowded += 1
            self.place(line, slots, block, node)
        else:
            self.place(line, slots, found[2], found[1])

    def _places(self, line: int, blocks: list[Block], everywhere: bool = False) -> list[tuple[float, Node, Block]]:
        """The cheapest place for each of some blocks, as far as it can be guessed before lines are laid.

        Parameters
        ----------
        everywhere : bool
            Whether to look left, right, above, below and between the ends of the line, for each its own best.
        """
        ends = self.rig.lines[line]
        start, end = self.joints[ends.start], self.joints[ends.end]
        pulls = self.pulls(line)
        places = []
        for block in blocks:
            across, down = _Cost(start, end, block, 0, pulls), _Cost(start, end, block, 1, pulls)
            windows = self.windows(start.node, end.node) if everywhere else None
            found = self.paper.best(around(block.boxes), across.at, down.at, windows)
            places += [(cost, node, block) for cost, node in found]
        return places

    def pulls(self, line: int) -> tuple[float, float]:
        """How strongly a train is drawn to either end of its line: to that to which its pipes are shorter."""
        through = self.rig.lines[line].through
        others = [i for i, name in enumerate(through) if name not in self.rig.pipes]
        if not others:
            return 1.0, 1.0
        before, behind = (
            sum(self.rig.pipes[name].length for name in names if name in self.rig.pipes)
            for names in (through[: others[0]], through[others[-1] :])
        )
        return (PULL, 1.0) if before < behind else (1.0, PULL) if behind < before else (1.0, 1.0)

    def windows(self, a: Node, b: Node) -> list[tuple[range, range]]:
        """Columns and rows between two nodes, left and right of them, above and below."""
        left, right, top, foot = min(a[0], b[0]), max(a[0], b[0]), min(a[1], b[1]), max(a[1], b[1])
        columns, rows = range(self.paper.columns), range(self.paper.rows)
        return [
            (range(left, right + 1), rows),
            (range(left), rows),
            (range(right + 1, self.paper.columns), rows),
            (columns, range(top)),
            (columns, range(foot + 1, self.paper.rows)),
        ]

    def place(self, line: int, slots: tuple[Slot, ...], block: Block, inlet: Node) -> None:
        """Put a train where it is to stand, moved onto the sheet with its whole length."""
        reach = block.length * block.along[0], block.length * block.along[1]
        far = self.paper.inside(inlet[0] + reach[0], inlet[1] + reach[1])
        inlet = self.paper.inside(far[0] - reach[0], far[1] - reach[1])
        self.trains[line] = placed = Placed(line, slots, block, inlet)
        self._take(placed)

    def _take(self, train: Placed, whole: bool = True) -> None:
        at, block = self.paper.spot(train.inlet), train.block
        boxes = [Rect(b.x1 + at.x, b.y1 + at.y, b.x2 + at.x, b.y2 + at.y) for b in block.boxes]
        for box in boxes:
            self.paper.take(box)
        if whole:
            self.paper.take(around(boxes), wall=False)
        for node, sign in ((train.inlet, -1), (train.outlet, 1)):
            number = 1000 + 2 * train.line + (sign > 0)
            self.paper.gate(node, (sign * block.along[0], sign * block.along[1]), 1, number)

    def lay(self, blocks: dict[int, list[Block]]) -> None:
        """Lay all lines, and try for each train whether it stands better elsewhere.

        Parameters
        ----------
        blocks : dict
            For each train the blocks as which it could be laid out.
        """
        self.wires = {(line, leg): wire for line in range(len(self.rig.lines)) for leg, wire in self._wires(line)}
        self.router = Router(self.paper, self._ends())
        self.router.lay(list(self.wires.values()))
        before: list[Placed] = []
        for _ in range(ROUNDS):
            if before == list(self.trains.values()):
                break
            before = [self.trains[line] for line in self.trains]
            order = sorted(self.trains, key=lambda i: (-self.wires[i, 0].cost - self.wires[i, 1].cost, i))
            for line in (line for line in order if line in blocks):
                self._better(line, blocks[line])
        self._afresh(whole=False)
        for wire in self.wires.values():
            if not wire.path and not self.router.add(wire):
                self.router.force(wire)
        for wire in self.router.wires:
            for node in wire.path:
                self.paper.mark(node)

    def spur(self, joint: str, node: Node, block: Block, last: bool) -> bool:
        """Join a block that has only an inlet to a joint; whether there is a way, or none is needed for the last.

        The block takes its room only when it is joined.
        """
        empty, number = self.paper, 900 + len(self.spurs)
        self.paper = self.router.paper = empty.copy()
        at = self.paper.spot(node)
        for box in block.boxes:
            self.paper.take(Rect(box.x1 + at.x, box.y1 + at.y, box.x2 + at.x, box.y2 + at.y))
        self.paper.gate(node, (-block.along[0], -block.along[1]), 1, number)
        self.spurs.append((node, block))
        self.router.settle(self._ends())
        start = self.joints[joint]
        wire = Wire(start.node, node, start.ways, (STEPS.index(block.along),), joint, (start.gate, number))
        if not self.router.add(wire):
            if not last:
                self.spurs.pop()
                self.paper = self.router.paper = empty
                self.router.settle(self._ends())
                return False
            self.router.force(wire)
        self.wires[-1, len(self.spurs) - 1] = wire
        for step in wire.path:
            self.paper.mark(step)
        return True

    def draw(self, looks: dict[int, tuple[str, str]]) -> None:
        """Draw trains and lines.

        Parameters
        ----------
        looks : dict
            For each line how it looks before and behind its heater, if it has one.
        """
        for train in self.trains.values():
            self.drawing.parts += drawn(train.slots, train.block, self.paper.spot(train.inlet), self.sheet)
        for line in range(len(self.rig.lines)):
            self.drawing.runs += self._runs(line, *looks[line])
        for i, (node, block) in enumerate(self.spurs):
            wire, reach = self.wires[-1, i], abs(block.centres[0])
            last = self.paper.spot(node).by(reach * block.along[0], reach * block.along[1])
            points = _joined(self._spots(wire.path), (last,))
            self.drawing.runs.append(Run(-1, points, looks_of(self.rig, wire.joint, looks)))
        self.drawing.dots += self._dots(looks)
        self.drawing.trespasses = self.crowded + sum(wire.forced for wire in self.wires.values())

    def _ends(self) -> list[Node]:
        """The nodes at which lines end."""
        ends = [joint.node for joint in self.joints.values()] + [spur[0] for spur in self.spurs]
        return ends + [node for train in self.trains.values() for node in (train.inlet, train.outlet)]

    def _better(self, line: int, blocks: list[Block]) -> None:
        """Move a train to the best of the places that are cheapest for each of its blocks, all others staying."""
        router, wires, stays = self.router, self.wires, self.trains.pop(line)
        for leg in (0, 1):
            if wires[line, leg].path:
                router.remove(wires[line, leg])
        self._afresh()
        empty = self.paper.copy()
        for wire in router.wires:
            for node in wire.path:
                self.paper.mark(node)
        pulls = self.pulls(line)
        others = sorted(self._places(line, blocks, everywhere=True), key=lambda place: place[0])
        best = inf, stays
        for guess, node, block in [(0.0, stays.inlet, stays.block), *others[:TRIED]]:
            if guess >= best[0]:
                break
            self.paper = empty.copy()
            self.place(line, stays.slots, block, node)
            router.paper = self.paper
            router.settle(self._ends())
            trial = dict(self._wires(line))
            cost = _tried(router, trial, pulls, best[0] - 0.5)
            if cost < best[0]:
                best = cost, self.trains[line]
        self.trains[line] = best[1]
        self.paper = empty
        self._take(best[1])
        router.paper = self.paper
        router.settle(self._ends())
        for leg, wire in self._wires(line):
            wires[line, leg] = wire
            router.add(wire)

    def _afresh(self, whole: bool = True) -> None:
        """Take all trains anew on the sheet as it was before there were any."""
        self.paper = self.bare.copy()
        for train in self.trains.values():
            self._take(train, whole)
        self.router.paper = self.paper

    def _wires(self, line: int) -> list[tuple[int, Wire]]:
        """The connections of a line: from its start to its train and on, or straight on."""
        start, end = self.rig.lines[line].start, self.rig.lines[line].end
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

    def legs(self, line: int) -> dict[int, Wire]:
        """The connections of a line: 0 to its train, 1 from its end back to it, or 2 from end to end."""
        return {leg: self.wires[line, leg] for leg in (0, 1, 2) if (line, leg) in self.wires}

    def _runs(self, line: int, before: str, behind: str) -> list[Run]:
        legs = {leg: wire.path for leg, wire in self.legs(line).items()}
        ends = self.rig.lines[line]
        head, foot = self.joints[ends.start].tail[::-1], self.joints[ends.end].tail
        if 2 in legs:
            return [Run(line, _joined(head, self._spots(legs[2]), foot), before)]
        first, last = self._spots(legs[0]), self._spots(legs[1][::-1])
        if before == behind:
            return [Run(line, _joined(head, first, last, foot), before)]
        train = self.trains[line]
        at = next(i for i, slot in enumerate(train.slots) if slot.kind == "heaters")
        split = self.paper.spot(train.inlet).by(*(abs(train.block.centres[at]) * step for step in train.block.along))
        return [Run(line, _joined(head, first, (split,)), before), Run(line, _joined((split,), last, foot), behind)]

    def _spots(self, path: list[Node]) -> tuple[Spot, ...]:
        return tuple(self.paper.spot(node) for node in path)

    def _dots(self, looks: dict[int, tuple[str, str]]) -> list[Mark]:
        """Where lines of one joint part."""
        beside: dict[tuple[str, Node], set[Node]] = {}
        for wire in self.wires.values():
            for a, b in zip(wire.path, wire.path[1:], strict=False):
                beside.setdefault((wire.joint, a), set()).add(b)
                beside.setdefault((wire.joint, b), set()).add(a)
        radius = 0.3 * self.paper.unit
        return [
            Mark("disc", (self.paper.spot(node),), f"dot {looks_of(self.rig, joint, looks)}", radius)
            for (joint, node), others in beside.items()
            if len(others) > 2
        ]


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
    return (a.x == b.x == c.x and (b.y - a.y) * (c.y - b.y) > 0) or (
        a.y == b.y == c.y and (b.x - a.x) * (c.x - b.x) > 0
    )


def _tried(router: Router, trial: dict[int, Wire], pulls: tuple[float, float], most: float) -> float:
    """What the two ways of a train would cost, infinite when it is not less than so much."""
    far = trial[1]
    least = abs(far.start[0] - far.end[0]) + abs(far.start[1] - far.end[1])
    if not router.add(trial[0], (most - pulls[1] * least) / pulls[0]):
        return inf
    cost = pulls[0] * trial[0].cost
    if router.add(trial[1], (most - cost) / pulls[1]):
        router.remove(trial[1])
        cost += pulls[1] * trial[1].cost
    else:
        cost = inf
    router.remove(trial[0])
    return cost


class _Cost:
    """What a place for a block costs by one of its coordinates: the way to both ends, its bends, looking away."""

    def __init__(self, start: Joint, end: Joint, block: Block, axis: int, pulls: tuple[float, float]) -> None:
        self.along = block.along[axis]
        self.far = block.along[axis] * block.length
        self.pins = ((start, 1, pulls[0]), (end, -1, pulls[1]))
        self.axis = axis

    def at(self, place: int) -> float:
        """The cost with the inlet in a column or row."""
        cost = 0.0
        for (joint, sign, pull), pin in zip(self.pins, (place, place + self.far), strict=True):
            off = pin - joint.node[self.axis]
            cost += pull * abs(off)
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
