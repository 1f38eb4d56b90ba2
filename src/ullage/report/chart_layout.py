"""Where everything of a sequence chart stands.

Each node owns a block: itself, below it side by side the branches that only it leads to, below
those the nodes in which branches meet again. Blocks never overlap, so boxes never do. A line to
a meeting node goes straight down and then across; where anything stands in its way it becomes
a jump with the name of the step, and the chart is laid out anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from ullage.report.chart_graph import ActionRow, Graph, Node, before, dominators, downward, with_jump
from ullage.report.lettering import room, wrap

NAME_SIZE, TEXT_SIZE, SMALL_SIZE = 14.0, 12.0, 10.5
"""Sizes of letters [px]: names of steps; conditions and actions; announcements."""

GAP = 14.0
"""Length of a line between two parts [px]."""

COLUMN_GAP = 26.0
"""Least distance of two branches [px]."""

PAD = 8.0
"""Distance of text from its box [px]."""

STUB = 12.0
"""Length of the line between a step and its actions [px]."""

BAR = 13.0
"""Half the length of a transition's bar [px]."""

TEXT_LEAD = 20.0
"""Distance of a condition from the line it stands beside [px]."""

WRAPS = (34, 26, 20, 16)
"""Cells per line of a condition; the next narrower is tried while the chart is too wide."""

WIDE = 1000.0
"""Width that a chart keeps to where it can [px]."""

STEP_LEAST = 96.0
"""Least width of a step's box [px]."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle with its text [px]; ``part`` says what it is: step, actions, condition, jump."""

    part: str
    node: int
    x: float
    y: float
    width: float
    height: float
    lines: tuple[str, ...] = ()
    small: tuple[str, ...] = ()
    rows: tuple[ActionRow, ...] = ()

    def shifted(self, x: float, y: float) -> Box:
        """The same box elsewhere."""
        return replace(self, x=self.x + x, y=self.y + y)


@dataclass(frozen=True, slots=True)
class Run:
    """A straight line [px]; double for parallel branches; ``to`` is the node it leads to."""

    x1: float
    y1: float
    x2: float
    y2: float
    double: bool = False
    to: int = -1


@dataclass(frozen=True, slots=True)
class Item:
    """A node with its boxes, its axis at x = 0 and its top at y = 0 [px]; it leads on from ``exit``."""

    boxes: tuple[Box, ...]
    left: float
    right: float
    height: float
    exit: float


@dataclass(slots=True)
class Block:
    """What stands below a node: its extents about its axis, and where its children stand [px]."""

    left: float
    right: float
    height: float
    children: dict[int, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Layout:
    """A chart laid out [px]."""

    graph: Graph
    boxes: tuple[Box, ...]
    runs: tuple[Run, ...]
    bars: dict[int, tuple[float, float]]
    width: float
    height: float


def lay_out(graph: Graph) -> Layout:
    """Lay a graph out, with narrower conditions where it would be too wide."""
    layouts = (_settled(graph, most) for most in WRAPS)
    best = next(layouts)
    while best.width > WIDE and (narrower := next(layouts, None)) is not None:
        best = min(best, narrower, key=lambda layout: layout.width)
    return best


def _settled(graph: Graph, most: int) -> Layout:
    """Lay out again and again, each time with the longest blocked line replaced by a jump."""
    graph, order = downward(graph)
    while True:
        placed = _Placed(graph, order, most)
        blocked = placed.blocked()
        if not blocked:
            return placed.layout()
        graph, order = downward(with_jump(graph, *blocked[-1]))


class _Placed:
    """One attempt: items, blocks and axes of every node."""

    def __init__(self, graph: Graph, order: tuple[int, ...], most: int) -> None:
        self.graph, self.order = graph, order
        self.sources = before(graph)
        self.above = dominators(graph, order)
        self.items = [_item(i, node, most) for i, node in enumerate(graph.nodes)]
        self.blocks = self._blocks()
        self.at = self._axes()
        self.boxes = tuple(box.shifted(*self.at[i]) for i in order for box in self.items[i].boxes)

    def joins(self, node: int) -> list[int]:
        """Meeting nodes that stand below a node's branches."""
        return [i for i in self.order if self.above[i] == node and len(self.sources[i]) > 1]

    def branches(self, node: int) -> list[int]:
        """Nodes that only this one leads to, in order of priority."""
        return [i for i in self.graph.after[node] if len(self.sources[i]) == 1]

    def _blocks(self) -> list[Block]:
        blocks = [Block(item.left, item.right, item.height) for item in self.items]
        for node in reversed(self.order):
            self._stack(node, blocks)
        return blocks

    def _stack(self, node: int, blocks: list[Block]) -> None:
        block, item = blocks[node], self.items[node]
        branches, joins = self.branches(node), self.joins(node)
        below = max((blocks[i].right for i in joins), default=0.0)
        y = item.height + (GAP if len(self.graph.after[node]) == 1 else 2 * GAP)
        x, bottom = 0.0, item.height
        for i, child in enumerate(branches):
            if i:
                if self._leaves(child, joins[:1]):
                    x = max(x, below + COLUMN_GAP - blocks[child].left)
                x += blocks[child].left
            block.children[child] = (x, y)
            block.left = max(block.left, blocks[child].left - x)
            block.right = max(block.right, x + blocks[child].right)
            bottom = max(bottom, y + blocks[child].height)
            x += blocks[child].right + COLUMN_GAP
        for child in joins:
            block.children[child] = (0.0, bottom + 3 * GAP)
            block.left = max(block.left, blocks[child].left)
            block.right = max(block.right, blocks[child].right)
            bottom += 3 * GAP + blocks[child].height
        block.height = max(block.height, bottom)

    def _leaves(self, branch: int, first_join: list[int]) -> bool:
        """Whether a line leads from a branch past the first meeting node below it."""
        inside = {branch}
        for node in self.order:
            if self.above[node] in inside:
                inside.add(node)
        targets = {target for node in inside for target in self.graph.after[node]}
        return bool(targets - inside - set(first_join))

    def _axes(self) -> list[tuple[float, float]]:
        at = [(0.0, 0.0)] * len(self.graph.nodes)
        x = COLUMN_GAP
        tops = [i for i in self.order if self.above[i] == -1]
        y_meeting = COLUMN_GAP
        for node in (i for i in tops if len(self.sources[i]) < 2):
            at[node] = (x + self.blocks[node].left, COLUMN_GAP)
            x += self.blocks[node].left + self.blocks[node].right + COLUMN_GAP
            y_meeting = max(y_meeting, COLUMN_GAP + self.blocks[node].height)
        for node in (i for i in tops if len(self.sources[i]) > 1):
            at[node] = (COLUMN_GAP + max(self.blocks[i].left for i in tops), y_meeting + 3 * GAP)
            y_meeting += 3 * GAP + self.blocks[node].height
        for node in self.order:
            for child, (dx, dy) in self.blocks[node].children.items():
                at[child] = (at[node][0] + dx, at[node][1] + dy)
        return at

    def blocked(self) -> list[tuple[int, int]]:
        """Edges to meeting nodes that something stands in the way of, the shortest first."""
        lines = {(s, j): self._line(s, j) for j in self.order if len(self.sources[j]) > 1 for s in self.sources[j]}
        fixed = [run for node in self.order for run in self._down(node)]
        found = []
        for edge, runs in lines.items():
            others = [run for other, more in lines.items() if other[1] != edge[1] for run in more]
            if any(self._hits_box(run, edge) for run in runs) or any(
                _cross(run, other) for run in runs for other in [*others, *(f for f in fixed if f.to != edge[0])]
            ):
                found.append(edge)
        return sorted(found, key=lambda edge: (sum(_length(run) for run in lines[edge]), edge))

    def _hits_box(self, run: Run, edge: tuple[int, int]) -> bool:
        return any(_through(run, box) for box in self.boxes if box.node not in edge)

    def _exit(self, node: int) -> tuple[float, float]:
        return self.at[node][0], self.at[node][1] + self.items[node].exit

    def _line(self, source: int, join: int) -> list[Run]:
        """Down from a source, across above a meeting node."""
        (x1, y1), (x2, y2) = self._exit(source), self.at[join]
        across = y2 - 1.5 * GAP
        return [Run(x1, y1, x1, across, to=join), Run(min(x1, x2), across, max(x1, x2), across, to=join)]

    def _down(self, node: int) -> list[Run]:
        """Lines from a node to its branches, with the line across where there are several ways on."""
        ways = self.graph.after[node]
        branches = self.branches(node)
        if not branches:
            return []
        x, y = self._exit(node)
        if len(ways) == 1:
            return [Run(x, y, x, self.at[branches[0]][1], to=branches[0])]
        across = self.at[branches[0]][1] - GAP
        double = self.graph.nodes[node].kind == "transition"
        last = max(self.at[i][0] for i in branches)
        runs = [Run(x, y, x, across, to=node)]
        if last > x:
            runs.append(Run(x - (BAR if double else 0), across, last + (BAR if double else 0), across, double, node))
        return runs + [Run(self.at[i][0], across, self.at[i][0], self.at[i][1], to=i) for i in branches]

    def layout(self) -> Layout:
        """The finished chart."""
        runs = [run for node in self.order for run in self._down(node)]
        for join in (i for i in self.order if len(self.sources[i]) > 1):
            runs += self._meeting(join)
        bars = {i: (self.at[i][0], self.at[i][1] + self.items[i].height / 2) for i in self.order if self._is_bar(i)}
        runs += [Run(x, self.at[i][1], x, self.at[i][1] + self.items[i].height, to=i) for i, (x, _) in bars.items()]
        width = max(box.x + box.width for box in self.boxes) + COLUMN_GAP
        height = max(box.y + box.height for box in self.boxes) + COLUMN_GAP
        width = max(width, *(max(run.x1, run.x2) + COLUMN_GAP for run in runs)) if runs else width
        return Layout(self.graph, self.boxes, tuple(runs), bars, width, height)

    def _is_bar(self, node: int) -> bool:
        return self.graph.nodes[node].kind == "transition"

    def _meeting(self, join: int) -> list[Run]:
        x, y = self.at[join]
        across = y - 1.5 * GAP
        double = self._is_bar(join)
        runs = [self._line(source, join)[0] for source in self.sources[join]]
        ends = [run.x1 for run in runs] + [x]
        reach = BAR if double else 0.0
        runs.append(Run(min(ends) - reach, across, max(ends) + reach, across, double, join))
        return [*runs, Run(x, across, x, y, to=join)]


def _item(index: int, node: Node, most: int) -> Item:
    if node.kind == "step":
        return _step_item(index, node)
    lines = wrap(node.text, most)
    width, height = room(lines, TEXT_SIZE)
    if node.kind == "jump":
        box = Box("jump", index, -width / 2 - PAD / 2, GAP, width + PAD, height + PAD / 2, lines)
        return Item((box,), -box.x, -box.x, box.y + box.height, 0.0)
    height = max(height, GAP)
    box = Box("condition", index, TEXT_LEAD, 0.0, width, height, lines)
    return Item((box,), BAR, TEXT_LEAD + width, height, height)


def _step_item(index: int, node: Node) -> Item:
    name = wrap(node.text, 18)
    small = wrap(node.says, 24) if node.says.strip() else ()
    if node.final:
        small = (*small, "(last step)")
    name_width, name_height = room(name, NAME_SIZE)
    small_width, small_height = room(small, SMALL_SIZE)
    border = 4.0 if node.initial else 0.0
    width = max(STEP_LEAST, max(name_width, small_width) + 2 * (PAD + border))
    height = name_height + small_height + 2 * (PAD + border)
    boxes = [Box("step", index, -width / 2, 0.0, width, height, name, small)]
    right, bottom = width / 2, height
    if node.actions:
        columns = action_columns(node.actions)
        tall = len(node.actions) * row_height()
        actions = Box("actions", index, right + STUB, 0.0, sum(columns), tall, rows=node.actions)
        boxes.append(actions)
        right, bottom = actions.x + actions.width, max(bottom, actions.height)
    return Item(tuple(boxes), width / 2, right, bottom, height)


def action_columns(rows: Sequence[ActionRow]) -> tuple[float, float, float]:
    """Widths of the columns of an action block: qualifier, demand, time [px] (0 for no times at all)."""
    texts = zip(*((row.qualifier, row.demand, row.time) for row in rows), strict=True)
    widths = [room(tuple(column), TEXT_SIZE)[0] for column in texts]
    first, second, third = (width + 2 * PAD * 0.75 if width else 0.0 for width in widths)
    return first, second, third


def row_height() -> float:
    """Height of one row of an action block [px]."""
    return TEXT_SIZE * 1.35 + PAD * 0.75


def _length(run: Run) -> float:
    return abs(run.x2 - run.x1) + abs(run.y2 - run.y1)


def _through(run: Run, box: Box) -> bool:
    """Whether a line runs through a box, or closer than 3 px past it."""
    near = 3.0
    return (
        max(run.x1, run.x2) > box.x - near
        and min(run.x1, run.x2) < box.x + box.width + near
        and max(run.y1, run.y2) > box.y - near
        and min(run.y1, run.y2) < box.y + box.height + near
    )


def _cross(a: Run, b: Run) -> bool:
    """Whether two lines along the axes touch."""
    return (
        min(a.x1, a.x2) <= max(b.x1, b.x2)
        and min(b.x1, b.x2) <= max(a.x1, a.x2)
        and min(a.y1, a.y2) <= max(b.y1, b.y2)
        and min(b.y1, b.y2) <= max(a.y1, a.y2)
    )
