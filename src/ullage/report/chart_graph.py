"""A sequence as a graph of steps and transitions, read from the tables of a Program.

Backward edges become jumps, so that what is left runs downwards only; immediate dominators
then tell below which node each node is to be drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ullage.control import codes
from ullage.control.program import Program

Kind = Literal["step", "transition", "jump"]
"""What a node of a chart is; a jump is a leaf that names the step to go on with."""


@dataclass(frozen=True, slots=True)
class ActionRow:
    """One row of an action block: qualifier, what is demanded, time ("" where the qualifier has none)."""

    qualifier: str
    demand: str
    time: str


@dataclass(frozen=True, slots=True)
class Node:
    """A node of a chart.

    Attributes
    ----------
    kind : Kind
        What it is.
    text : str
        Name of the step; condition of the transition; name of the step that a jump leads to.
    initial, final : bool
        For steps.
    says : str
        What a step announces.
    actions : tuple of ActionRow
        What a step demands.
    """

    kind: Kind
    text: str
    initial: bool = False
    final: bool = False
    says: str = ""
    actions: tuple[ActionRow, ...] = ()


@dataclass(frozen=True, slots=True)
class Graph:
    """Nodes and, for each, the nodes after it in order of priority."""

    nodes: tuple[Node, ...]
    after: tuple[tuple[int, ...], ...]

    def roots(self) -> list[int]:
        """Where drawing starts: the initial steps, then whatever no edge leads to."""
        reached = {target for targets in self.after for target in targets}
        initial = [i for i, node in enumerate(self.nodes) if node.initial]
        return initial + [i for i in range(len(self.nodes)) if i not in reached and i not in initial]


def graph_of(program: Program, sequence: int) -> Graph:
    """The graph of one sequence (row of the Program)."""
    t, names = program.tables, program.names
    steps = [i for i in range(len(names.steps)) if t.step_sequence[i] == sequence]
    row = {step: i for i, step in enumerate(steps)}
    nodes = [_step(program, i) for i in steps]
    after: list[list[int]] = [[] for _ in steps]
    for i in range(t.transition_first[sequence], t.transition_first[sequence + 1]):
        for source in t.from_steps[t.from_first[i] : t.from_first[i + 1]]:
            after[row[source]].append(len(nodes))
        nodes.append(Node("transition", _condition(names.transitions[i])))
        after.append([row[target] for target in t.to_steps[t.to_first[i] : t.to_first[i + 1]]])
    return Graph(tuple(nodes), tuple(map(tuple, after)))


def _step(program: Program, step: int) -> Node:
    t, names = program.tables, program.names
    rows = []
    for action, output in enumerate(t.action_output):
        for i in range(t.association_first[action], t.association_first[action + 1]):
            if t.association_step[i] == step:
                value = names.output_values[output][t.action_value[action]]
                time = f"{t.association_ms[i] / 1000:g} s" if t.association_ms[i] else ""
                qualifier = codes.QUALIFIERS[t.association_qualifier[i]]
                rows.append(ActionRow(qualifier, f"{names.outputs[output]}: {value}", time))
    return Node(
        "step",
        names.steps[step].partition(".")[2],
        initial=bool(t.step_initial[step]),
        final=bool(t.step_final[step]),
        says=names.says[step],
        actions=tuple(rows),
    )


def _condition(written: str) -> str:
    return written.partition(" when ")[2].strip() or "true"


def with_jump(graph: Graph, source: int, target: int) -> Graph:
    """The graph with one edge replaced by a jump."""
    node = graph.nodes[target]
    leaf = Node("jump", node.text if node.kind == "step" else f"the bar '{node.text}'")
    after = list(graph.after)
    after[source] = tuple(len(graph.nodes) if other == target else other for other in after[source])
    return Graph((*graph.nodes, leaf), (*after, ()))


def downward(graph: Graph) -> tuple[Graph, tuple[int, ...]]:
    """Replace every edge that leads back by a jump.

    Returns
    -------
    Graph
        Without circles.
    tuple of int
        Its nodes in an order in which every node follows those before it.
    """
    for source, target in _backward(graph):
        graph = with_jump(graph, source, target)
    return graph, _order(graph)


def _backward(graph: Graph) -> list[tuple[int, int]]:
    """Edges to a node that is still being followed, in a depth-first walk by priority."""
    found: list[tuple[int, int]] = []
    open_nodes: set[int] = set()
    seen: set[int] = set()
    for root in [*graph.roots(), *range(len(graph.nodes))]:
        if root in seen:
            continue
        seen.add(root)
        open_nodes.add(root)
        trail = [(root, iter(graph.after[root]))]
        while trail:
            node, rest = trail[-1]
            target = next(rest, None)
            if target is None:
                open_nodes.discard(node)
                trail.pop()
            elif target in open_nodes:
                found.append((node, target))
            elif target not in seen:
                seen.add(target)
                open_nodes.add(target)
                trail.append((target, iter(graph.after[target])))
    return found


def _order(graph: Graph) -> tuple[int, ...]:
    """Nodes in topological order, those of higher priority first."""
    waiting = [0] * len(graph.nodes)
    for targets in graph.after:
        for target in targets:
            waiting[target] += 1
    ready = [i for i in reversed(range(len(graph.nodes))) if not waiting[i]]
    ready.sort(key=lambda i: not graph.nodes[i].initial, reverse=True)
    order: list[int] = []
    while ready:
        node = ready.pop()
        order.append(node)
        for target in reversed(graph.after[node]):
            waiting[target] -= 1
            if not waiting[target]:
                ready.append(target)
    assert len(order) == len(graph.nodes), "a circle was left"
    return tuple(order)


def before(graph: Graph) -> list[list[int]]:
    """For each node the nodes before it."""
    sources: list[list[int]] = [[] for _ in graph.nodes]
    for source, targets in enumerate(graph.after):
        for target in targets:
            sources[target].append(source)
    return sources


def dominators(graph: Graph, order: tuple[int, ...]) -> list[int]:
    """Immediate dominator of each node of a graph without circles; -1 where there is none.

    In topological order one pass is enough: the immediate dominator of a node is where the
    dominator chains of all nodes before it meet (Cooper, Harvey and Kennedy, 2001).
    """
    rank = {node: i for i, node in enumerate(order)}
    above = [-1] * len(graph.nodes)
    sources = before(graph)
    for node in order:
        meeting: int | None = None
        for source in sources[node]:
            meeting = source if meeting is None else _meet(meeting, source, above, rank)
        above[node] = -1 if meeting is None else meeting
    return above


def _meet(a: int, b: int, above: list[int], rank: dict[int, int]) -> int:
    while a != b:
        if a == -1 or b == -1:
            return -1
        if rank[a] > rank[b]:
            a = above[a]
        else:
            b = above[b]
    return a
