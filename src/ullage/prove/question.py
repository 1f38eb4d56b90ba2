"""From a harm to a plan: levels, gates, interlocks and sequences that are followed, with their rows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property

from ullage.control import codes
from ullage.control import layout as at
from ullage.control.interlocks import trip_state
from ullage.control.layout import of
from ullage.plant.bands import Bands, Turn
from ullage.plant.harmed import ML
from ullage.prove import harms as h
from ullage.prove import plan as p
from ullage.prove.answers import all_paths
from ullage.prove.ask import MAY_FALSE, MAY_TRUE, MAY_UNKNOWN
from ullage.prove.charts import Charts, Move, good_row, merged, needs_of
from ullage.prove.harms import Harm
from ullage.prove.looks import ANY, FRESH, ChartLook, GateLook, firsts, small_gate, small_sequence, ways_of
from ullage.prove.quotient import Automaton
from ullage.prove.scope import Follow, Scope
from ullage.rig import shapes

SOME = MAY_FALSE | MAY_TRUE
"""What is known to be true or false, but not which."""


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
    scope : Scope
        What is followed.
    """

    def __init__(self, bands: Bands, harm: Harm, follow: Follow, charts: Charts) -> None:
        self.scope = Scope(bands, harm, follow)
        self.bands, self.follow, self.charts = bands, follow, charts
        self.program, self.tables, self.t = bands.program, bands.program.tables, bands.program.column
        self.rows: list[p.Row] = []
        self.row_of: dict[int, int] = {}
        self.lasting: dict[int, int] = {}
        self._charts: dict[int, Automaton[ChartLook]] = {}
        self._gates: dict[str, Automaton[GateLook]] = {}

    def plan(self) -> p.Plan:
        """The plan of this question."""
        scope = self.scope
        self._add_rows()
        harm = self._add_tree(scope.harm.tree)
        deciders = [*(self._sequence(q) for q in scope.sequences), *(self._lock(i) for i in scope.locks)]
        deciders += [self._held(row) for row in scope.counted]
        deciders += [self._lasting(n, delay) for n, delay in enumerate(scope.delays)]
        deciders += [self._anybody(gate) for gate in scope.gates if scope.is_plain(gate)]
        if self.others:
            deciders.append(self._others())
        deciders += [self._link(board) for board in scope.links]
        return p.Plan(
            deciders=tuple(deciders),
            actors=tuple(self._actor(name) for name in scope.near_gates),
            levels=tuple(self._level(tank) for tank in scope.tanks),
            outputs=tuple(self._output(name) for name in scope.gates),
            rows=tuple(self.rows),
            harm=harm,
            watched=self.follow.interlocks,
            restarts=self.bands.harms.restarts and self.follow.interlocks,
        )

    @cached_property
    def others(self) -> list[int]:
        """Outputs that interlocks may drive at any time where somebody asks how a gate stands."""
        scope = self.scope
        plain = {self.bands.gates[gate].output for gate in scope.gates if scope.is_plain(gate)}
        return sorted({output for i in scope.blind for output in scope.drives(i)} - plain)

    @cached_property
    def place(self) -> dict[str, int]:
        """Number of each automaton of the plan."""
        scope = self.scope
        names = [f"sequence {q}" for q in scope.sequences] + [f"lock {i}" for i in scope.locks]
        names += [f"held {row}" for row in scope.counted] + [f"lasting {n}" for n, _ in enumerate(scope.delays)]
        names += [f"anybody {gate}" for gate in scope.gates if scope.is_plain(gate)] + ["others"] * bool(self.others)
        names += [f"link {board}" for board in scope.links]
        names += [f"gate {gate}" for gate in scope.near_gates]
        return {name: place for place, name in enumerate(names)}

    # --- rows ---------------------------------------------------------------------------------------

    def _add(self, row: p.Row) -> int:
        self.rows.append(row)
        return len(self.rows) - 1

    def _add_rows(self) -> None:
        for row in self.scope.needed:
            self.row_of[row] = self._add(self._row(row))
        for signal in sorted({signal for q in self.scope.sequences for signal in needs_of(self.program, q)}):
            self.row_of[good_row(signal)] = self._add(self._good(signal))

    def _good(self, signal: int) -> p.Row:
        """Whether a signal is good: where its rows follow a level, while they are not unknown."""
        if signal not in self.scope.senders:
            return p.Known(SOME)
        row = next(row for row in self.scope.turns if self.scope.sender_of(row) == signal)
        tank = self.scope.turns[row].tank
        masks = (MAY_TRUE,) * len(self.scope.cuts(tank))
        return p.Read(self.scope.tanks.index(tank), masks, self.scope.senders.index(signal), MAY_FALSE)

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
                masks = tuple(int(n * self.program.scan_ms >= t.amount[row]) for n in range(self.scope.scans(row) + 1))
                return p.Delayed(self.row_of[left], counter, masks if counter >= 0 else ())
            case codes.T_GOOD:
                return self._good(left)
            case _:
                return self._leaf(row)

    def _leaf(self, row: int) -> p.Row:
        t = self.tables
        if row in self.scope.turns:
            turn = self.scope.turns[row]
            level = self.scope.tanks.index(turn.tank)
            masks = tuple(_turned(turn, *ends) for ends in self.scope.ends(turn.tank))
            return p.Read(level, masks, self.scope.senders.index(self.scope.sender_of(row)), MAY_UNKNOWN)
        for gate in self.scope.gates:
            if row in self.scope.asks_of_gate(gate):
                at_row = self.scope.asks_of_gate(gate).index(row)
                masks = tuple(look.thought[at_row] for look in self._small_gate(gate).looks)
                return p.ByState(self.place[f"gate {gate}"], masks)
        for q in self.scope.sequences:
            if row in self.scope.asks_of_sequence(q):
                place = self.scope.asks_of_sequence(q).index(row)
                masks = tuple(1 << look.truths[place] for look in self._small(q).looks)
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
                n, scans = self.scope.delays.index(tree), self.scope.looks(ms)
                inner = self._add_tree(part)
                self.lasting[n] = inner
                return self._add(p.Delayed(inner, self.place[f"lasting {n}"], (*([0] * scans), 1)))
            case _:
                return self._add_leaf(tree)

    def _add_leaf(self, tree: h.Tree) -> int:
        match tree:
            case h.AtLeast(tank, content):
                surely = content + self.scope.kept(tank)
                lows = [low for low, _ in self.scope.ends(tank)]
                holds = tuple(MAY_FALSE if low < content else MAY_TRUE if low >= surely else SOME for low in lows)
                return self._add(p.ByPiece(self.scope.tanks.index(tank), holds))
            case h.Passing(gate):
                return self._passing(gate)
            case h.Tripped(interlock):
                place = self.place.get(f"lock {self.program.interlock(interlock)}", -1)
                masks = (MAY_FALSE, MAY_TRUE, MAY_FALSE)
                return self._add(p.ByState(place, masks) if place >= 0 else p.Known(SOME))
            case h.Active() | h.InState():
                return self._add(self._doing(tree))
            case h.Linked(board):
                return self._add(p.ByState(self.place[f"link {board}"], (MAY_TRUE, MAY_FALSE)))
            case _:
                return self._add(p.Known(SOME))

    def _passing(self, gate: str) -> int:
        place = self.place[f"gate {gate}"]
        looks = self._small_gate(gate).looks
        masks = tuple(MAY_FALSE if look.shut else SOME for look in looks)
        row = self._add(p.ByState(place, masks))
        wire = self.scope.wire(gate)
        if wire is not None:
            level, first, last = wire
            pieces = range(len(self.scope.ends(self.scope.tanks[level])))
            supplied = self._add(p.ByPiece(level, tuple(SOME if first <= n <= last else MAY_FALSE for n in pieces)))
            return self._add(p.Both(row, supplied))
        return row

    def _doing(self, tree: h.Active | h.InState) -> p.Row:
        for q in self.scope.sequences:
            if tree in self.scope.harms_in(q):
                at_look = self.scope.harms_in(q).index(tree)
                masks = tuple(1 << (2 * look.harms[at_look]) for look in self._small(q).looks)
                return p.ByState(self.place[f"sequence {q}"], masks)
        return p.Known(SOME)

    # --- levels and outputs -------------------------------------------------------------------------

    def _level(self, tank: str) -> p.Level:
        bands, edges = self.bands, self.bands.edges[tank]
        gates = [name for name in self.scope.near_gates if name in bands.bounds.gates_of(tank)]
        strips = [max(n for n, edge in enumerate(edges[:-1]) if edge <= low) for low, _ in self.scope.ends(tank)]

        def rate(kinds: tuple[int, ...], strip: int) -> tuple[int, int]:
            passing = frozenset(name for name, kind in zip(gates, kinds, strict=True) if kind)
            fresh = frozenset(name for name, kind in zip(gates, kinds, strict=True) if kind == FRESH)
            return bands.rate(tank, passing, strip, fresh, self.scope.pours)

        part = bands.rig.tanks[tank]
        content = round(part.starts_with * shapes.capacity(part) * ML)
        return p.Level(
            name=tank,
            pieces=tuple(self.scope.cuts(tank)),
            most=edges[-1],
            strips=tuple(strips),
            near=tuple(self.scope.near_gates.index(name) for name in gates),
            rate=rate,
            start=(content if self.scope.harm.falls else 0, min(content + self.scope.kept(tank), edges[-1])),
        )

    def _output(self, name: str) -> p.Output:
        t, output = self.tables, self.bands.gates[name].output
        safe = t.output_safe[output]
        others = {
            t.action_value[a]
            for a in range(len(t.action_output))
            if t.action_output[a] == output and t.action_sequence[a] not in self.scope.sequences
        }
        free = () if self.scope.is_plain(name) else tuple(sorted(others - {safe}))
        return p.Output(name, self.scope.near_gates.index(name), safe, free)

    def _anybody(self, gate: str) -> p.Decider:
        """Those who are not followed and wish a gate open whenever nobody else asks for it."""
        t, output = self.tables, self.bands.gates[gate].output
        asks = any(
            t.action_output[a] == output
            and t.action_value[a] == codes.OPEN
            and t.action_sequence[a] not in self.scope.sequences
            for a in range(len(t.action_output))
        )
        wishes = ((self.scope.gates.index(gate), codes.OPEN),) if asks else ()
        return p.Decider(f"anybody for {gate}", ("",), ((Move((), 0),),), (wishes,), p.SEQUENCE, (0,), (0,))

    def _others(self) -> p.Decider:
        """All interlocks that may act at any time, as one; not those that only shut what may as well stand open."""
        t = self.tables
        values = {
            t.drive_output[k]: t.drive_value[k]
            for i in self.scope.blind
            for k in range(t.drive_first[i], t.drive_first[i + 1])
        }
        wishes = tuple((self.scope.outputs.index(output), values[output]) for output in self.others)
        ways = (Move((), 0), Move((), 1))
        return p.Decider("other interlocks", ("clear", "act"), (ways, ways), ((), wishes), p.INTERLOCK, (0, 1), (0,))

    # --- automata -----------------------------------------------------------------------------------

    def _link(self, board: str) -> p.Decider:
        """A link that may go and come at any time: while it is gone its board drives to where its leases lapse to."""
        rig, t, scope = self.bands.rig, self.tables, self.scope
        parts = {name: rig.valves.get(name) or rig.pumps[name] for name in scope.gates}
        lapse = tuple(
            (at_output, t.output_on_lapse[output])
            for at_output, (name, output) in enumerate(zip(scope.gates, scope.outputs, strict=True))
            if parts[name].board == board and t.output_on_lapse[output] >= 0
        )
        ways = (Move((), 0), Move((), 1))
        return p.Decider(f"link of {board}", ("there", "lost"), (ways, ways), ((), lapse), p.LINK, (0, 1), (0,))

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

            options: Mapping[str, Mapping[int, Sequence[int]]] = {
                "truth": truths,
                "reset": {t[at.SEEN_RESET] + i: (0, 1)},
            }
            sizes = {"truth": t[at.WORK_SIZE], "reset": t[at.IMAGE_SIZE]}
            ways = [
                Move(tuple(sorted((at_row - t[at.TRUTH], 1 << v) for col, at_row, v in said if col == "truth")), to)
                for said, to in all_paths(sizes, options, run)
            ]
            moves.append(tuple(self._moved(merged(ways))))
        first, last = self.tables.drive_first[i], self.tables.drive_first[i + 1]
        drives = [(self.tables.drive_output[k], self.tables.drive_value[k]) for k in range(first, last)]
        wishes = tuple(
            (self.scope.outputs.index(output), value) for output, value in drives if output in self.scope.outputs
        )
        return p.Decider(name, codes.TRIPS, tuple(moves), ((), wishes, wishes), p.INTERLOCK, (0, 1, 2), (0,))

    def _moved(self, moves: Iterable[Move]) -> Iterator[Move]:
        for move in moves:
            yield Move(tuple((self.row_of[row], mask) for row, mask in move.needs), move.to)

    def _held(self, row: int) -> p.Decider:
        return _counter(
            self.program.names.truths[row], self.row_of[self.tables.left[row]], self.scope.scans(row), p.CLOCK
        )

    def _lasting(self, n: int, delay: h.Lasting) -> p.Decider:
        return _counter("the harm lasts", self.lasting[n], self.scope.looks(delay.ms), p.LASTS)

    def _sequence(self, q: int) -> p.Decider:
        small = self._small(q)
        wishes = tuple(
            tuple((self.scope.outputs.index(output), value) for output, value in look.wishes) for look in small.looks
        )
        name = self.program.names.sequences[q]
        return p.Decider(
            name=name,
            states=tuple(self._words(q, n) for n in range(len(small.looks))),
            moves=tuple(tuple(self._moved(moves)) for moves in small.moves),
            wishes=wishes,
            drives=p.SEQUENCE,
            turned=small.turned,
            starts=small.starts,
        )

    def _words(self, q: int, state: int) -> str:
        """What a state of a sequence is, for people."""
        chart, small, t = self.charts.of(q, self.follow.timed), self._small(q), self.t
        one = next(s for s, which in enumerate(small.stands_for) if state in which)
        entry = dict(zip(chart.own, chart.states[one], strict=True))
        steps = range(self.tables.step_first[q], self.tables.step_first[q + 1])
        active = [self.program.names.steps[s].partition(".")[2] for s in steps if entry[t[at.ACTIVE] + s]]
        return f"{codes.STATES[entry[t[at.SEQUENCE] + q]]}, at {' and '.join(active)}"

    def _actor(self, name: str) -> p.Actor:
        small = self._small_gate(name)
        return p.Actor(
            name=name,
            kinds=tuple(look.kind for look in small.looks),
            moves=tuple((ways_of(moves, 0), ways_of(moves, 1), ways_of(moves, 2)) for moves in small.moves),
            starts=small.starts,
            first=firsts(small),
            wire=self.scope.wire(name),
        )

    def _small(self, q: int) -> Automaton[ChartLook]:
        if q not in self._charts:
            self._charts[q] = small_sequence(self.scope, self.charts.of(q, self.follow.timed))
        return self._charts[q]

    def _small_gate(self, name: str) -> Automaton[GateLook]:
        if name not in self._gates:
            self._gates[name] = small_gate(self.scope, name)
        return self._gates[name]


def _turned(turn: Turn, low: int, high: int) -> int:
    """What a comparison may be in a piece while its reading is there."""
    if turn.rises:
        true, false = high >= turn.true, low <= turn.false
    else:
        true, false = low <= turn.true, high >= turn.false
    return (MAY_TRUE if true else 0) | (MAY_FALSE if false else 0)


def _counter(name: str, row: int, scans: int, drives: int) -> p.Decider:
    """Counts the scans for which a row has been true without a break."""
    on = [
        (Move(((row, MAY_TRUE),), min(n + 1, scans)), Move(((row, MAY_FALSE | MAY_UNKNOWN),), 0))
        for n in range(scans + 1)
    ]
    nothing = tuple(() for _ in on)
    states = tuple(range(scans + 1))
    return p.Decider(name, tuple(map(str, states)), tuple(on), nothing, drives, states, (0,))
