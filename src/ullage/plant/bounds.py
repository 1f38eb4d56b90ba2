"""Bounds of the net flow into a tank: what the solver finds at the extremes, rounded outward.

The flow through any link of a network of monotone losses moves one way only as one head, one
opening or one pump's speed does; so over a box of these its extremes lie at corners. Corners
are: each supply at nothing or its greatest pressure; every other tank empty or full to its
overflow; taps and hand valves all shut or all open; accumulators shut off, empty or full; the rig
level or on any corner of its slopes; the water at its warmest. A motor valve stands shut or
passes; a pump stands, and lets water through forward as its valves do, or runs. A gate that may
do either takes the worse of both. What the corners leave out is covered by `OUTWARD`, and a test
draws states between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import chain, combinations, product
from math import inf
from typing import TYPE_CHECKING

from ullage.hydraulics.build import build
from ullage.hydraulics.network import Condition, Integers, Network, Reals, Work, as_arrays, condition_of, work_of
from ullage.hydraulics.plumbing import fluid_at
from ullage.hydraulics.solve import solve
from ullage.kernels import compiled, kernel
from ullage.plant.works import Works, works_of
from ullage.quantities import Span
from ullage.rig import shapes
from ullage.rig.model import Rig, Slope

if TYPE_CHECKING:
    from numpy import float64, int64
    from numpy.typing import NDArray

OUTWARD = 0.02
"""Every bound is moved outward by this part of itself."""


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
    """Widen the bounds of one tank's net flow over the corners of one network.

    Parameters
    ----------
    network, condition, work, head, flow
        The solver's.
    heads : (K * given nodes,) [m]
        Given heads, corner by corner.
    openings : (K * throttles,)
        Openings, corner by corner.
    speeds : (K * pumps,)
        Speeds, corner by corner.
    drawn, led : (L,)
        Tank that each link draws from and leads to, -1 for none.
    kept : (L,)
        1 where a link leads into an accumulator whose water can come to the tank.
    tank : int
    bounds : (2,) [m3/s]
        Least and greatest net flow so far.

    Returns
    -------
    int
        Corners that the solver did not settle; their flows are not in the bounds.
    """
    free, throttles, pumps = network.free, len(condition.opening), len(condition.speed)
    given = len(head) - free
    lost = 0
    for corner in range(len(heads) // given):
        for node in range(given):
            head[free + node] = heads[corner * given + node]
        for throttle in range(throttles):
            condition.opening[throttle] = openings[corner * throttles + throttle]
        for pump in range(pumps):
            condition.speed[pump] = speeds[corner * pumps + pump]
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
        bounds[0] = min(bounds[0], net)
        bounds[1] = max(bounds[1], net + stored)
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
        stands = list(dict.fromkeys((Slope(), *_corners(rig.slope))))
        works = works_of(reach.rig or rig, outputs, stands, fluid_at(rig.water.most))
        self.besides = tuple(besides)
        self.works: Works = besides[0].works if besides else works
        self.rig = self.works.rig
        self._sites = [_Site(works, reach, stand) for stand in range(len(stands))]
        self.unsettled = 0
        self._exact: dict[tuple[str, frozenset[str], Span], Span] = {}
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
            lines = [line for line in self._lines(tank) if line <= passing]
            pumps = passing & frozenset(self.rig.pumps)
            found = [
                self._at(tank, frozenset(chain(pumps, *some)), content)
                for some in chain.from_iterable(combinations(lines, count) for count in range(len(lines) + 1))
            ]
            least, most = min(span.least for span in found), max(span.most for span in found)
            own = Span(least - OUTWARD * abs(least), most + OUTWARD * abs(most))
            spans = [own, *(other.net(tank, passing, content) for other in self.besides)]
            self._net[key] = Span(min(span.least for span in spans), max(span.most for span in spans))
        return self._net[key]

    def widest(self, tank: str) -> Span:
        """Bounds of the net flow whatever passes, up to where the overflow begins [m3/s]."""
        return self.net(tank, self.gates_of(tank), Span(0.0, shapes.capacity(self.rig.tanks[tank])))

    def gates_of(self, tank: str) -> frozenset[str]:
        """Motor valves and pumps in the parts of the network that end at a tank or at a tap above it."""
        return self._sites[0].beside(tank).union(*(other.gates_of(tank) for other in self.besides))

    def parts_of(self, tank: str) -> frozenset[str]:
        """Names of all parts in the parts of the network that end at a tank or at a tap above it, and of those taps."""
        return self._sites[0].parts(tank).union(*(other.parts_of(tank) for other in self.besides))

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

    def _at(self, tank: str, passing: frozenset[str], content: Span) -> Span:
        key = tank, passing, content
        if key not in self._exact:
            least, most = inf, -inf
            for site in self._sites:
                span, lost = site.net(tank, passing, content)
                self.unsettled += lost
                least, most = min(least, span.least), max(most, span.most)
            self._exact[key] = Span(least, most)
        return self._exact[key]


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
    """The network on one stand, with what faults add, ready for the solver."""

    def __init__(self, works: Works, reach: Reach, stand: int) -> None:
        self.works, self.rig, self.reach, self.stand = works, works.rig, reach, stand
        self.laid = build(works.rig, works.plumbing.fluid, works.stands[stand])
        network = self.laid.network
        condition = condition_of(network)
        for part, leak in reach.leaks.items():
            condition.leak[self.laid.part_link[part]] = leak
        for link, clear in reach.narrowed.items():
            condition.clear[self.laid.link_of[link]] = clear
        self.network: Network = as_arrays(network)
        self.condition: Condition = as_arrays(condition)
        self.work: Work = as_arrays(work_of(network))
        self.given = list(range(network.free, len(network.elevation)))
        self.tanks = list(self.rig.tanks)
        self._nearby: dict[str, set[int]] = {}

    def net(self, tank: str, passing: frozenset[str], content: Span) -> tuple[Span, int]:
        """Bounds of a tank's net flow here with these gates passing, and corners without an answer."""
        import numpy as np

        heads, openings, speeds = self._corners(tank, passing, content)
        span = np.array([inf, -inf])
        lost = compiled(extremes)(
            self.network,
            self.condition,
            self.work,
            np.zeros(len(self.network.elevation)),
            np.zeros(len(self.network.start)),
            heads.ravel(),
            openings.ravel(),
            speeds.ravel(),
            *self._ledger(tank),
            self.tanks.index(tank),
            span,
        )
        return Span(float(span[0]), float(span[1])), int(lost)

    def beside(self, tank: str) -> frozenset[str]:
        """Motor valves and pumps in the parts of the network that end at a tank or at a tap above it."""
        near = self._near(tank)
        gates = {name for name, valve in self.rig.valves.items() if valve.motor} | set(self.rig.pumps)
        return frozenset(name for name in gates if self.laid.part_link[name] in near)

    def parts(self, tank: str) -> frozenset[str]:
        """Parts in the parts of the network that end at a tank or at a tap above it."""
        near = self._near(tank)
        lines = [
            line
            for at, line in enumerate(self.rig.lines)
            if self.laid.link_of["line", self.laid.links[at].name] in near
        ]
        ends = {end.partition(".")[0] for line in lines for end in (line.start, line.end)}
        return frozenset(ends).union(*(line.through for line in lines))

    def _ledger(self, tank: str) -> tuple[NDArray[int64], NDArray[int64], NDArray[int64]]:
        """Tank at each end of each link; what an accumulator takes counts as in the tank already."""
        import numpy as np

        links, near = len(self.network.start), self._near(tank)
        ends = (self.works.integers[column][:links] for column in ("drawn_from", "led_to"))
        drawn, led = (np.array([row if row < len(self.tanks) else -1 for row in end]) for end in ends)
        kept = np.zeros(links, dtype=np.int64)
        kept[[link for (kind, _), link in self.laid.link_of.items() if kind == "neck" and link in near]] = 1
        return drawn, led, kept

    def _near(self, tank: str) -> set[int]:
        """Links of the parts of the network that end at a tank or at a tap above it."""
        if tank not in self._nearby:
            start, end, free = self.laid.network.start, self.laid.network.end, self.laid.network.free
            gases = {self.laid.nodes["gas", name] for name in self.tanks}
            links = [link for (kind, _), link in self.laid.link_of.items() if kind in ("line", "neck")]
            drawn, led = self.works.integers["drawn_from"], self.works.integers["led_to"]
            at = self.tanks.index(tank)
            near, grown = {link for link in links if at in (drawn[link], led[link])}, True
            while grown:
                inner = {n for link in near for n in (start[link], end[link]) if n < free and n not in gases}
                wider = near | {link for link in links if start[link] in inner or end[link] in inner}
                grown, near = wider != near, wider
            self._nearby[tank] = near
        return self._nearby[tank]

    def _corners(self, tank: str, passing: frozenset[str], content: Span) -> tuple[NDArray[float64], ...]:
        """Given heads (K, given nodes), openings (K, throttles) and speeds (K, pumps) of all corners."""
        import numpy as np

        choices = self._heads(tank, content)
        heads = np.tile(np.array(self.laid.rest)[self.given], (2 ** len(choices), 1))
        for row, pick in enumerate(product(range(2), repeat=len(choices))):
            for (node, ends), which in zip(choices.items(), pick, strict=True):
                heads[row, node - self.network.free] = ends[which]
        openings, speeds = self._openings(passing), self._speeds(passing)
        each = len(openings) * len(speeds)
        return (
            np.repeat(heads, each, axis=0),
            np.tile(np.repeat(openings, len(speeds), axis=0), (len(heads), 1)),
            np.tile(speeds, (len(heads) * len(openings), 1)),
        )

    def _heads(self, tank: str, content: Span) -> dict[int, tuple[float, float]]:
        """The two ends of each given head that matters to a tank [m]."""
        near = self._near(tank)
        touched = {int(node) for link in near for node in (self.network.start[link], self.network.end[link])}
        choices: dict[int, tuple[float, float]] = {}
        for name in self.tanks:
            face = self.laid.nodes["face", name]
            if name == tank:
                choices[face] = self._surface(name, content.least), self._surface(name, content.most)
            elif self.laid.nodes["gas", name] in touched:
                choices[face] = self._surface(name, 0.0), self._surface(name, self._spills_at(name))
        for name, port in self.rig.ports.items():
            node = self.laid.nodes["port", name]
            most = self.reach.pressures.get(name, port.pressure.most if port.pressure else 0.0)
            if node in touched and most > 0.0:
                base = float(self.network.elevation[node])
                choices[node] = base, base + self.laid.head_of(most)
        for name, part in self.rig.accumulators.items():
            node = self.laid.nodes["accumulator", name]
            if node in touched:
                base = float(self.network.elevation[node])
                choices[node] = base + self.laid.head_of(part.precharge), base + self._fullest()
        return choices

    def _openings(self, passing: frozenset[str]) -> NDArray[float64]:
        """Openings of all throttles: taps and hand valves shut or open, accumulators shut off or not."""
        import numpy as np

        shut = np.zeros(len(self.condition.opening))
        shut[[self.laid.throttles[name] for name in passing if name in self.rig.valves]] = 1.0
        by_hand = [*self.rig.fixtures, *(name for name, valve in self.rig.valves.items() if valve.motor is None)]
        rows = [shut]
        for names in (by_hand, list(self.rig.accumulators)):
            if names:
                opened = [row.copy() for row in rows]
                for row in opened:
                    row[[self.laid.throttles[name] for name in names]] = 1.0
                rows += opened
        return np.array(rows)

    def _speeds(self, passing: frozenset[str]) -> NDArray[float64]:
        """Speeds of the pumps: those that may run stand or run."""
        import numpy as np

        ends = [
            (0.0, 1.0) if pump in passing else (0.0,)
            for pump in sorted(self.laid.pumps, key=lambda pump: self.laid.pumps[pump])
        ]
        return np.array(list(product(*ends)))

    def _fullest(self) -> float:
        """Greatest head that an accumulator can be filled to [m]."""
        pumps = [point.pressure for pump in self.rig.pumps.values() for point in pump.curve]
        ports = [port.pressure.most for port in self.rig.ports.values() if port.pressure]
        return self.laid.head_of(max((*pumps, *ports, *self.reach.pressures.values()), default=0.0))

    def _spills_at(self, name: str) -> float:
        tank = self.rig.tanks[name]
        return shapes.whole(tank.shape) if tank.overflow is None else shapes.capacity(tank)

    def _surface(self, name: str, content: float) -> float:
        """Height of a tank's surface [m] at a content [m3]."""
        run = self.tanks.index(name) * len(self.works.stands) + self.stand
        reals = self.works.reals
        return reals["base"][run] + reals["upright_share"][run] * depth_on(self.works, run, content)
