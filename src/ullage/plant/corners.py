"""The corners of a rig on one stand: what the solver finds there of the net flow into a tank.

`ullage.plant.bounds` says which corners bound the flow, and why.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise, product
from typing import TYPE_CHECKING, Any

from ullage.hydraulics.friction import friction
from ullage.hydraulics.network import (
    BACKWARD,
    Condition,
    Integers,
    Network,
    Reals,
    Work,
    as_arrays,
    condition_of,
    work_of,
)
from ullage.hydraulics.plumbing import Plumbing
from ullage.hydraulics.solve import solve
from ullage.kernels import compiled, kernel
from ullage.plant.works import Works
from ullage.quantities import Span
from ullage.rig import shapes
from ullage.rig.model import Rig

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

BREATH, FREELY = 1e-3, 0.01
"""A tank breathes freely when this flow of air [m3/s] costs its vent less than this head of water [m]: of the
heads that drive water in a home's pipes that is less than `OUTWARD`."""


UNDER = 1e-3
"""So far below its overflow a tank is taken to be that does not breathe and does not spill [m]."""


@kernel
def extremes(
    network: Network,
    condition: Condition,
    work: Work,
    head: Reals,
    flow: Reals,
    heads: Reals,
    openings: Reals,
    speeds: Reals,
    drawn: Integers,
    led: Integers,
    kept: Integers,
    tank: int,
    bounds: Reals,
) -> int:
    """Widen bounds of one tank's net flow over the corners of one network.

    Parameters
    ----------
    network, condition, work, head, flow
        The solver's.
    heads : (H * given nodes,) [m]
        Given heads, row by row.
    openings : (H * B * R * throttles,)
        For each row of heads, and each pair of bounds, so many rows of openings.
    speeds : (S * pumps,)
        Speeds, row by row: each goes with all of the others.
    drawn, led : (L,)
        Tank that each link draws from and leads to, -1 for none.
    kept : (L,)
        1 where a link leads into an accumulator that is joined to the tank.
    tank : int
    bounds : (2 B,) [m3/s]
        Least and greatest net flow so far, pair by pair.

    Returns
    -------
    int
        Corners that the solver did not settle; their flows are not in the bounds.
    """
    free, throttles, pumps = network.free, len(condition.opening), len(condition.speed)
    given, pairs, lost = len(head) - free, len(bounds) // 2, 0
    picks, turns = len(heads) // given, len(speeds) // pumps if pumps else 1
    rows = len(openings) // throttles if throttles else picks * pairs
    for corner in range(rows * turns):
        row, turn = corner // turns, corner % turns
        pick, pair = row * picks // rows, row * picks * pairs // rows % pairs
        for node in range(given):
            head[free + node] = heads[pick * given + node]
        for throttle in range(throttles):
            condition.opening[throttle] = openings[row * throttles + throttle]
        for pump in range(pumps):
            condition.speed[pump] = speeds[turn * pumps + pump]
        for link in range(len(flow)):
            flow[link] = 0.0
        if solve(network, condition, head, flow, work) < 0:
            lost += 1
            continue
        net, stored = 0.0, 0.0
        for link in range(len(flow)):
            if led[link] == tank:
                net += flow[link]
            if drawn[link] == tank:
                net -= flow[link]
            if kept[link]:
                stored += flow[link]
        bounds[2 * pair] = min(bounds[2 * pair], net)
        bounds[2 * pair + 1] = max(bounds[2 * pair + 1], net + stored)
    return lost


@dataclass(frozen=True, slots=True)
class Reach:
    """What the corners of a rig reach besides health: what faults add.

    Attributes
    ----------
    of : set of str
        The parts that are at fault.
    rig : Rig or None
        The rig as the faults leave it, with another hose or a burst pipe; None: as it is.
    pressures : dict of str to float
        Greatest pressure at a supply, or of what stands against a discharge [Pa].
    leaks : dict of str to float
        Part that the line of a check valve or pump passes backward.
    narrowed : dict of (kind, name) to float
        Part of the passage that is left of a link, by kind and name of `Plumbing.link_of`.
    """

    of: frozenset[str] = frozenset()
    rig: Rig | None = None
    pressures: dict[str, float] = field(default_factory=dict)
    leaks: dict[str, float] = field(default_factory=dict)
    narrowed: dict[tuple[str, str], float] = field(default_factory=dict)


class Surfaces:
    """Where the surfaces of all tanks are on all stands, as lists: a look at them is needed very often."""

    def __init__(self, works: Works) -> None:
        first = works.integers["cell_first"]
        cells = [slice(*pair) for pair in pairwise(first)]
        self.stands = len(works.stands)
        self.volumes = [list(map(float, works.reals["cell_volume"][each])) for each in cells]
        self.depths = [list(map(float, works.reals["cell_depth"][each])) for each in cells]
        self.base = list(map(float, works.reals["base"]))
        self.upright = list(map(float, works.reals["upright_share"]))

    def depth(self, run: int, content: float) -> float:
        """Depth [m] above the middle of a tank's floor at a content [m3]."""
        volumes, depths = self.volumes[run], self.depths[run]
        at = bisect_right(volumes, content)
        if at in (0, len(volumes)):
            return depths[max(at - 1, 0)]
        share = (content - volumes[at - 1]) / (volumes[at] - volumes[at - 1])
        return depths[at - 1] + share * (depths[at] - depths[at - 1])

    def height(self, run: int, content: float) -> float:
        """Height of the surface [m] at a content [m3]."""
        return self.base[run] + self.upright[run] * self.depth(run, content)


class Site:
    """The network on one stand, with what faults add, ready for the solver.

    Parameters
    ----------
    surfaces : Surfaces
        Of the tanks on all stands.
    works : Works
        Whose lines are laid.
    laid : Plumbing
        As they are laid on this stand.
    reach : Reach
    stand : int
    """

    def __init__(self, surfaces: Surfaces, works: Works, laid: Plumbing, reach: Reach, stand: int) -> None:
        self.surfaces, self.works, self.rig, self.laid = surfaces, works, works.rig, laid
        self.reach, self.stand = reach, stand
        network = laid.network
        condition = condition_of(network)
        for part, leak in reach.leaks.items():
            condition.leak[self.laid.part_link[part]] = leak
        for link, clear in reach.narrowed.items():
            if link in self.laid.link_of:
                condition.clear[self.laid.link_of[link]] = clear
        self.network: Network = as_arrays(network)
        self.condition: Condition = as_arrays(condition)
        self.work: Work = as_arrays(work_of(network))
        self.tanks = list(self.rig.tanks)
        self._nearby: dict[str, set[int]] = {}
        self._ledgers: dict[tuple[str, frozenset[str]], tuple[NDArray[Any], ...]] = {}

    def widen(
        self,
        bounds: NDArray[float64],
        tank: str,
        openings: NDArray[float64],
        pumps: frozenset[str],
        joined: frozenset[str],
        content: Span,
    ) -> int:
        """Widen the bounds (sets, 2) of a tank's net flow by all its openings; return the corners without answer."""
        import numpy as np

        heads = self._heads(tank, content)
        lost = compiled(extremes)(
            self.network,
            self.condition,
            self.work,
            np.zeros(len(self.network.elevation)),
            np.zeros(len(self.network.start)),
            heads.reshape(-1),
            openings,
            self._speeds(pumps).reshape(-1),
            *self._ledger(tank, joined),
            self.tanks.index(tank),
            bounds.reshape(-1),
        )
        return int(lost)

    def beside(self, tank: str) -> frozenset[str]:
        """Motor valves and pumps in the parts of the network that end at a tank or at a tap above it."""
        near = self._near(tank)
        gates = {name for name, valve in self.rig.valves.items() if valve.motor} | set(self.rig.pumps)
        return frozenset(name for name in gates if self.laid.part_link[name] in near)

    def parts(self, tank: str) -> frozenset[str]:
        """Parts in the parts of the network that end at a tank or at a tap above it."""
        near = self._near(tank)
        lines = [line for at, line in enumerate(self.rig.lines) if at in near]
        ends = {end.partition(".")[0] for line in lines for end in (line.start, line.end)}
        return frozenset(ends).union(*(line.through for line in lines))

    def joined(self, tank: str, shut: frozenset[str]) -> frozenset[str]:
        """Accumulators that are joined to a tank, or to a tap above it, while these motor valves are shut."""
        laid, at = self.laid, self.tanks.index(tank)
        drawn, led = self.works.integers["drawn_from"], self.works.integers["led_to"]
        # No water of an accumulator comes through another tank, however that one breathes.
        gases = {laid.nodes["gas", name] for name in self.tanks}
        ways = [way for link in self._open_links(shut) for way in self._directed(link)]
        coming, wider = set[int](), {link for link, _, _ in ways if at in (drawn[link], led[link])}
        while wider != coming:
            coming = wider
            sources = {start for link, start, _ in ways if link in coming} - gases
            wider = coming | {link for link, _, end in ways if end in sources}
        return frozenset(name for name in self.rig.accumulators if laid.link_of["neck", name] in coming)

    def _directed(self, link: int) -> Iterator[tuple[int, int, int]]:
        """A link with the nodes that water can come from and go to through it, each way that it can."""
        start, end = int(self.laid.network.start[link]), int(self.laid.network.end[link])
        yield link, start, end
        if self.laid.network.way[link] & BACKWARD or self.condition.leak[link] > 0.0:
            yield link, end, start

    def _ledger(self, tank: str, joined: frozenset[str]) -> tuple[NDArray[Any], ...]:
        """Tank at each end of each link; what a joined accumulator takes counts as in the tank already."""
        import numpy as np

        if (tank, joined) not in self._ledgers:
            links = len(self.network.start)
            ends = (self.works.integers[column][:links] for column in ("drawn_from", "led_to"))
            drawn, led = (np.array([row if row < len(self.tanks) else -1 for row in end]) for end in ends)
            kept = np.zeros(links, dtype=np.int64)
            # A pipe that bursts may part an accumulator from a pump, or leave springy pipes behind one that had it.
            kept[[link for (kind, name), link in self.laid.link_of.items() if kind == "neck" and name in joined]] = 1
            self._ledgers[tank, joined] = drawn, led, kept
        return self._ledgers[tank, joined]

    def _near(self, tank: str) -> set[int]:
        """Links of the parts of the network that end at a tank or at a tap above it.

        Such a part ends at any other tank that breathes freely; any other one passes on what presses into it.
        """
        if tank not in self._nearby:
            gases = {self.laid.nodes["gas", name] for name in self.tanks if self._breathes(name)}
            start, end, free = self.laid.network.start, self.laid.network.end, self.laid.network.free
            links, at = self._open_links(), self.tanks.index(tank)
            drawn, led = self.works.integers["drawn_from"], self.works.integers["led_to"]
            near, wider = set[int](), {link for link in links if at in (drawn[link], led[link])}
            while wider != near:
                near = wider
                inner = {n for link in near for n in (start[link], end[link]) if n < free and n not in gases}
                wider = near | {link for link in links if start[link] in inner or end[link] in inner}
            self._nearby[tank] = near
        return self._nearby[tank]

    def _open_links(self, shut: frozenset[str] = frozenset()) -> list[int]:
        """Links of lines, taps and accumulators, without the lines in which one of these valves is shut."""
        joints = [link for (kind, _), link in self.laid.link_of.items() if kind in ("neck", "tap", "feed")]
        return [*(at for at, line in enumerate(self.rig.lines) if not shut.intersection(line.through)), *joints]

    def _breathes(self, name: str) -> bool:
        """Whether what runs in and out of a tank hardly changes the pressure of the air in it."""
        link = self.laid.link_of.get(("vent", name))
        if link is None or ("vent", name) in self.reach.narrowed:
            return False
        network = self.laid.network
        loss = network.resistance[link] * BREATH * BREATH
        for part in range(network.section_first[link], network.section_first[link + 1]):
            scaled = network.section_scale[part] * BREATH
            value, _ = friction(scaled, network.section_table[part], network.bend, network.cells)
            loss += network.section_head[part] * value
        return loss < FREELY

    def _stuffy(self, tank: str) -> list[int]:
        """Surfaces of the tanks beside a tank, or of itself, that do not breathe freely."""
        touched, gas, face = self._touched(tank), "gas", "face"
        near = [name for name in self.tanks if name == tank or self.laid.nodes[gas, name] in touched]
        return [self.laid.nodes[face, name] for name in near if not self._breathes(name)]

    def _rows(self, tank: str) -> list[tuple[int, ...]]:
        """Whether a tank gains most (0) or least (1) in each row of heads, then the end at which each stuffy one is."""
        own = self.laid.nodes["face", tank]
        return list(product(range(2), *(range(2 if node == own else 3) for node in self._stuffy(tank))))

    def _heads(self, tank: str, content: Span) -> NDArray[float64]:
        """Given heads (rows, given nodes) [m]."""
        import numpy as np

        free, ends, both, rows = self.laid.network.free, self._ends(tank, content), self._stuffy(tank), self._rows(tank)
        heads = np.array([self.laid.rest[free:]] * len(rows))
        for row, (way, *picks) in enumerate(rows):
            for node, pair in ends.items():
                heads[row, node - free] = pair[picks[both.index(node)] if node in both else way]
        return heads

    def _touched(self, tank: str) -> set[int]:
        """Nodes at the ends of the links beside a tank."""
        return {int(node) for link in self._near(tank) for node in (self.network.start[link], self.network.end[link])}

    def all_openings(self, tank: str, opened: list[frozenset[str]]) -> NDArray[float64]:
        """Openings for each row of heads and each set of open gates, as `extremes` takes them."""
        import numpy as np

        ways = [way for way, *_ in self._rows(tank)]
        sets = [[self._openings(tank, each, way) for each in opened] for way in range(2)]
        return np.concatenate([rows for way in ways for rows in sets[way]]).reshape(-1)

    def _ends(self, tank: str, content: Span) -> dict[int, tuple[float, ...]]:
        """Each given head that matters to a tank [m]: where the tank gains most, where least, and a third of others."""
        touched = self._touched(tank)
        ends: dict[int, tuple[float, ...]] = {}
        for name in self.tanks:
            face = self.laid.nodes["face", name]
            if name == tank:
                ends[face] = self._surface(name, content.least), self._surface(name, content.most)
            elif self.laid.nodes["gas", name] in touched:
                full = self._surface(name, self._spills_at(name))
                # Just under its overflow a tank that cannot breathe holds the pressure, which leaves by it when full.
                ends[face] = full, self._surface(name, 0.0), full - UNDER
        for name, port in self.rig.ports.items():
            node = self.laid.nodes["port", name]
            most = self.reach.pressures.get(name, port.pressure.most if port.pressure else 0.0)
            if node in touched and most > 0.0:
                base = float(self.network.elevation[node])
                ends[node] = base + self.laid.head_of(most), base
        for name, part in self.rig.accumulators.items():
            node = self.laid.nodes["accumulator", name]
            if node in touched:
                ends[node] = (float(self.network.elevation[node]) + self.laid.head_of(part.precharge),) * 2
        return ends

    def _openings(self, tank: str, passing: frozenset[str], way: int) -> NDArray[float64]:
        """Openings (rows, throttles) with these gates passing, where a tank gains most (0) or least (1)."""
        import numpy as np

        near, rig = self._near(tank), self.rig
        taps = [name for name, tap in rig.fixtures.items() if (tap.drains_to == tank) == (way == 0)]
        opened = [*taps, *sorted(passing.intersection(rig.valves))]
        by_hand = {name for name, valve in rig.valves.items() if valve.motor is None}
        choices = [by_hand.intersection(line.through) for at, line in enumerate(rig.lines) if at in near]
        choices += [{name} for name in rig.accumulators if self.laid.link_of["neck", name] in near]
        first = np.zeros(len(self.condition.opening))
        first[[self.laid.throttles[name] for name in opened]] = 1.0
        rows = [first]
        for names in filter(None, choices):
            also = [row.copy() for row in rows]
            for row in also:
                row[[self.laid.throttles[name] for name in sorted(names)]] = 1.0
            rows += also
        return np.array(rows)

    def _speeds(self, passing: frozenset[str]) -> NDArray[float64]:
        """Speeds of the pumps: those that may run stand or run."""
        import numpy as np

        ends = [
            (0.0, 1.0) if pump in passing else (0.0,)
            for pump in sorted(self.laid.pumps, key=lambda pump: self.laid.pumps[pump])
        ]
        return np.array(list(product(*ends)))

    def _spills_at(self, name: str) -> float:
        tank = self.rig.tanks[name]
        return shapes.whole(tank.shape) if tank.overflow is None else shapes.capacity(tank)

    def _surface(self, name: str, content: float) -> float:
        """Height of a tank's surface [m] at a content [m3]."""
        return self.surfaces.height(self.tanks.index(name) * self.surfaces.stands + self.stand, content)
