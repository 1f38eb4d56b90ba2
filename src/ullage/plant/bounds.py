"""Bounds of the net flow into a tank: what the solver finds at the extremes, rounded outward.

In a network of monotone losses what flows into a place never rises with the head of that place, and
never falls as any other given head rises (Birkhoff & Diaz 1956, non-linear network problems; from
memory). So a tank gains most with itself at its lowest, every supply at its greatest pressure and
every other tank full to its overflow, and least the other way round; an accumulator, whose water
counts as in the tank already while it is joined to it, is empty for both. A tank that does not
breathe freely is full and empty for both: what runs out of it sucks at an inlet above its water. A
tap above the tank is open where it gains most, and any other tap where it gains least. All else is
no end of the network: each line with hand valves is shut or open, each accumulator shut off or not,
each pump that may run stands or runs, in every combination, with the rig level or on any corner of
its slopes and the water at its warmest. A motor valve stands shut or passes; a pump stands, and
lets water through forward as its valves do, or runs. A gate that may do either takes the worse of
both. What the corners leave out is covered by `OUTWARD`, and a test draws states between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import chain, combinations, product
from math import inf
from typing import TYPE_CHECKING, Any

from ullage.hydraulics.build import build
from ullage.hydraulics.friction import friction
from ullage.hydraulics.network import Condition, Integers, Network, Reals, Work, as_arrays, condition_of, work_of
from ullage.hydraulics.plumbing import Plumbing, fluid_at
from ullage.hydraulics.solve import solve
from ullage.kernels import compiled, kernel
from ullage.plant.works import Works, works_of
from ullage.quantities import Span
from ullage.rig import shapes
from ullage.rig.model import Rig, Slope

if TYPE_CHECKING:
    from numpy import float64
    from numpy.typing import NDArray

OUTWARD = 0.02
"""Every bound is moved outward by this part of itself."""

BREATH, FREELY = 1e-3, 0.01
"""A tank breathes freely when this flow of air [m3/s] costs its vent less than this head of water [m]: of the
heads that drive water in a home's pipes that is less than `OUTWARD`."""


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


HEALTHY = Reach()


class Bounds:
    """Bounds of the net flow into each tank of a rig, worked out when first asked for.

    Parameters
    ----------
    rig : Rig
    outputs : sequence of str
        Names of the law's outputs, in its order.
    reach : Reach
        What faults add.
    besides : sequence of Bounds
        What must be covered too: those of health, where ``reach`` is not healthy.

    Attributes
    ----------
    works : Works
        The rig as the plant lays it out, level and on every corner of its slopes.
    unsettled : int
        Corners that the solver did not settle; a proof with any is none.
    """

    def __init__(
        self, rig: Rig, outputs: Sequence[str], reach: Reach = HEALTHY, besides: Sequence[Bounds] = ()
    ) -> None:
        self.besides = tuple(besides)
        self.works: Works = besides[0].works if besides else _works(rig, outputs)
        self.rig = self.works.rig
        self.reach = reach
        works, laid = self.works, self.works.laid
        if reach.rig is not None:
            # Surfaces are as in health whatever is wrong, so that a changed rig needs them on one stand only.
            works = works_of(reach.rig, outputs, fluid=self.works.plumbing.fluid)
            laid = tuple(build(works.rig, works.plumbing.fluid, stand) for stand in self.works.stands)
        self._sites = [_Site(self.works, works, one, reach, stand) for stand, one in enumerate(laid)]
        self.unsettled = 0
        self._gates: dict[str, frozenset[str]] = {}
        self._exact: dict[tuple[str, frozenset[str], frozenset[str], Span], Span] = {}
        self._net: dict[tuple[str, frozenset[str], Span], Span] = {}

    def net(self, tank: str, passing: frozenset[str], content: Span) -> Span:
        """Bounds of the net flow into a tank [m3/s], not less than what any state within them gives.

        Parameters
        ----------
        tank : str
        passing : set of str
            Gates that may pass or not; all others are shut, pumps among them stand.
        content : Span
            Volume in the tank [m3].
        """
        passing &= self.gates_of(tank)
        key = tank, passing, content
        if key not in self._net:
            spans = [*self._own(tank, passing, content), *(other.net(tank, passing, content) for other in self.besides)]
            self._net[key] = Span(min(span.least for span in spans), max(span.most for span in spans))
        return self._net[key]

    def widest(self, tank: str) -> Span:
        """Bounds of the net flow whatever passes, up to where the overflow begins [m3/s]."""
        return self.net(tank, self.gates_of(tank), Span(0.0, shapes.capacity(self.rig.tanks[tank])))

    def gates_of(self, tank: str) -> frozenset[str]:
        """Motor valves and pumps in the parts of the network that end at a tank or at a tap above it."""
        if tank not in self._gates:
            self._gates[tank] = self._sites[0].beside(tank).union(*(other.gates_of(tank) for other in self.besides))
        return self._gates[tank]

    def parts_of(self, tank: str) -> frozenset[str]:
        """Names of all parts in the parts of the network that end at a tank or at a tap above it, and of those taps."""
        return self._sites[0].parts(tank).union(*(other.parts_of(tank) for other in self.besides))

    def joined(self, tank: str, passing: frozenset[str]) -> frozenset[str]:
        """Accumulators whose water can come to a tank, or to a tap above it, while these gates pass."""
        shut = self.gates_of(tank).difference(passing, self.rig.pumps)
        found = (site.joined(tank, shut) for site in self._sites[:1])
        return frozenset().union(*found, *(other.joined(tank, passing) for other in self.besides))

    def all_settled(self) -> bool:
        """Whether the solver settled every corner so far."""
        return self.unsettled == 0 and all(other.all_settled() for other in self.besides)

    def runs(self, tank: str) -> range:
        """Rows of `Works` that hold the surface of a tank, stand by stand."""
        stands = len(self.works.stands)
        at = list(self.rig.tanks).index(tank)
        return range(at * stands, (at + 1) * stands)

    def depth(self, run: int, content: float) -> float:
        """Depth [m] above the middle of a tank's floor at a content [m3], on one stand."""
        return depth_on(self.works, run, content)

    def _lines(self, tank: str) -> list[frozenset[str]]:
        """Motor valves of each line beside a tank: water passes the line only when all of them pass."""
        valves = self.gates_of(tank) - frozenset(self.rig.pumps)
        lines = (valves.intersection(line.through) for line in self.rig.lines)
        return [line for line in lines if line]

    def _own(self, tank: str, passing: frozenset[str], content: Span) -> list[Span]:
        """Bounds with these gates passing or not, one for each set of lines that may be open."""
        if self.besides and not self.reach.of & self.parts_of(tank):
            return []
        pumps, joined = passing & frozenset(self.rig.pumps), self.joined(tank, passing)
        lines = [line for line in self._lines(tank) if line <= passing]
        some = chain.from_iterable(combinations(lines, count) for count in range(len(lines) + 1))
        opened = [pumps.union(*each) for each in some]
        fresh = list(dict.fromkeys(each for each in opened if (tank, each, joined, content) not in self._exact))
        if fresh:
            for each, span in zip(fresh, self._solved(tank, fresh, pumps, joined, content), strict=True):
                self._exact[tank, each, joined, content] = span
        return [self._exact[tank, each, joined, content] for each in opened]

    def _solved(
        self,
        tank: str,
        opened: list[frozenset[str]],
        pumps: frozenset[str],
        joined: frozenset[str],
        content: Span,
    ) -> list[Span]:
        """Bounds for each set of open gates, over all stands, moved outward."""
        import numpy as np

        bounds = np.array([[inf, -inf]] * len(opened))
        for site in self._sites:
            self.unsettled += site.widen(bounds, tank, opened, pumps, joined, content)
        return [Span(least - OUTWARD * abs(least), most + OUTWARD * abs(most)) for least, most in bounds.tolist()]


def _works(rig: Rig, outputs: Sequence[str]) -> Works:
    stands = list(dict.fromkeys((Slope(), *_corners(rig.slope))))
    return works_of(rig, outputs, stands, fluid_at(rig.water.most))


def depth_on(works: Works, run: int, content: float) -> float:
    """Depth [m] above the middle of a tank's floor at a content [m3], on one stand of the works."""
    import numpy as np

    first, last = works.integers["cell_first"][run : run + 2]
    return float(np.interp(content, works.reals["cell_volume"][first:last], works.reals["cell_depth"][first:last]))


def _corners(slope: Slope) -> list[Slope]:
    return [
        Slope.model_construct(ahead=ahead * slope.ahead, across=across * slope.across)
        for ahead, across in product((-1.0, 1.0), repeat=2)
    ]


class _Site:
    """The network on one stand, with what faults add, ready for the solver.

    Parameters
    ----------
    surfaces : Works
        Whose tanks stand on this stand.
    works : Works
        Whose lines are laid.
    laid : Plumbing
        As they are laid on this stand.
    reach : Reach
    stand : int
    """

    def __init__(self, surfaces: Works, works: Works, laid: Plumbing, reach: Reach, stand: int) -> None:
        self.surfaces, self.works, self.rig, self.laid = surfaces, works, works.rig, laid
        self.reach, self.stand = reach, stand
        network = laid.network
        condition = condition_of(network)
        for part, leak in reach.leaks.items():
            condition.leak[self.laid.part_link[part]] = leak
        for link, clear in reach.narrowed.items():
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
        opened: list[frozenset[str]],
        pumps: frozenset[str],
        joined: frozenset[str],
        content: Span,
    ) -> int:
        """Widen the bounds (sets, 2) of a tank's net flow for each set of open gates; return corners without answer."""
        import numpy as np

        ways, heads = self._heads(tank, content)
        openings = [self._openings(tank, each, way) for way in ways for each in opened]
        lost = compiled(extremes)(
            self.network,
            self.condition,
            self.work,
            np.zeros(len(self.network.elevation)),
            np.zeros(len(self.network.start)),
            heads.reshape(-1),
            np.concatenate(openings).reshape(-1),
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
        # No water of an accumulator comes through another tank, however that one breathes.
        near = self._grown(tank, shut, {self.laid.nodes["gas", name] for name in self.tanks})
        return frozenset(name for name in self.rig.accumulators if self.laid.link_of["neck", name] in near)

    def _ledger(self, tank: str, joined: frozenset[str]) -> tuple[NDArray[Any], ...]:
        """Tank at each end of each link; what a joined accumulator takes counts as in the tank already."""
        import numpy as np

        if (tank, joined) not in self._ledgers:
            links = len(self.network.start)
            ends = (self.works.integers[column][:links] for column in ("drawn_from", "led_to"))
            drawn, led = (np.array([row if row < len(self.tanks) else -1 for row in end]) for end in ends)
            kept = np.zeros(links, dtype=np.int64)
            kept[[self.laid.link_of["neck", name] for name in joined]] = 1
            self._ledgers[tank, joined] = drawn, led, kept
        return self._ledgers[tank, joined]

    def _near(self, tank: str) -> set[int]:
        """Links of the parts of the network that end at a tank or at a tap above it.

        Such a part ends at any other tank that breathes freely; any other one passes on what presses into it.
        """
        if tank not in self._nearby:
            gases = {self.laid.nodes["gas", name] for name in self.tanks if self._breathes(name)}
            self._nearby[tank] = self._grown(tank, frozenset(), gases)
        return self._nearby[tank]

    def _grown(self, tank: str, shut: frozenset[str], ends: set[int]) -> set[int]:
        """Links that hang together with a tank or a tap above it, while some valves are shut, up to some nodes."""
        start, end, free = self.laid.network.start, self.laid.network.end, self.laid.network.free
        joints = [link for (kind, _), link in self.laid.link_of.items() if kind in ("neck", "tap", "feed")]
        open_lines = [at for at, line in enumerate(self.rig.lines) if not shut.intersection(line.through)]
        links = [*open_lines, *joints]
        drawn, led = self.works.integers["drawn_from"], self.works.integers["led_to"]
        at = self.tanks.index(tank)
        near, wider = set[int](), {link for link in links if at in (drawn[link], led[link])}
        while wider != near:
            near = wider
            inner = {n for link in near for n in (start[link], end[link]) if n < free and n not in ends}
            wider = near | {link for link in links if start[link] in inner or end[link] in inner}
        return near

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

    def _heads(self, tank: str, content: Span) -> tuple[list[int], NDArray[float64]]:
        """Given heads (rows, given nodes) [m], and for each row whether a tank gains most there (0) or least (1)."""
        import numpy as np

        free, ends = self.laid.network.free, self._ends(tank, content)
        stuffy = [self.laid.nodes["face", name] for name in self.tanks if not self._breathes(name)]
        both = [node for node in stuffy if node in ends]
        rows = list(product(range(2), repeat=1 + len(both)))
        heads = np.array([self.laid.rest[free:]] * len(rows))
        for row, (way, *picks) in enumerate(rows):
            for node, pair in ends.items():
                heads[row, node - free] = pair[picks[both.index(node)] if node in both else way]
        return [way for way, *_ in rows], heads

    def _ends(self, tank: str, content: Span) -> dict[int, tuple[float, float]]:
        """Each given head that matters to a tank [m], where the tank gains most and where it gains least."""
        near = self._near(tank)
        touched = {int(node) for link in near for node in (self.network.start[link], self.network.end[link])}
        ends: dict[int, tuple[float, float]] = {}
        for name in self.tanks:
            face = self.laid.nodes["face", name]
            if name == tank:
                ends[face] = self._surface(name, content.least), self._surface(name, content.most)
            elif self.laid.nodes["gas", name] in touched:
                ends[face] = self._surface(name, self._spills_at(name)), self._surface(name, 0.0)
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
        run = self.tanks.index(name) * len(self.surfaces.stands) + self.stand
        reals = self.surfaces.reals
        return reals["base"][run] + reals["upright_share"][run] * depth_on(self.surfaces, run, content)
