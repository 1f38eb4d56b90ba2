"""From a harm to a plan: only what the harm depends on is followed.

A harm speaks of levels and gates. Followed are these levels, the gates that can move them towards
the harm, the interlocks that drive these gates and, where asked for, the sequences that demand
them. All else may do as it likes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from ullage.control import codes
from ullage.control import layout as at
from ullage.control.interlocks import trip_state
from ullage.control.layout import of
from ullage.control.program import Program
from ullage.plant.bands import ML, Bands, Harms, Turn
from ullage.plant.gates import SHUT, Gate
from ullage.prove import harms as h
from ullage.prove import plan as p
from ullage.prove.answers import all_paths
from ullage.prove.ask import MAY_FALSE, MAY_TRUE, MAY_UNKNOWN
from ullage.prove.charts import Chart, Follower, Move, is_timed, merged, rows_of
from ullage.prove.harms import Harm, leaves
from ullage.prove.quotient import Automaton, reduced
from ullage.quantities import Span
from ullage.rig import shapes

ANY = MAY_FALSE | MAY_UNKNOWN | MAY_TRUE
SOME = MAY_FALSE | MAY_TRUE

COUNT_LIMIT = 2000
"""A delay of more scans is not counted: it may have passed at any time."""

ASKED = -1
"""The row that says what is asked of a gate, while its automaton is made smaller."""


@dataclass(frozen=True, slots=True)
class Follow:
    """How much of the law is followed."""

    wires: bool = True
    interlocks: bool = True
    sequences: bool = True
    positions: bool = True
    timed: bool = False


class Charts:
    """The sequences of a Program as automata, each worked out once."""

    def __init__(self, program: Program) -> None:
        self.program = program
        self._charts: dict[tuple[int, bool], Chart] = {}

    def of(self, q: int, timed: bool) -> Chart:
        """A sequence. Raises TooLarge when it has too many states."""
        if (q, timed) not in self._charts:
            self._charts[q, timed] = Follower(self.program, q, timed).follow()
        return self._charts[q, timed]


class Question:
    """A harm of a rig under some faults, and how much of the law is followed to find it.

    Parameters
    ----------
    bands : Bands
    harm : Harm
    follow : Follow
    charts : Charts

    Attributes
    ----------
    tanks : list of str
        Levels that are followed.
    gates : list of str
        Gates whose demands are followed.
    locks, sequences : list of int
        Interlocks and sequences that are.
    """

    def __init__(self, bands: Bands, harm: Harm, follow: Follow, charts: Charts) -> None:
        self.bands, self.harm, self.follow, self.charts = bands, harm, follow, charts
        self.program, self.tables, self.t = bands.program, bands.program.tables, bands.program.column
        self.parts = list(leaves(harm.tree))
        self.tanks = self._find_tanks()
        self.gates = self._find_gates() if follow.interlocks else []
        self.outputs = [bands.gates[name].output for name in self.gates]
        self.locks = self._find_locks() if follow.interlocks else []
        self.sequences = self._find_sequences() if follow.sequences else []
        self.rows: list[p.Row] = []
        self.row_of: dict[int, int] = {}

    # --- what is followed -------------------------------------------------------------------------

    def _find_tanks(self) -> list[str]:
        named = [part.tank for part in self.parts if isinstance(part, h.AtLeast)]
        for part in self.parts:
            if isinstance(part, h.Tripped):
                guard = self.tables.interlock_guard[self.program.interlock(part.interlock)]
                turns = map(self.bands.turn, self._under([guard]))
                named += [turn.tank for turn in turns if turn is not None]
        return list(dict.fromkeys(named))

    def _find_gates(self) -> list[str]:
        """The gates that the harm names, and those that can move its levels towards it."""
        named = {part.gate for part in self.parts if isinstance(part, h.Passing)}
        for tank in self.tanks:
            near = self.bands.bounds.gates_of(tank)
            content = Span(0.0, shapes.capacity(self.bands.rig.tanks[tank]))
            whole = self.bands.bounds.net(tank, near, content)
            for gate in near:
                less = self.bands.bounds.net(tank, near - {gate}, content)
                if (less.most < whole.most and not self.harm.falls) or (less.least > whole.least and self.harm.falls):
                    named.add(gate)
        return [name for name in self.bands.gates if name in named]

    def _find_locks(self) -> list[int]:
        """Interlocks that the harm names, and those that drive a gate by something that is followed."""
        tripped = {self.program.interlock(part.interlock) for part in self.parts if isinstance(part, h.Tripped)}
        return [
            i for i in range(len(self.tables.interlock_guard)) if i in tripped or (self._drives(i) and self._sees(i))
        ]

    def _drives(self, i: int) -> list[int]:
        """Outputs that are followed and driven by an interlock."""
        t = self.tables
        return [output for output in t.drive_output[t.drive_first[i] : t.drive_first[i + 1]] if output in self.outputs]

    def _sees(self, i: int) -> bool:
        """Whether the condition of an interlock looks at anything that is followed."""
        t = self.tables
        for row in self._under([t.interlock_guard[i]]):
            turn = self.bands.turn(row)
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
        return [i for i in range(len(self.tables.interlock_guard)) if i not in self.locks and self._drives(i)]

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

    @cached_property
    def turns(self) -> dict[int, Turn]:
        """Where the rows turn that read a level that is followed."""
        found = ((row, self.bands.turn(row)) for row in self.needed)
        return {row: turn for row, turn in found if turn is not None and turn.tank in self.tanks}

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
    def delays(self) -> list[h.Lasting]:
        """Delays of the harm itself."""
        return list(_delays(self.harm.tree))

    def concerns(self, harms: Harms) -> bool:
        """Whether what is wrong could change anything that is followed."""
        near = frozenset(self.tanks).union(*(self.bands.bounds.parts_of(tank) for tank in self.tanks))
        followed = frozenset(self.gates) | {part.gate for part in self.parts if isinstance(part, h.Passing)}
        return bool(
            harms.lies & self.read
            or (harms.freezes | harms.wills | harms.seeps) & followed
            or set(harms.pours) & set(self.tanks)
            or (harms.restarts and self.follow.interlocks)
            or any(reach.of & near for reach in harms.reaches)
        )

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

    # --- the plan -----------------------------------------------------------------------------------

    def plan(self) -> p.Plan:
        """The plan of this question."""
        near = self.near_gates
        delays = [f"held {row}" for row in self.counted] + [f"lasting {n}" for n, _ in enumerate(self.delays)]
        free = [] if not self.follow.interlocks else [gate for gate in self.gates if self._is_plain(gate)]
        names = [f"sequence {q}" for q in self.sequences] + [f"lock {i}" for i in self.locks] + delays
        others = sorted({output for i in self.blind for output in self._drives(i)} - self._plain_outputs())
        names += [f"anybody {gate}" for gate in free] + ["others"] * bool(others) + [f"gate {gate}" for gate in near]
        self.place = {name: place for place, name in enumerate(names)}
        self._add_rows()
        harm = self._add_tree(self.harm.tree)
        deciders = [*(self._sequence(q) for q in self.sequences), *(self._lock(i) for i in self.locks)]
        deciders += [self._held(row) for row in self.counted]
        deciders += [self._lasting(n, delay) for n, delay in enumerate(self.delays)]
        deciders += [self._anybody(gate) for gate in free]
        if others:
            deciders.append(self._others(others))
        return p.Plan(
            deciders=tuple(deciders),
            actors=tuple(self._actor(name) for name in near),
            levels=tuple(self._level(tank) for tank in self.tanks),
            outputs=tuple(self._output(name) for name in self.gates),
            rows=tuple(self.rows),
            harm=harm,
            watched=self.follow.interlocks,
            restarts=self.bands.harms.restarts and self.follow.interlocks,
        )

    @cached_property
    def near_gates(self) -> list[str]:
        """All gates that the plan has: those that are followed first."""
        near = {name for tank in self.tanks for name in self.bands.bounds.gates_of(tank)}
        near |= {part.gate for part in self.parts if isinstance(part, h.Passing)}
        return [*self.gates, *(name for name in sorted(near) if name not in self.gates)]

    def _is_plain(self, gate: str) -> bool:
        """Whether nobody asks where a gate stands, so that open is the worst that somebody can wish."""
        return not self._asked_of(gate) and self.tables.output_safe[self.bands.gates[gate].output] == codes.CLOSED

    def _asked_of(self, gate: str) -> list[int]:
        """Rows that look at a gate."""
        if not self.follow.positions:
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

    # --- rows -----------------------------------------------------------------------------------------

    def _add(self, row: p.Row) -> int:
        self.rows.append(row)
        return len(self.rows) - 1

    def _add_rows(self) -> None:
        for row in self.needed:
            self.row_of[row] = self._add(self._row(row))

    def _row(self, row: int) -> p.Row:
        t = self.tables
        op, left = t.op[row], t.left[row]
        match op:
            case codes.T_CONST:
                return p.Known(1 << t.amount[row])
            case codes.T_AND:
                return p.Both(self.row_of[left], self.row_of[t.right[row]])
            case codes.T_OR:
                return p.Either(self.row_of[left], self.row_of[t.right[row]])
            case codes.T_NOT:
                return p.Not(self.row_of[left])
            case codes.T_HELD:
                counter = self.place.get(f"held {row}", -1)
                masks = tuple(int(n * self.program.scan_ms >= t.amount[row]) for n in range(self._scans(row) + 1))
                return p.Delayed(self.row_of[left], counter, masks if counter >= 0 else ())
            case codes.T_GOOD:
                return p.Known(SOME)
            case _:
                return self._leaf(row)

    def _leaf(self, row: int) -> p.Row:
        t = self.tables
        if row in self.turns:
            turn = self.turns[row]
            level = self.tanks.index(turn.tank)
            return p.ByPiece(level, tuple(_turned(turn, *ends) for ends in self._ends(turn.tank)))
        for gate in self.gates:
            if row in self._asked_of(gate):
                return p.ByState(self.place[f"gate {gate}"], self._shown(gate, row))
        for q in self.sequences:
            if row in self._asked_of_sequence(q):
                place = self._asked_of_sequence(q).index(row)
                masks = tuple(1 << look[1][place] for look in self._reduced(q).looks)  # type: ignore[index]
                return p.ByState(self.place[f"sequence {q}"], masks)
        return p.Known(SOME if t.op[row] in (codes.T_STEP, codes.T_SINCE, codes.T_SEQUENCE, codes.T_DRIVEN) else ANY)

    def _add_tree(self, tree: h.Tree) -> int:
        match tree:
            case h.AllOf(parts) | h.OneOf(parts):
                joint = p.Both if isinstance(tree, h.AllOf) else p.Either
                rows = [self._add_tree(part) for part in parts]
                whole = rows[0]
                for row in rows[1:]:
                    whole = self._add(joint(whole, row))
                return whole
            case h.Without(part):
                return self._add(p.Not(self._add_tree(part)))
            case h.Lasting(part, ms):
                n, scans = self.delays.index(tree), ms // self.program.scan_ms
                inner = self._add_tree(part)
                self.lasting = getattr(self, "lasting", {}) | {n: inner}
                return self._add(p.Delayed(inner, self.place[f"lasting {n}"], (*([0] * scans), 1)))
            case _:
                return self._add_leaf(tree)

    def _add_leaf(self, tree: h.Tree) -> int:
        match tree:
            case h.AtLeast(tank, content):
                masks = tuple(MAY_TRUE if low >= content else MAY_FALSE for low, _ in self._ends(tank))
                return self._add(p.ByPiece(self.tanks.index(tank), masks))
            case h.Passing(gate):
                return self._passing(gate)
            case h.Tripped(interlock):
                place = self.place.get(f"lock {self.program.interlock(interlock)}", -1)
                masks = (MAY_FALSE, MAY_TRUE, MAY_FALSE)
                return self._add(p.ByState(place, masks) if place >= 0 else p.Known(SOME))
            case h.Active() | h.InState():
                return self._add(self._doing(tree))
            case _:
                return self._add(p.Known(SOME))

    def _passing(self, gate: str) -> int:
        place = self.place[f"gate {gate}"]
        looks = self._reduced_gate(gate).looks
        masks = tuple(MAY_FALSE if look[1] else SOME for look in looks)  # type: ignore[index]
        row = self._add(p.ByState(place, masks))
        wire = self._wire(gate)
        if wire is not None:
            level, first, last = wire
            pieces = range(len(self._ends(self.tanks[level])))
            supplied = self._add(p.ByPiece(level, tuple(SOME if first <= n <= last else MAY_FALSE for n in pieces)))
            return self._add(p.Both(row, supplied))
        return row

    def _doing(self, tree: h.Active | h.InState) -> p.Row:
        for q in self.sequences:
            if tree in self._harm_looks(q):
                at_look = self._harm_looks(q).index(tree)
                masks = tuple(1 << (2 * look[2][at_look]) for look in self._reduced(q).looks)  # type: ignore[index]
                return p.ByState(self.place[f"sequence {q}"], masks)
        return p.Known(SOME)

    # --- levels ---------------------------------------------------------------------------------------

    def _cuts(self, tank: str) -> list[int]:
        """Where a piece of a level begins."""
        cuts = set(self.bands.edges[tank][:-1])
        for turn in self.turns.values():
            if turn.tank == tank:
                cuts |= {turn.true, turn.false + 1} if turn.rises else {turn.true + 1, turn.false}
        cuts |= {part.content for part in self.parts if isinstance(part, h.AtLeast) and part.tank == tank}
        for gate in self.bands.gates:
            wired = self.bands.wired(gate)
            if wired is not None and wired[0] == tank:
                cuts |= {wired[1], wired[2] + 1}
        return sorted(cut for cut in cuts | {0} if 0 <= cut <= self.bands.edges[tank][-1])

    def _ends(self, tank: str) -> list[tuple[int, int]]:
        """First and last content of each piece."""
        cuts = self._cuts(tank)
        return [(low, above - 1) for low, above in pairwise((*cuts, self.bands.edges[tank][-1] + 1))]

    def _level(self, tank: str) -> p.Level:
        bands, edges = self.bands, self.bands.edges[tank]
        gates = [name for name in self.near_gates if name in bands.bounds.gates_of(tank)]
        strips = [max(n for n, edge in enumerate(edges[:-1]) if edge <= low) for low, _ in self._ends(tank)]

        def rate(kinds: tuple[int, ...], strip: int) -> tuple[int, int]:
            return bands.rate(tank, frozenset(name for name, kind in zip(gates, kinds, strict=True) if kind), strip)

        part = bands.rig.tanks[tank]
        content = round(part.starts_with * shapes.capacity(part) * ML)
        return p.Level(
            name=tank,
            pieces=tuple(self._cuts(tank)),
            most=edges[-1],
            strips=tuple(strips),
            near=tuple(self.near_gates.index(name) for name in gates),
            rate=rate,
            start=(content if self.harm.falls else 0, min(content + bands.kept(tank), edges[-1])),
            pour=bands.harms.pours.get(tank, 0),
        )

    # --- automata -------------------------------------------------------------------------------------

    def _output(self, name: str) -> p.Output:
        t, output = self.tables, self.bands.gates[name].output
        safe = t.output_safe[output]
        others = {
            t.action_value[a]
            for a in range(len(t.action_output))
            if t.action_output[a] == output and t.action_sequence[a] not in self.sequences
        }
        free = () if self._is_plain(name) else tuple(sorted(others - {safe}))
        return p.Output(name, self.near_gates.index(name), safe, free)

    def _anybody(self, gate: str) -> p.Decider:
        """Those who are not followed and wish a gate open whenever nobody else asks for it."""
        t, output = self.tables, self.bands.gates[gate].output
        asks = any(
            t.action_output[a] == output
            and t.action_value[a] == codes.OPEN
            and t.action_sequence[a] not in self.sequences
            for a in range(len(t.action_output))
        )
        wishes = ((self.gates.index(gate), codes.OPEN),) if asks else ()
        return p.Decider(f"anybody for {gate}", ("",), ((Move((), 0),),), (wishes,), False, (0,), (0,))

    def _plain_outputs(self) -> set[int]:
        return {self.bands.gates[gate].output for gate in self.gates if self._is_plain(gate)}

    def _others(self, outputs: list[int]) -> p.Decider:
        """All interlocks that may act at any time, as one; not those that only shut what may as well stand open."""
        t = self.tables
        values = {
            t.drive_output[k]: t.drive_value[k]
            for i in self.blind
            for k in range(t.drive_first[i], t.drive_first[i + 1])
        }
        wishes = tuple((self.outputs.index(output), values[output]) for output in outputs)
        ways = (Move((), 0), Move((), 1))
        return p.Decider("other interlocks", ("clear", "act"), (ways, ways), ((), wishes), True, (0, 1), (0,))

    def _lock(self, i: int) -> p.Decider:
        """An interlock, by the law's own rule."""
        t, name = self.t, self.program.names.interlocks[i]
        guard, until = of(t, at.INTERLOCK_GUARD, i), of(t, at.INTERLOCK_UNTIL, i)
        truths = {t[at.TRUTH] + row: (codes.FALSE, codes.UNKNOWN, codes.TRUE) for row in (guard, until) if row >= 0}
        moves = []
        for state in (codes.CLEAR, codes.TRIPPED, codes.LATCHED):
            out = [0] * t[at.STATE_SIZE]
            out[t[at.TRIPPED] + i] = state

            def run(work: list[int], image: list[int], out: list[int] = out) -> int:
                return trip_state(t, image, out, work, i)

            options = {"truth": truths, "reset": {t[at.SEEN_RESET] + i: (0, 1)}}
            sizes = {"truth": t[at.WORK_SIZE], "reset": t[at.IMAGE_SIZE]}
            ways = [
                Move(tuple(sorted((at_row - t[at.TRUTH], 1 << v) for col, at_row, v in said if col == "truth")), to)
                for said, to in all_paths(sizes, options, run)
            ]
            moves.append(tuple(self._moved(merged(ways))))
        first, last = self.tables.drive_first[i], self.tables.drive_first[i + 1]
        drives = [(self.tables.drive_output[k], self.tables.drive_value[k]) for k in range(first, last)]
        wishes = tuple((self.outputs.index(output), value) for output, value in drives if output in self.outputs)
        return p.Decider(name, codes.TRIPS, tuple(moves), ((), wishes, wishes), True, (0, 1, 2), (0,))

    def _moved(self, moves: Iterable[Move]) -> Iterator[Move]:
        for move in moves:
            yield Move(tuple((self.row_of[row], mask) for row, mask in move.needs), move.to)

    def _scans(self, row: int) -> int:
        return -(-self.tables.amount[row] // self.program.scan_ms)

    def _held(self, row: int) -> p.Decider:
        return _counter(self.program.names.truths[row], self.row_of[self.tables.left[row]], self._scans(row))

    def _lasting(self, n: int, delay: h.Lasting) -> p.Decider:
        return _counter("the harm lasts", self.lasting[n], delay.ms // self.program.scan_ms)

    def _asked_of_sequence(self, q: int) -> list[int]:
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

    def _harm_looks(self, q: int) -> list[h.Tree]:
        name = self.program.names.sequences[q]
        return [
            part
            for part in self.parts
            if (isinstance(part, h.InState) and part.sequence == name)
            or (isinstance(part, h.Active) and part.step.partition(".")[0] == name)
        ]

    def _reduced(self, q: int) -> Automaton:
        if not hasattr(self, "_small"):
            self._small: dict[int, Automaton] = {}
        if q not in self._small:
            chart = self.charts.of(q, self.follow.timed)
            outputs = set(self.outputs)
            looks = [
                (
                    tuple(sorted(one for one in chart.on[s] if one[0] in outputs)),
                    tuple(self._truth(chart, s, row) for row in self._asked_of_sequence(q)),
                    tuple(self._is(chart, s, part) for part in self._harm_looks(q)),
                )
                for s in range(len(chart.states))
            ]
            moves = [list(_with_overrides(chart, s, outputs)) for s in range(len(chart.states))]
            self._small[q] = reduced(looks, moves, chart.overridden, range(chart.starts))
        return self._small[q]

    def _truth(self, chart: Chart, state: int, row: int) -> int:
        """Truth of a row that looks at a sequence, in the scan after the one that left it in a state."""
        t, tables = self.t, self.tables
        entry = dict(zip(chart.own, chart.states[state], strict=True))
        left = tables.left[row]
        if tables.op[row] == codes.T_SEQUENCE:
            so = (tables.amount[row] >> entry[t[at.SEQUENCE] + left]) & 1
        elif tables.op[row] == codes.T_STEP:
            so = entry[t[at.ACTIVE] + left]
        else:
            runs = entry.get(t[at.RUNNING] + left, 0) * self.program.scan_ms
            so = entry[t[at.ACTIVE] + left] and entry.get(t[at.CLOCK] + left, 0) + runs >= tables.amount[row]
        return codes.TRUE if so else codes.FALSE

    def _is(self, chart: Chart, state: int, part: h.Tree) -> int:
        entry = dict(zip(chart.own, chart.states[state], strict=True))
        if isinstance(part, h.InState):
            return int(codes.STATES[entry[self.t[at.SEQUENCE] + chart.q]] == part.word)
        assert isinstance(part, h.Active)
        return entry[self.t[at.ACTIVE] + self.program.step(part.step)]

    def _sequence(self, q: int) -> p.Decider:
        small = self._reduced(q)
        wishes = tuple(
            tuple((self.outputs.index(output), value) for output, value in look[0])  # type: ignore[index]
            for look in small.looks
        )
        name = self.program.names.sequences[q]
        return p.Decider(
            name=name,
            states=tuple(self._words(q, n) for n in range(len(small.looks))),
            moves=tuple(tuple(self._moved(moves)) for moves in small.moves),
            wishes=wishes,
            drives=False,
            turned=small.turned,
            starts=small.starts,
        )

    def _words(self, q: int, state: int) -> str:
        """What a state of a sequence is, for people."""
        chart, small, t = self.charts.of(q, self.follow.timed), self._reduced(q), self.t
        one = next(s for s, which in enumerate(small.stands_for) if state in which)
        entry = dict(zip(chart.own, chart.states[one], strict=True))
        steps = range(self.tables.step_first[q], self.tables.step_first[q + 1])
        active = [self.program.names.steps[s].partition(".")[2] for s in steps if entry[t[at.ACTIVE] + s]]
        return f"{codes.STATES[entry[t[at.SEQUENCE] + q]]}, at {' and '.join(active)}"

    # --- gates ------------------------------------------------------------------------------------------

    def _shown(self, gate: str, row: int) -> tuple[int, ...]:
        place = self._asked_of(gate).index(row)
        return tuple(look[2][place] for look in self._reduced_gate(gate).looks)  # type: ignore[index]

    def _reduced_gate(self, name: str) -> Automaton:
        if not hasattr(self, "_gates"):
            self._gates: dict[str, Automaton] = {}
        if name not in self._gates:
            if name not in self.gates:
                self._gates[name] = reduced([(1, False, ())], [[Move((), 0)]], [0], [0])
                return self._gates[name]
            gate = self.bands.gates[name]
            looks = [
                (
                    int(gate.passes[s] != SHUT),
                    gate.shut[s],
                    tuple(self._thought(gate, s, row) for row in self._asked_of(name)),
                )
                for s in range(len(gate.passes))
            ]
            moves = [
                [Move(((ASKED, 1 << way),), to) for way, tos in enumerate(ways) for to in tos] for ways in gate.moves
            ]
            self._gates[name] = reduced(looks, moves, list(range(len(looks))), gate.starts)
        return self._gates[name]

    def _thought(self, gate: Gate, state: int, row: int) -> int:
        t = self.tables
        if t.op[row] == codes.T_DRIVEN:
            return MAY_TRUE if gate.asked[state] != t.output_safe[gate.output] else MAY_FALSE
        order = (codes.CLOSED, codes.OPEN)
        return gate.believed[state][order.index(t.right[row]) if t.right[row] in order else 2]

    def _actor(self, name: str) -> p.Actor:
        small = self._reduced_gate(name)
        return p.Actor(
            name=name,
            kinds=tuple(look[0] for look in small.looks),  # type: ignore[index]
            moves=tuple((_ways(moves, 0), _ways(moves, 1), _ways(moves, 2)) for moves in small.moves),
            starts=small.starts,
            first=_firsts(small),
            wire=self._wire(name),
        )

    def _wire(self, gate: str) -> tuple[int, int, int] | None:
        """Level, and the pieces in which a gate has its supply."""
        wired = self.bands.wired(gate) if self.follow.wires else None
        if wired is None or wired[0] not in self.tanks:
            return None
        tank, least, most = wired
        inside = [n for n, (low, high) in enumerate(self._ends(tank)) if low <= most and high >= least]
        return (self.tanks.index(tank), inside[0], inside[-1]) if inside else (self.tanks.index(tank), 1, 0)


def _with_overrides(chart: Chart, state: int, outputs: set[int]) -> Iterator[Move]:
    """The moves of a state; where an output that is not followed may be driven otherwise, also what comes of that."""
    for move in chart.moves[state]:
        yield move
        if any(output not in outputs for output, _ in chart.on[move.to]):
            yield Move(move.needs, chart.overridden[move.to])


def _ways(moves: Iterable[Move], way: int) -> tuple[int, ...]:
    return tuple(move.to for move in moves if dict(move.needs).get(ASKED, ANY) & (1 << way))


def _firsts(small: Automaton) -> tuple[int, ...]:
    """For each state of a gate one that outdoes it, of those that a gate is in when it has been asked to shut."""
    states = range(len(small.looks))
    ways = [[_ways(moves, way) for way in range(3)] for moves in small.moves]
    looks = small.looks
    order = [[_no_less(looks[s], looks[r]) for r in states] for s in states]  # type: ignore[arg-type]
    changed = True
    while changed:
        changed = False
        for s in states:
            for r in states:
                if order[s][r] and s != r:
                    follows = all(
                        any(order[a][b] for b in there)
                        for here, there in zip(ways[s], ways[r], strict=True)
                        for a in here
                    )
                    if not follows:
                        order[s][r], changed = False, True
    asked_shut = {to for each in ways for to in each[0]}
    found = []
    for s in states:
        outdone = [r for r in asked_shut if order[s][r]] if s in asked_shut else [s]
        found.append(max(outdone, key=lambda r: sum(order[k][r] for k in states)))
    return tuple(found)


def _no_less(one: tuple[int, bool, tuple[int, ...]], other: tuple[int, bool, tuple[int, ...]]) -> bool:
    """Whether one look of a gate is within another."""
    thought = all(mine & ~theirs == 0 for mine, theirs in zip(one[2], other[2], strict=True))
    return one[0] <= other[0] and other[1] <= one[1] and thought


def _turned(turn: Turn, low: int, high: int) -> int:
    """What a comparison may be in a piece; a reading may always be missing."""
    if turn.rises:
        true, false = high >= turn.true, low <= turn.false
    else:
        true, false = low <= turn.true, high >= turn.false
    return MAY_UNKNOWN | (MAY_TRUE if true else 0) | (MAY_FALSE if false else 0)


def _counter(name: str, row: int, scans: int) -> p.Decider:
    """Counts the scans for which a row has been true without a break."""
    on = [
        (Move(((row, MAY_TRUE),), min(n + 1, scans)), Move(((row, MAY_FALSE | MAY_UNKNOWN),), 0))
        for n in range(scans + 1)
    ]
    nothing = tuple(() for _ in on)
    return p.Decider(name, tuple(map(str, range(scans + 1))), tuple(on), nothing, False, tuple(range(scans + 1)), (0,))


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
