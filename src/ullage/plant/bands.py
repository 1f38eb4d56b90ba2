"""The finite plant: what a scan can do to volumes and gates at worst, in whole millilitres and scans.

A volume is an interval; in one scan it moves by what `bounds` allows for the gates that may pass.
A reading needs no state: it lies within its sender's error of what the volume may have been since
it was taken. Any reading may be missing at any time, and any link may be lost. A fault may do its
worst from the start and from any time, so each is a part of the plant that does as it likes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor

from ullage.control import codes
from ullage.control.program import Program
from ullage.control.timers import SCAN_LATE
from ullage.plant import faults as f
from ullage.plant.bounds import Bounds
from ullage.plant.codes import MARK_OPENING
from ullage.plant.flow import STILL_FLOW
from ullage.plant.gates import Gate, freezing, healthy, loose, seeping, wilful
from ullage.plant.harmed import ML, NO_HARMS, Harms
from ullage.plant.senders import SLOSH_FLOW
from ullage.quantities import Span
from ullage.rig import shapes
from ullage.rig.model import Rig
from ullage.rig.sensing import NOISE_WIDTH, span

BELOW, ABOVE = 2, 12
"""A tank is cut into so many strips below its overflow, and above: within one, the flow is bounded once."""


@dataclass(frozen=True, slots=True)
class Turn:
    """Where a comparison with one tank's content turns [mL].

    A rising one may be true from ``true`` up and false up to ``false``; a falling one may be true
    up to ``true`` and false from ``false`` up.
    """

    tank: str
    rises: bool
    true: int
    false: int


class Bands:
    """The finite plant of a rig under some faults.

    Parameters
    ----------
    rig, program
    harms : Harms
        What is wrong.
    healthy : Bands, optional
        Of the rig in health, where they are known already.
    bounds : Bounds, optional
        Of its flows as they are, where those are known already: of a rig with another law, or with other harms.

    Attributes
    ----------
    gates : dict of str to Gate
        Every motor valve and pump that the law drives.
    edges : dict of str to list of int
        Edges of each tank's strips [mL], from 0 to its brim.
    """

    def __init__(
        self,
        rig: Rig,
        program: Program,
        harms: Harms = NO_HARMS,
        healthy: Bands | None = None,
        bounds: Bounds | None = None,
    ) -> None:
        self.rig, self.program, self.harms, self.healthy = rig, program, harms, healthy
        self.bounds: Bounds = bounds or (healthy.bounds if healthy else Bounds(rig, program.names.outputs))
        for reach in () if bounds else harms.reaches:
            self.bounds = Bounds(rig, program.names.outputs, reach, (self.bounds,))
        self.edges = {name: _strips(rig, name) for name in rig.tanks}
        # What stands still reads the same whatever else is wrong.
        self._still: dict[object, tuple[int, int]] = healthy._still if healthy else {}
        self._turns: dict[tuple[int, bool], Turn | None] = {}
        self._rates: dict[tuple[str, frozenset[str], int, frozenset[str], bool], tuple[int, int]] = {}

    @cached_property
    def gates(self) -> dict[str, Gate]:
        """Every motor valve and pump that the law drives, as health or a fault leaves it."""
        names = [name for name in self.program.names.outputs if name in self.rig.valves or name in self.rig.pumps]
        return {name: self._gate(name) for name in names}

    def _gate(self, name: str) -> Gate:
        rig, program, harms = self.rig, self.program, self.harms
        if self.healthy and not harms.restarts and name not in harms.gates:
            return self.healthy.gates[name]
        if name in harms.wills:
            gate = (loose if name in rig.pumps else wilful)(rig, program, name, harms.restarts)
        elif name in harms.freezes:
            gate = freezing(rig, program, name, harms.restarts)
        else:
            gate = healthy(rig, program, name, harms.restarts, harms.slows.get(name, 1.0))
        return seeping(gate) if name in harms.seeps else gate

    @property
    def scan(self) -> float:
        """The longest time between two scans [s]."""
        return (self.program.scan_ms + SCAN_LATE) / 1000.0

    @property
    def scan_least(self) -> float:
        """The shortest time between two scans [s]: a late one and one in time."""
        return (self.program.scan_ms - SCAN_LATE) / 1000.0

    def rate(
        self, tank: str, passing: frozenset[str], strip: int, fresh: frozenset[str] = frozenset(), pours: bool = False
    ) -> tuple[int, int]:
        """What a tank may at least and at most gain in one scan that it begins in a strip [mL].

        Parameters
        ----------
        tank : str
        passing : set of str
            Gates that may pass or not.
        strip : int
        fresh : set of str
            Those of them that have just opened: what an accumulator behind them holds comes at once.
        pours : bool
            Whether somebody may pour all the time, and what they have not poured yet does not count as in the tank.
        """
        key = tank, passing & self.bounds.gates_of(tank), strip, fresh, pours
        if key not in self._rates:
            edges = self.edges[tank]
            widest = self.bounds.widest(tank)
            reach = max(abs(widest.least), abs(widest.most)) * self.scan
            lowest = (edges[strip] - self.kept(tank, pours)) / ML - reach
            content = Span(max(lowest, 0.0), min(edges[strip + 1] / ML + reach, edges[-1] / ML))
            joined = self.joined(tank, passing)
            net = self.bounds.net(tank, passing, content, joined)
            # What the plant itself takes for no flow is none here either.
            least, most = (0.0 if abs(flow) < STILL_FLOW else flow * ML for flow in (net.least, net.most))
            besides = self._stored(joined - self.joined(tank, passing - fresh))
            if pours and tank in self.harms.pours:
                besides += ceil(f.POUR_RATE * self.scan * ML)
            # Of what comes or goes for certain the shortest scan brings the least.
            self._rates[key] = (
                floor(min(least * self.scan, least * self.scan_least)),
                ceil(max(most * self.scan, most * self.scan_least)) + besides,
            )
        return self._rates[key]

    def joined(self, tank: str, passing: frozenset[str]) -> frozenset[str]:
        """Accumulators whose water counts as in a tank while these gates pass.

        Behind a gate that opens as often as it likes it counts all the time: else it would come anew each time.
        """
        return self.bounds.joined(tank, passing | self.harms.wills | self.harms.seeps)

    def kept(self, tank: str, pours: bool = False) -> int:
        """Water that counts as in a tank and may be missing there [mL]: in an accumulator, or not yet poured.

        Unless somebody ``pours`` all the time, what they may pour counts from the start: nobody follows when they do.
        """
        stored = self._stored(self.joined(tank, self.bounds.gates_of(tank)))
        return stored if pours else stored + self.harms.pours.get(tank, 0)

    def _stored(self, accumulators: Iterable[str]) -> int:
        return sum(ceil(self.bounds.volume_of(name) * ML) for name in accumulators)

    def wired(self, gate: str) -> tuple[str, int, int] | None:
        """Tank, least and greatest content [mL] at which a pump may have its supply; None where nothing cuts it.

        What a float cuts off a valve is not counted: a spring takes its time.
        """
        part = self.rig.pumps.get(gate)
        if part is None or part.wired is None or part.wired.switch in self.harms.lies | self.harms.bridged:
            return None
        row, floats, reals = (
            list(self.rig.floats).index(part.wired.switch),
            len(self.rig.floats),
            self.bounds.works.reals,
        )
        tank = self.rig.floats[part.wired.switch].on
        if part.wired.made == "wet":
            return tank, floor(min(reals["falls_at"][row::floats]) * ML), self.edges[tank][-1]
        return tank, 0, ceil(max(reals["rises_at"][row::floats]) * ML)

    def mark(self, tank: str, kind: int) -> int | None:
        """Least content at which a tank comes to a mark of a kind, on any stand [mL]; None where it has none."""
        kinds, first = (self.bounds.works.integers[column] for column in ("mark_kind", "mark_first"))
        volumes = [
            self.bounds.works.reals["mark_volume"][mark]
            for run in self.bounds.runs(tank)
            for mark in range(first[run], first[run + 1])
            if kinds[mark] == kind
        ]
        return floor(min(volumes) * ML) if volumes else None

    def uncovered(self, pump: str) -> tuple[str, int] | None:
        """Tank that a pump draws from, and the content [mL] at which it draws air at the latest, on any stand.

        None where the line of the pump does not begin at a tank.
        """
        line = next(line for line in self.rig.lines if pump in line.through)
        tank, dot, _ = line.start.partition(".")
        if not dot or tank not in self.rig.tanks:
            return None
        works = self.bounds.works
        kinds, rows, first = (works.integers[column] for column in ("mark_kind", "mark_row", "mark_first"))
        link = works.plumbing.part_link[pump]
        marks = [
            works.reals["mark_volume"][mark]
            for run in self.bounds.runs(tank)
            for mark in range(first[run], first[run + 1])
            if kinds[mark] == MARK_OPENING and rows[mark] == link
        ]
        return tank, ceil(max(marks, default=0.0) * ML)

    def turn(self, row: int, pours: bool = False) -> Turn | None:
        """Where a truth row turns; None when it depends on anything but one tank's content. ``pours`` as of `rate`."""
        if (row, pours) not in self._turns:
            op, left = self.program.tables.op[row], self.program.tables.left[row]
            self._turns[row, pours] = (
                self._float_turn(left, pours)
                if op == codes.T_FLAG
                else self._level_turn(row, pours)
                if op == codes.T_LINEAR
                else None
            )
        return self._turns[row, pours]

    def _float_turn(self, signal: int, pours: bool) -> Turn | None:
        name = self.program.names.signals[signal].part
        if name not in self.rig.floats or name in self.harms.lies:
            return None
        gain, loss = self._older(signal, pours)
        (wet, surely), tank = self.wets(name), self.rig.floats[name].on
        true = 0 if name in self.harms.wet else wet - loss
        return Turn(tank, True, true, self.edges[tank][-1] if name in self.harms.dry else surely - 1 + gain)

    def wets(self, name: str) -> tuple[int, int]:
        """Least content at which a float may be wet, and at which it must be [mL]."""
        if name not in self._still:
            part = self.rig.floats[name]
            may = self._first(part.on, lambda v: self._depths(part.on, v, part.x, part.y).most >= part.at)
            must = self._first(part.on, lambda v: self._depths(part.on, v, part.x, part.y).least >= part.at)
            self._still[name] = may, must
        return self._still[name]

    def _level_turn(self, row: int, pours: bool) -> Turn | None:
        t, names = self.program.tables, self.program.names
        terms = [(t.term_source[k], t.term_factor[k]) for k in range(t.left[row], t.left[row] + t.right[row])]
        signals = len(names.signals)
        read = [(source, factor) for source, factor in terms if source < signals]
        if len(read) != 1:
            return None
        source, factor = read[0]
        name = names.signals[source].part
        if name not in self.rig.senders or name in self.harms.lies:
            return None
        tank = self.rig.senders[name].on
        gain, loss = self._older(source, pours)
        if row not in self._still:
            self._still[row] = self._crossed(row, source, factor)
        may, must = self._still[row]
        if factor > 0:
            return Turn(tank, True, may - loss, must - 1 + gain)
        return Turn(tank, False, must - 1 + gain, may - loss)

    def _crossed(self, row: int, source: int, factor: int) -> tuple[int, int]:
        """Least contents at which a comparison of one reading may have changed as it rises, and at which it must."""
        t, signals, tank = self.program.tables, len(self.program.names.signals), self._tank_of(source)
        terms = [(t.term_source[k], t.term_factor[k]) for k in range(t.left[row], t.left[row] + t.right[row])]
        least = most = t.amount[row]
        for p, by in ((other - signals, by) for other, by in terms if other >= signals):
            ends = by * t.parameter_least[p], by * t.parameter_most[p]
            least, most = least + min(ends), most + max(ends)
        if factor > 0:
            may = self._first(tank, lambda v: factor * self._shown(source, v).most + most >= 0)
            return may, self._first(tank, lambda v: factor * self._shown(source, v).least + least >= 0)
        may = self._first(tank, lambda v: factor * self._shown(source, v).most + least < 0)
        return may, self._first(tank, lambda v: factor * self._shown(source, v).least + most < 0)

    def _tank_of(self, signal: int) -> str:
        """The tank that a sender or float is on."""
        part = self.program.names.signals[signal].part
        return self.rig.senders[part].on if part in self.rig.senders else self.rig.floats[part].on

    def _older(self, row: int, pours: bool) -> tuple[int, int]:
        """How much a tank may have gained and lost since the reading in hand of a signal was taken [mL]."""
        sender, tank = self.rig.senders.get(self.program.names.signals[row].part), self._tank_of(row)
        # A lagging sender shows a mean of what was, on average as much older as its lag.
        age = self.program.tables.stale_ms[row] / 1000.0 + self.scan + (sender.lag if sender else 0.0)
        net = self.bounds.widest(tank)
        inflow = max(net.most, 0.0) + (f.POUR_RATE if pours and tank in self.harms.pours else 0.0)
        return ceil(inflow * age * ML) + self.kept(tank, pours), ceil(max(-net.least, 0.0) * age * ML)

    def _shown(self, row: int, content: int) -> Span:
        """Least and greatest value [mL] that a sender shows of a content that stands still."""
        t, sender = self.program.tables, self.rig.senders[self.program.names.signals[row].part]
        reach = span(sender, self.rig.tanks[sender.on].shape)
        error = sender.error + NOISE_WIDTH * sender.noise + 0.5 * sender.resolution
        depths = self._depths(sender.on, content, sender.x, sender.y)
        low, high = ((depth - sender.zero_at) / reach for depth in (depths.least, depths.most))
        first, last = t.convert_first[row], t.convert_first[row + 1]
        table = t.convert_raw[first:last], t.convert_value[first:last]
        whole = codes.SPAN_COUNTS
        counts = floor(whole * min(max(low - error, 0.0), 1.0)) - 1, ceil(whole * min(max(high + error, 0.0), 1.0)) + 1
        return Span(_value(*table, counts[0]), _value(*table, counts[1]))

    def _depths(self, tank: str, content: int, x: float, y: float) -> Span:
        """Least and greatest depth at a place of a tank over all stands, with the waves of a changed flow [m]."""
        works, depths = self.bounds.works, []
        for run in self.bounds.runs(tank):
            depth = self.bounds.depth(run, content / ML)
            depths.append(depth + works.reals["ahead"][run] * x + works.reals["across"][run] * y)
        return Span(min(depths) - SLOSH_FLOW, max(depths) + SLOSH_FLOW)

    def _first(self, tank: str, holds: Callable[[int], bool]) -> int:
        """The least content [mL] at which something holds that goes on holding above it; one past the brim if none."""
        low, high = 0, self.edges[tank][-1] + 1
        while low < high:
            middle = (low + high) // 2
            if holds(middle):
                high = middle
            else:
                low = middle + 1
        return low


def _strips(rig: Rig, name: str) -> list[int]:
    whole = shapes.whole(rig.tanks[name].shape) * ML
    brim = shapes.capacity(rig.tanks[name]) * ML
    inside = [brim * part / BELOW for part in range(BELOW)]
    above = [brim + (whole - brim) * part / ABOVE for part in range(ABOVE + 1)]
    return sorted({round(edge) for edge in (*inside, *above)})


def _value(raws: Sequence[int], values: Sequence[int], raw: int) -> int:
    """The law's own table, `control.truth.value_of`, outside of a column."""
    if raw <= raws[0]:
        return values[0]
    for i in range(1, len(raws)):
        if raw <= raws[i]:
            return values[i - 1] + (values[i] - values[i - 1]) * (raw - raws[i - 1]) // (raws[i] - raws[i - 1])
    return values[-1]
