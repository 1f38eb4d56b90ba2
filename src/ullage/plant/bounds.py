"""Bounds of the net flow into a tank: what the solver finds at the extremes, rounded outward.

In a network of monotone losses what flows into a place never rises with the head of that place, and
never falls as any other given head rises (Birkhoff & Diaz 1956, non-linear network problems; from
memory). So a tank gains most with itself at its lowest, every supply at its greatest pressure and
every other tank full to its overflow, and least the other way round; an accumulator, whose water
counts as in the tank already while it is joined to it, is empty for both. A tank that does not
breathe freely is full, empty and just under its overflow for both: what runs out of it sucks at an
inlet above its water, and what runs in presses. A
tap above the tank is open where it gains most, and any other tap where it gains least. All else is
no end of the network: each line with hand valves is shut or open, each accumulator shut off or not,
each pump that may run stands or runs, in every combination, with the rig level or on any corner of
its slopes and the water at its warmest. A motor valve stands shut or passes; a pump stands, and
lets water through forward as its valves do, or runs. A gate that may do either takes the worse of
both. What the corners leave out is covered by `OUTWARD`, and a test draws states between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain, combinations, product
from math import inf

from ullage.hydraulics.build import build
from ullage.hydraulics.plumbing import fluid_at
from ullage.plant.corners import Reach, Site, Surfaces
from ullage.plant.works import Works, works_of
from ullage.quantities import Span
from ullage.rig import shapes
from ullage.rig.model import Rig, Slope

OUTWARD = 0.02
"""Every bound is moved outward by this part of itself."""

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
    lost : int
        The same, with those of all bounds that were made beside these.
    """

    def __init__(
        self, rig: Rig, outputs: Sequence[str], reach: Reach = HEALTHY, besides: Sequence[Bounds] = ()
    ) -> None:
        self.besides = tuple(besides)
        self.works: Works = besides[0].works if besides else _works(rig, outputs)
        self.rig = self.works.rig
        self.reach = reach
        works, laid = self.works, self.works.laid
        surfaces = besides[0]._sites[0].surfaces if besides else Surfaces(works)
        if reach.rig is not None:
            # Surfaces are as in health whatever is wrong, so that a changed rig needs them on one stand only.
            works = works_of(reach.rig, outputs, fluid=self.works.plumbing.fluid)
            laid = tuple(build(works.rig, works.plumbing.fluid, stand) for stand in self.works.stands)
        self._sites: list[Site] = [Site(surfaces, works, one, reach, stand) for stand, one in enumerate(laid)]
        self.unsettled = self.lost = 0
        self._gates: dict[str, frozenset[str]] = {}
        self._parts: dict[str, frozenset[str]] = {}
        self._joined: dict[tuple[str, frozenset[str]], frozenset[str]] = {}
        self._exact: dict[tuple[str, frozenset[str], frozenset[str], Span], Span] = {}
        self._net: dict[tuple[str, frozenset[str], frozenset[str], Span], Span] = {}

    def net(self, tank: str, passing: frozenset[str], content: Span, joined: frozenset[str] | None = None) -> Span:
        """Bounds of the net flow into a tank [m3/s], not less than what any state within them gives.

        Parameters
        ----------
        tank : str
        passing : set of str
            Gates that may pass or not; all others are shut, pumps among them stand.
        content : Span
            Volume in the tank [m3].
        joined : set of str, optional
            Accumulators whose water counts as in the tank; those of `joined` where none are given.
        """
        passing &= self.gates_of(tank)
        joined = self.joined(tank, passing) if joined is None else joined
        key = tank, passing, joined, content
        if key not in self._net:
            others = (other.net(tank, passing, content, joined) for other in self.besides)
            spans = [*self._own(tank, passing, content, joined), *others]
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
        if tank not in self._parts:
            self._parts[tank] = self._sites[0].parts(tank).union(*(other.parts_of(tank) for other in self.besides))
        return self._parts[tank]

    def joined(self, tank: str, passing: frozenset[str]) -> frozenset[str]:
        """Accumulators whose water can come to a tank, or to a tap above it, while these gates pass."""
        shut = self.gates_of(tank).difference(passing, self.rig.pumps)
        if (tank, shut) not in self._joined:
            own = self._sites[0].joined(tank, shut)
            self._joined[tank, shut] = own.union(*(other.joined(tank, passing) for other in self.besides))
        return self._joined[tank, shut]

    def volume_of(self, accumulator: str) -> float:
        """Volume of an accumulator [m3]; pipes that burst may leave springy pipes behind a pump that had none."""
        laid = self._sites[0].rig.accumulators.get(accumulator)
        return laid.volume if laid else max(other.volume_of(accumulator) for other in self.besides)

    def all_settled(self) -> bool:
        """Whether the solver settled every corner so far."""
        return self.unsettled == 0 and all(other.all_settled() for other in self.besides)

    def _lose(self, corners: int) -> None:
        """Note corners that were not settled, here and in all that these stand beside."""
        self.unsettled += corners
        first = self
        while first.besides:
            first = first.besides[0]
        first.lost += corners

    def runs(self, tank: str) -> range:
        """Rows of `Works` that hold the surface of a tank, stand by stand."""
        stands = len(self.works.stands)
        at = list(self.rig.tanks).index(tank)
        return range(at * stands, (at + 1) * stands)

    def depth(self, run: int, content: float) -> float:
        """Depth [m] above the middle of a tank's floor at a content [m3], on one stand."""
        return self._sites[0].surfaces.depth(run, content)

    def _lines(self, tank: str) -> list[frozenset[str]]:
        """Motor valves of each line beside a tank: water passes the line only when all of them pass."""
        valves = self.gates_of(tank) - frozenset(self.rig.pumps)
        lines = (valves.intersection(line.through) for line in self.rig.lines)
        return [line for line in lines if line]

    def _own(self, tank: str, passing: frozenset[str], content: Span, joined: frozenset[str]) -> list[Span]:
        """Bounds with these gates passing or not, one for each set of lines that may be open."""
        if self.besides and not self.reach.of & self.parts_of(tank):
            return []
        pumps = passing & frozenset(self.rig.pumps)
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
        # However the rig stands its throttles are in the same order.
        openings = self._sites[0].all_openings(tank, opened)
        for site in self._sites:
            self._lose(site.widen(bounds, tank, openings, pumps, joined, content))
        return [Span(least - OUTWARD * abs(least), most + OUTWARD * abs(most)) for least, most in bounds.tolist()]


def _works(rig: Rig, outputs: Sequence[str]) -> Works:
    stands = list(dict.fromkeys((Slope(), *_corners(rig.slope))))
    return works_of(rig, outputs, stands, fluid_at(rig.water.most))


def _corners(slope: Slope) -> list[Slope]:
    return [
        Slope.model_construct(ahead=ahead * slope.ahead, across=across * slope.across)
        for ahead, across in product((-1.0, 1.0), repeat=2)
    ]
