"""What of a rig and its law a harm depends on; all else may do as it likes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from ullage.control import codes
from ullage.control.timers import SCAN_LATE
from ullage.plant.bands import Bands, Turn
from ullage.plant.harmed import NO_HARMS, Harms
from ullage.prove import harms as h
from ullage.prove.charts import is_timed, rows_of
from ullage.prove.harms import Harm, leaves
from ullage.quantities import Span
from ullage.rig import shapes

COUNT_LIMIT = 40
"""A delay of more scans is not counted: it may have passed at any time."""


LEAST_MOVE = 1e-7
"""A gate that moves a level by less is not followed [m3/s]: it may as well pass all the time."""


@dataclass(frozen=True, slots=True)
class Follow:
    """How much of the law is followed.

    Attributes
    ----------
    wires : bool
        Floats in series with a pump.
    interlocks, sequences : bool
    positions : bool
        What the law may think of where a valve stands.
    timed : bool
        Clocks of steps, and delays.
    """

    wires: bool = True
    interlocks: bool = True
    sequences: bool = True
    positions: bool = True
    timed: bool = False


class Scope:
    """What is followed for a harm of a rig under some faults.

    Parameters
    ----------
    bands : Bands
    harm : Harm
    follow : Follow

    Attributes
    ----------
    parts : list of Tree
        What the harm speaks of.
    tanks : list of str
        Levels that are followed.
    gates : list of str
        Gates whose demands are followed.
    outputs : list of int
        Their outputs.
    locks, sequences : list of int
        Interlocks and sequences that are followed.
    """

    def __init__(self, bands: Bands, harm: Harm, follow: Follow) -> None:
        self.bands, self.harm, self.follow = bands, harm, follow
        self.program, self.tables = bands.program, bands.program.tables
        self.parts = list(leaves(harm.tree))
        self.tanks = self._find_tanks()
        self.gates = self._find_gates() if follow.interlocks else []
        self.outputs = [bands.gates[name].output for name in self.gates]
        self.locks = self._find_locks() if follow.interlocks else []
        self.sequences = self._find_sequences() if follow.sequences else []

    def _find_tanks(self) -> list[str]:
        named = [part.tank for part in self.parts if isinstance(part, h.AtLeast)]
        for part in self.parts:
            if isinstance(part, h.Tripped):
                guard = self.tables.interlock_guard[self.program.interlock(part.interlock)]
                turns = map(self.turn, self._under([guard]))
                named += [turn.tank for turn in turns if turn is not None]
        return list(dict.fromkeys(named))

    def _find_gates(self) -> list[str]:
        """The gates that the harm names, and those that can move its levels towards it."""
        named = {part.gate for part in self.parts if isinstance(part, h.Passing)}
        for tank in self.tanks:
            named |= {gate for gate in self.bands.bounds.gates_of(tank) if self._moves(tank, gate)}
        return [name for name in self.bands.gates if name in named]

    def _moves(self, tank: str, gate: str) -> bool:
        """Whether a gate lets more water move a tank towards the harm, besides all others or alone in its line."""
        near, lines = self.bands.bounds.gates_of(tank), self.bands.rig.lines
        line = next((near.intersection(line.through) for line in lines if gate in line.through), frozenset[str]())
        content = Span(0.0, shapes.capacity(self.bands.rig.tanks[tank]))
        for more in (near, line):
            with_it = self.bands.bounds.net(tank, more, content)
            without = self.bands.bounds.net(tank, more - {gate}, content)
            more_of_it = without.least - with_it.least if self.harm.falls else with_it.most - without.most
            if more_of_it > LEAST_MOVE:
                return True
        return False

    def _find_locks(self) -> list[int]:
        """Interlocks that the harm names, and those that drive a gate by something that is followed."""
        tripped = {self.program.interlock(part.interlock) for part in self.parts if isinstance(part, h.Tripped)}
        return [
            i for i in range(len(self.tables.interlock_guard)) if i in tripped or (self.drives(i) and self._sees(i))
        ]

    def drives(self, i: int) -> list[int]:
        """Outputs that are followed and driven by an interlock."""
        t = self.tables
        return [output for output in t.drive_output[t.drive_first[i] : t.drive_first[i + 1]] if output in self.outputs]

    def _sees(self, i: int) -> bool:
        """Whether the condition of an interlock looks at anything that is followed."""
        t = self.tables
        for row in self._under([t.interlock_guard[i]]):
            turn = self.turn(row)
            if turn is not None and turn.tank in self.tanks:
                return True
            if t.op[row] == codes.T_VALVE and t.valve_output[t.left[row]] in self.outputs:
                return True
            if t.op[row] == codes.T_DRIVEN and t.left[row] in self.outputs:
                return True
        return False

    @property
    def blind(self) -> list[int]:
        """Interlocks that drive a gate by nothing that is followed: they may act at any time."""
        return [i for i in range(len(self.tables.interlock_guard)) if i not in self.locks and self.drives(i)]

    def _find_sequences(self) -> list[int]:
        names = self.program.names
        said = {part.step.partition(".")[0] for part in self.parts if isinstance(part, h.Active)}
        said |= {part.sequence for part in self.parts if isinstance(part, h.InState)}
        t = self.tables
        asking = {q for q, output in zip(t.action_sequence, t.action_output, strict=True) if output in self.outputs}
        return [q for q, name in enumerate(names.sequences) if q in asking or name in said]

    def _under(self, rows: Iterable[int]) -> list[int]:
        """Rows and all their operands, operands first."""
        t, found, todo = self.tables, set[int](), [row for row in rows if row >= 0]
        while todo:
            row = todo.pop()
            if row not in found:
                found.add(row)
                if t.op[row] in (codes.T_AND, codes.T_OR):
                    todo += [t.left[row], t.right[row]]
                elif t.op[row] in (codes.T_NOT, codes.T_HELD):
                    todo.append(t.left[row])
        return sorted(found)

    @cached_property
    def needed(self) -> list[int]:
        """Truth rows that any decider looks at, operands first."""
        t = self.tables
        rows = [row for i in self.locks for row in (t.interlock_guard[i], t.interlock_until[i])]
        rows += [row for q in self.sequences for row in rows_of(self.program, q)]
        return self._under(rows)

    def turn(self, row: int) -> Turn | None:
        """Where a truth row turns."""
        return self.bands.turn(row, self.pours)

    @cached_property
    def turns(self) -> dict[int, Turn]:
        """Where the rows turn that read a level that is followed."""
        found = ((row, self.turn(row)) for row in self.needed)
        return {row: turn for row, turn in found if turn is not None and turn.tank in self.tanks}

    @cached_property
    def senders(self) -> list[int]:
        """Signals of the senders and floats by which those rows read."""
        return sorted({self.sender_of(row) for row in self.turns})

    def sender_of(self, row: int) -> int:
        """Signal that a row with a turn reads."""
        t = self.tables
        if t.op[row] == codes.T_FLAG:
            return t.left[row]
        sources = t.term_source[t.left[row] : t.left[row] + t.right[row]]
        return next(source for source in sources if source < len(self.program.names.signals))

    @cached_property
    def counted(self) -> list[int]:
        """Rows that delay another for few enough scans to be counted."""
        t = self.tables
        return [
            row
            for row in self.needed
            if self.follow.timed and t.op[row] == codes.T_HELD and t.amount[row] <= COUNT_LIMIT * self.program.scan_ms
        ]

    @cached_property
    def links(self) -> list[str]:
        """Boards whose links the harm speaks of."""
        return list(dict.fromkeys(part.board for part in self.parts if isinstance(part, h.Linked)))

    @cached_property
    def delays(self) -> list[h.Lasting]:
        """Delays of the harm itself."""
        return list(_delays(self.harm.tree))

    def concerns(self, harms: Harms) -> bool:
        """Whether what is wrong could change anything that is followed."""
        return self.touching(harms) != NO_HARMS

    def touching(self, harms: Harms) -> Harms:
        """What of all that is wrong could change anything that is followed."""
        return Harms(
            lies=harms.lies & self.read,
            wet=harms.wet & self.read,
            dry=harms.dry & self.read,
            bridged=harms.bridged & self.read,
            freezes=harms.freezes & self._followed,
            wills=harms.wills & self._followed,
            seeps=harms.seeps & self._followed,
            slows={gate: ratio for gate, ratio in harms.slows.items() if gate in self._followed},
            reaches=tuple(reach for reach in harms.reaches if reach.of & self._beside),
            pours={tank: amount for tank, amount in harms.pours.items() if tank in self.tanks},
            restarts=harms.restarts and self.follow.interlocks,
        )

    @cached_property
    def _beside(self) -> frozenset[str]:
        """Parts whose flows may move a level that is followed."""
        return frozenset(self.tanks).union(*(self.bands.bounds.parts_of(tank) for tank in self.tanks))

    @cached_property
    def _followed(self) -> frozenset[str]:
        """Gates whose demands are followed, or that the harm names."""
        return frozenset(self.gates) | {part.gate for part in self.parts if isinstance(part, h.Passing)}

    @cached_property
    def read(self) -> frozenset[str]:
        """Senders, floats and meters that are read or cut a supply."""
        t, names = self.tables, self.program.names
        coils = [self.bands.rig.pumps[gate].wired for gate in self.near_gates if gate in self.bands.rig.pumps]
        found = {coil.switch for coil in coils if coil is not None and self.follow.wires}
        for row in self.needed:
            if t.op[row] == codes.T_LINEAR:
                sources = t.term_source[t.left[row] : t.left[row] + t.right[row]]
                found |= {names.signals[source].part for source in sources if source < len(names.signals)}
            elif t.op[row] == codes.T_FLAG:
                found.add(names.signals[t.left[row]].part)
        return frozenset(found)

    @cached_property
    def near_gates(self) -> list[str]:
        """All gates that the plan has: those that are followed first."""
        near = {name for tank in self.tanks for name in self.bands.bounds.gates_of(tank)}
        near |= {part.gate for part in self.parts if isinstance(part, h.Passing)}
        return [*self.gates, *(name for name in sorted(near) if name not in self.gates)]

    @cached_property
    def holding_back(self) -> frozenset[str]:
        """Motor valves that may shut an accumulator off a level that is followed."""
        found = set[str]()
        for tank in self.tanks:
            near = self.bands.bounds.gates_of(tank)
            found |= {gate for gate in near if self.bands.joined(tank, near - {gate}) < self.bands.joined(tank, near)}
        return frozenset(found)

    @property
    def pours(self) -> bool:
        """Whether somebody may pour all the time.

        What the water itself does about it shows in its flows only, and no level falls by it.
        """
        return self.harm.falls or not self.follow.interlocks

    def kept(self, tank: str) -> int:
        """Water that counts as in a tank and may be missing there [mL]."""
        return self.bands.kept(tank, self.pours)

    def is_plain(self, gate: str) -> bool:
        """Whether nobody asks where a gate stands, so that open is the worst that somebody can wish."""
        return not self.asks_of_gate(gate) and self.tables.output_safe[self.bands.gates[gate].output] == codes.CLOSED

    def asks_of_gate(self, gate: str) -> list[int]:
        """Rows that look at a gate."""
        # A law that cannot reach a valve thinks what it asked for, not what the valve does.
        if not self.follow.positions or self.links:
            return []
        t = self.tables
        output = self.bands.gates[gate].output if gate in self.bands.gates else -1
        valve = t.valve_output.index(output) if output in t.valve_output else -1
        return [
            row
            for row in self.needed
            if (t.op[row] == codes.T_VALVE and t.left[row] == valve)
            or (t.op[row] == codes.T_DRIVEN and t.left[row] == output)
        ]

    def asks_of_sequence(self, q: int) -> list[int]:
        """Rows that look at a sequence from outside, or at its clocks where they count."""
        t, found = self.tables, []
        for row in self.needed:
            left = t.left[row]
            of_step = t.op[row] == codes.T_STEP or (t.op[row] == codes.T_SINCE and self._is_timed(left))
            if (t.op[row] == codes.T_SEQUENCE and left == q) or (of_step and t.step_sequence[left] == q):
                found.append(row)
        return found

    def _is_timed(self, step: int) -> bool:
        return self.follow.timed and is_timed(self.program, step)

    def harms_in(self, q: int) -> list[h.InState | h.Active]:
        """Parts of the harm that look at a sequence."""
        name = self.program.names.sequences[q]
        return [
            part
            for part in self.parts
            if (isinstance(part, h.InState) and part.sequence == name)
            or (isinstance(part, h.Active) and part.step.partition(".")[0] == name)
        ]

    def cuts(self, tank: str) -> list[int]:
        """Where a piece of a level begins."""
        cuts = set(self.bands.edges[tank][:-1])
        for turn in self.turns.values():
            if turn.tank == tank:
                cuts |= {turn.true, turn.false + 1} if turn.rises else {turn.true + 1, turn.false}
        for part in self.parts:
            if isinstance(part, h.AtLeast) and part.tank == tank:
                cuts |= {part.content, part.content + self.kept(tank)}
        for gate in self.bands.gates:
            wired = self.bands.wired(gate)
            if wired is not None and wired[0] == tank:
                cuts |= {wired[1], wired[2] + self.kept(tank) + 1}
        return sorted(cut for cut in cuts | {0} if 0 <= cut <= self.bands.edges[tank][-1])

    def ends(self, tank: str) -> list[tuple[int, int]]:
        """First and last content of each piece."""
        cuts = self.cuts(tank)
        return [(low, above - 1) for low, above in pairwise((*cuts, self.bands.edges[tank][-1] + 1))]

    def wire(self, gate: str) -> tuple[int, int, int] | None:
        """Level, and the pieces in which a gate has its supply."""
        wired = self.bands.wired(gate) if self.follow.wires else None
        if wired is None or wired[0] not in self.tanks:
            return None
        tank, least, most = wired
        most += self.kept(tank)
        inside = [n for n, (low, high) in enumerate(self.ends(tank)) if low <= most and high >= least]
        return (self.tanks.index(tank), inside[0], inside[-1]) if inside else (self.tanks.index(tank), 1, 0)

    def looks(self, ms: int) -> int:
        """Scans after which something may have lasted so long: the last of them may come late."""
        return max(ms - SCAN_LATE, 0) // self.program.scan_ms

    def scans(self, row: int) -> int:
        """Scans that a delay takes."""
        return -(-self.tables.amount[row] // self.program.scan_ms)


def _delays(tree: h.Tree) -> Iterator[h.Lasting]:
    match tree:
        case h.AllOf(parts) | h.OneOf(parts):
            for part in parts:
                yield from _delays(part)
        case h.Without(part):
            yield from _delays(part)
        case h.Lasting(part):
            yield from _delays(part)
            yield tree
        case _:
            return
