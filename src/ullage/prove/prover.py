"""The prover: a rig's questions, each answered by the last layer of protection that holds it.

Layers are tried from the last to the first: what the water itself does, whatever the controller
demands (*wet*); a supply that a float cuts (*wired*); the *interlocks*, whatever the sequences
demand; the *sequences*. The first that closes without the harm proves it, and names what the
proof rests on. Where none does, there is a way on which the harm may come about.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from ullage.control.program import Program
from ullage.plant.bands import Bands
from ullage.plant.bounds import Bounds
from ullage.plant.faults import Fault
from ullage.plant.harmed import Harms, harms_of
from ullage.prove.ask import PlanTooLarge
from ullage.prove.charts import Charts, TooLarge
from ullage.prove.harms import Harm, Lasting, NotFollowed, harms_of_statement
from ullage.prove.plan import Plan
from ullage.prove.question import Question
from ullage.prove.scope import Follow, Scope
from ullage.prove.search import SHARE, End, Progress, Search
from ullage.rig.meaning import Statement
from ullage.rig.model import Rig

WET, WIRED, INTERLOCKS, SEQUENCES = "wet", "wired", "interlocks", "sequences"
"""What a proof may rest on, the last layer first."""

LAYERS = (
    (WET, Follow(wires=False, interlocks=False, sequences=False)),
    (WIRED, Follow(interlocks=False, sequences=False)),
    (INTERLOCKS, Follow(sequences=False)),
    (SEQUENCES, Follow(positions=False)),
    (SEQUENCES, Follow()),
    (SEQUENCES, Follow(timed=True)),
)
"""The layers, each with how much of the law is followed to show it; the sequences in finer and finer detail."""

COARSE = tuple(n for n, (name, _) in enumerate(LAYERS) if name != SEQUENCES)
FINE = tuple(n for n, (name, _) in enumerate(LAYERS) if name == SEQUENCES)
"""The layers that are soon explored, and those that take their time."""

_WIDER = tuple(n for n, (name, follow) in enumerate(LAYERS) if name not in [other for other, _ in LAYERS[:n]])
"""Layers of which each follows more parts than the one before; finer ones of the same name follow no more."""

BANDS_KEPT, SCOPES_KEPT = 24, 100
"""So many finite plants, and so many scopes, are kept for the next question."""

EFFORT = 300_000
"""A layer is given up after so many states."""

LOOKS = 20
"""A search is looked at so often at least before it is given up: the states that it finds between are for nothing."""


@dataclass(frozen=True, slots=True)
class Layer:
    """What came of one layer.

    Attributes
    ----------
    name : str
    end : End
    states : int
        States found.
    scans : int
        Boxes that were carried on by one scan.
    most : dict of str to (int, int)
        Least and greatest volume that each level came to [mL], where all is closed.
    """

    name: str
    end: End
    states: int
    scans: int
    most: dict[str, tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Found:
    """The answer to one harm under one set of faults.

    Attributes
    ----------
    harm : Harm
    layers : tuple of Layer
        Those that were tried, in order.
    """

    harm: Harm
    layers: tuple[Layer, ...]

    @property
    def proved(self) -> bool:
        """Whether the last layer that was tried closes without the harm."""
        return bool(self.layers) and self.layers[-1].end is End.CLOSED

    @property
    def rests_on(self) -> str:
        """The layer that holds it; "" where none does."""
        return self.layers[-1].name if self.proved else ""

    @property
    def given_up(self) -> bool:
        """Whether a layer was given up: then the harm is not known to be possible."""
        return not self.proved and any(layer.end in (End.LIMIT, End.STOPPED) for layer in self.layers)

    @property
    def stopped(self) -> bool:
        """Whether a person wished no more of it."""
        return any(layer.end is End.STOPPED for layer in self.layers)


def _wider(layer: int) -> int:
    """The first layer that follows the same parts."""
    return next(n for n in _WIDER if LAYERS[n][0] == LAYERS[layer][0])


def weakest(found: Iterable[Found]) -> str:
    """The least of the layers that several proofs rest on: the one that is farthest from the water itself."""
    order = [name for name, _ in LAYERS]
    return max((one.rests_on for one in found), key=order.index, default="")


class Prover:
    """Answers questions about one rig.

    Parameters
    ----------
    rig, program
    watch : callable
        Told of the progress of each search; returns whether to go on.
    bounds : Bounds, optional
        Of the flows in health, where they are known already.
    """

    def __init__(
        self,
        rig: Rig,
        program: Program,
        watch: Callable[[Progress], bool] = lambda progress: True,
        bounds: Bounds | None = None,
    ) -> None:
        self.rig, self.program, self.watch = rig, program, watch
        self.healthy = Bands(rig, program, bounds=bounds)
        self.charts = Charts(program)
        self.effort = EFFORT
        self._harms: dict[Fault, Harms] = {}
        self._found: dict[tuple[Harm, int, Change], Layer] = {}
        # There are thousands of pairs of faults: only what was asked about last is kept.
        self._bands_of = lru_cache(BANDS_KEPT)(self._with_faults)
        self._scope = lru_cache(SCOPES_KEPT)(self._scoped)

    def harms(self, statement: Statement) -> list[Harm]:
        """What a statement says. Raises NotFollowed."""
        return harms_of_statement(self.healthy, statement)

    def concerned(self, harm: Harm, faults: Iterable[Fault]) -> frozenset[Fault]:
        """Those of some faults that could change anything that any layer follows, alone or brought in by others.

        Only what changes flows can bring in more. A fault is looked at with those that brought it in, not
        with all others: their flows together would be as many as there are sets of faults.
        """
        harms = {fault: self._harms_of(fault) for fault in faults}
        found = set[Fault]()
        for layer in _WIDER:
            some, ways = set[Fault](), [frozenset[Fault]()]
            for brought in ways:  # grows while it is walked
                scope = self._scope(harm, layer, brought)
                more = [fault for fault in harms if fault not in some and scope.concerns(harms[fault])]
                some.update(more)
                ways += [brought | {fault} for fault in more if harms[fault].reaches]
            found |= some
        return frozenset(found)

    def find(self, harm: Harm, faults: Iterable[Fault] = (), layers: Sequence[int] = range(len(LAYERS))) -> Found:
        """Look for the last layer that holds a harm off.

        Parameters
        ----------
        harm : Harm
        faults : iterable of Fault
            Each may act at any time, or not at all; their times do not count.
        layers : sequence of int
            Which of `LAYERS` to try.
        """
        faults = frozenset(faults)
        tried = list[Layer]()
        for layer in layers:
            tried.append(self._try(harm, layer, faults))
            if tried[-1].end in (End.CLOSED, End.STOPPED):
                break
        return Found(harm, tuple(tried))

    def least_time(self, harm: Harm, faults: Iterable[Fault] = ()) -> int:
        """The least time [ms] after which a harm that must last is proved away as it is, by bisection below its own.

        Parameters
        ----------
        harm : Harm
            Its tree is `Lasting`, and it is proved away for the time that stands there.
        """
        assert isinstance(harm.tree, Lasting), "only what must last has a time"
        scan, faults, part = self.program.scan_ms, tuple(faults), harm.tree.part
        layers = range(len(self.find(harm, faults).layers))
        low, high = -1, harm.tree.ms // scan
        while high - low > 1:
            middle = (low + high) // 2
            shorter = replace(harm, tree=Lasting(part, middle * scan))
            low, high = (low, middle) if self.find(shorter, faults, layers).proved else (middle, high)
        return high * scan

    def _try(self, harm: Harm, layer: int, faults: frozenset[Fault]) -> Layer:
        """One layer, worked out once for all faults that change the same of what it follows."""
        concerned = self._concerned(harm, layer, faults)
        key = harm, layer, self._change(harm, layer, concerned)
        if key not in self._found:
            self._found[key] = self._search(harm, layer, concerned)
        return self._found[key]

    def plan(self, harm: Harm, layer: int, faults: Iterable[Fault] = ()) -> Plan:
        """What is asked of the explorer at one of `LAYERS`, to hold a certificate against. Raises TooLarge."""
        return self.question(harm, layer, faults).plan()

    def question(self, harm: Harm, layer: int, faults: Iterable[Fault] = ()) -> Question:
        """A harm as it is asked at one of `LAYERS`, with those of the faults that could change anything there."""
        concerned = self._concerned(harm, layer, frozenset(faults))
        return Question(self._bands_of(concerned), harm, LAYERS[layer][1], self.charts)

    @property
    def settled(self) -> bool:
        """Whether the solver settled every corner of the flows that were asked for so far, under any faults."""
        return self.healthy.bounds.all_settled() and self.healthy.bounds.lost == 0

    def _with_faults(self, faults: frozenset[Fault]) -> Bands:
        """The finite plant with some faults; its flows are those of the faults that change any."""
        if not faults:
            return self.healthy
        brought = self._brought(faults)
        bounds = None if brought == faults else self._bands_of(brought).bounds
        harms = harms_of(self.rig, self.program, sorted(faults, key=str))
        return Bands(self.rig, self.program, harms, self.healthy, bounds)

    def _brought(self, faults: Iterable[Fault]) -> frozenset[Fault]:
        """Those of some faults that change flows: only they can bring in more parts."""
        return frozenset(fault for fault in faults if self._harms_of(fault).reaches)

    def _concerned(self, harm: Harm, layer: int, faults: frozenset[Fault]) -> frozenset[Fault]:
        """The faults that could change anything that a layer follows; one may bring in what another then changes."""
        some = frozenset[Fault]()
        while True:
            scope = self._scope(harm, _wider(layer), self._brought(some))
            more = {fault for fault in faults - some if scope.concerns(self._harms_of(fault))}
            if not more:
                return some
            some |= more

    def _change(self, harm: Harm, layer: int, faults: frozenset[Fault]) -> Change:
        """What some faults, which all concern a layer, change of what it follows: a senseless reading is as another."""
        brought = self._brought(faults)
        scope = self._scope(harm, _wider(layer), brought)
        found = scope.touching(harms_of(self.rig, self.program, sorted(faults - brought, key=str)))
        parts = (found.lies, found.wet, found.dry, found.bridged, found.freezes, found.wills, found.seeps)
        amounts = frozenset(found.pours.items()), frozenset(found.slows.items())
        return parts, amounts, found.restarts, brought

    def _harms_of(self, fault: Fault) -> Harms:
        """What one fault does."""
        if fault not in self._harms:
            self._harms[fault] = harms_of(self.rig, self.program, [fault])
        return self._harms[fault]

    def _scoped(self, harm: Harm, layer: int, faults: frozenset[Fault]) -> Scope:
        return Scope(self._bands_of(faults), harm, LAYERS[layer][1])

    def _search(self, harm: Harm, layer: int, faults: frozenset[Fault]) -> Layer:
        name, bands = LAYERS[layer][0], self._bands_of(faults)
        try:
            search = Search(self.plan(harm, layer, faults), min(SHARE, max(self.effort // LOOKS, 1)))
        except (TooLarge, PlanTooLarge):
            return Layer(name, End.LIMIT, 0, 0, {})
        end = search.run(lambda progress: progress.nodes <= self.effort and self.watch(progress))
        if end is End.STOPPED and search.progress().nodes > self.effort:
            end = End.LIMIT
        if end is End.CLOSED and not bands.bounds.all_settled():
            end = End.LIMIT
        progress = search.progress()
        return Layer(name, end, progress.nodes, progress.scans, search.reach() if end is End.CLOSED else {})


Amounts = tuple[frozenset[tuple[str, int]], frozenset[tuple[str, float]]]
"""What is poured into which tank, and by how much which gate is slow."""

Change = tuple[tuple[frozenset[str], ...], Amounts, bool, frozenset[Fault]]
"""What faults change of what a layer follows: parts by what becomes of them, amounts, whether the law starts anew, and
the faults that change flows."""


__all__ = [
    "COARSE", "FINE", "INTERLOCKS", "LAYERS", "SEQUENCES", "WET", "WIRED", "Found", "Layer", "NotFollowed", "Prover",
    "weakest",
]  # fmt: skip
