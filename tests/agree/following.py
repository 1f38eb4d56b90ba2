"""A run of the simulator followed through a plan of the prover: which abstract states may it be in?

From every state that the run may be in, all that may follow by the plan is worked out plainly, from
the plan's own lists; what agrees with the next look at the run is kept. A sequence agrees when its
state is the concrete one or outdoes it, an interlock and a counter when they are the same, a gate
when it passes what passes and lets the law think what it thinks. A level stands as low as it may:
no lower than the tank with what is joined to it and what is still to be poured, nor than its rates
let it, and it must not be higher than they let it, nor than the readings leave room for.
When nothing agrees any more the plan leaves out something that can happen: its proofs prove nothing.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise, product

from tests.agree.concrete import Drawn, Look, value_of
from tests.agree.inclusion import NOTHING, joined
from ullage.control import codes
from ullage.control import layout as law
from ullage.control.layout import of
from ullage.control.timers import HELDS
from ullage.control.truth import valve_is
from ullage.prove import harms as h
from ullage.prove import plan as p
from ullage.prove.charts import Follower, good_row
from ullage.prove.looks import small_gate, small_sequence
from ullage.prove.question import Question

READY, SHUT, ANEW = 1, 0, 2
"""The law has begun; what is asked of a gate of which nobody can ask anything, and when the law starts anew."""

MAY_TRUE = 4

PASSES = 1
"""Kind of a gate that passes and has not just opened."""

Pieces = tuple[int, ...]
"""The piece that each level lies in."""

Levels = tuple[float, ...]
"""What each tank is said to hold, with what counts as in it already [mL]."""

Node = tuple[int, tuple[int, ...], Levels]
"""Flags, the states of all automata, what all levels are at."""

Decided = tuple[tuple[int, ...], list[int]]
"""States of all deciders, and what is asked of each output."""

Allowed = list[frozenset[int] | None]
"""For each automaton the states that agree with a look; None: any."""


def _table(one: Callable[[int, int], int]) -> list[list[int]]:
    """Sets of Kleene's values by two such sets."""
    bits = [[value for value in range(3) if mask >> value & 1] for mask in range(8)]
    return [[sum(1 << v for v in {one(a, b) for a in x for b in y}) for y in bits] for x in bits]


_AND, _OR = _table(min), _table(max)
_NOT = [sum(1 << (2 - v) for v in range(3) if x >> v & 1) for x in range(8)]


class Following:
    """The abstract states that a run may be in, scan by scan.

    Parameters
    ----------
    question : Question
    run : Drawn
    """

    def __init__(self, question: Question, run: Drawn) -> None:
        self.plan, self.scope, self.run, self.row_of = question.plan(), question.scope, run, question.row_of
        self.agreeing = Agreeing(question)
        self.deciders = len(self.plan.deciders)
        self.output_of = {output.actor: o for o, output in enumerate(self.plan.outputs)}
        reads = ((row, self.plan.rows[place]) for row, place in self.row_of.items())
        self.reads = [(one.sender, row, one.unread) for row, one in reads if isinstance(one, p.Read)]
        self.lasted: dict[h.Lasting, int] = {}
        self.rates: dict[tuple[int, tuple[int, ...], int], tuple[int, int]] = {}

    def complaints(self) -> Iterator[str]:
        """What the plan leaves out of the run; nothing when all is well."""
        looks = self.run.looks
        flags = 0 if self.plan.watched else READY
        starts = list(product(*(one.starts for one in self.plan.automata())))
        begun = list(product(starts, self.counts(looks[0])))
        nodes = {(flags, states, levels) for states, levels in begun if self.joins(states, looks[0], levels)}
        for k, (now, then) in enumerate(pairwise(looks)):
            before = looks[max(k - 1, 0)]
            nodes = {other for node in nodes for other in (node, *self.anew(node))}
            after = {to for node in nodes for to in self.successors(node, before, now, then)}
            if not after:
                yield f"{self.run}: at {now.ms} ms {self.lost(nodes, before, now, then)}"
                return
            nodes = after
            if self.harmed(self.scope.harm.tree, now) and not any(self.may_harm(node) for node in nodes):
                yield f"{self.run}: at {now.ms} ms the harm is, and the plan says that it cannot be"
                return

    def lost(self, nodes: Iterable[Node], before: Look, now: Look, then: Look) -> str:
        """What would have to be left out of account for anything to agree."""
        nodes, names = list(nodes), [one.name for one in self.plan.automata()]
        flowing = [(node, levels) for node in nodes for levels in self.flowed(node, before, now)]
        if not flowing:
            tanks = [level.name for level in self.plan.levels]
            return f"{tanks} go from {before.holds} to {now.holds}, not from any of {sorted(nodes)}"
        unread = self.unread(now)
        untold = {self.untold(self.values(node[1], self.pieces(levels), unread), now) for node, levels in flowing}
        if "" not in untold:
            return "; ".join(sorted(untold))
        agree = self.agreeing.all(now, then)
        for at, name in enumerate(names):
            loose = [*agree[:at], None, *agree[at + 1 :]]
            found = {to[1][at] for node, levels in flowing for to in self.moved(node, levels, now, loose)}
            if found:
                states = sorted({node[1][at] for node, _ in flowing})
                return f"{name} goes from {states} to {sorted(agree[at] or ())}, the plan says {sorted(found)}"
        return f"several of {names} go where the plan does not, from {nodes} to {agree}"

    # --- what is so in a node ------------------------------------------------------------------------

    def pieces(self, levels: Levels) -> Pieces:
        """The pieces that levels lie in."""
        return tuple(
            bisect_right(level.pieces, min(held, level.most) + NOTHING) - 1
            for level, held in zip(self.plan.levels, levels, strict=True)
        )

    def counts(self, look: Look) -> Iterator[Levels]:
        """The least that tanks may be said to hold, with what accumulators hold and without it."""
        for stored in dict.fromkeys((0.0, look.stored)):
            unpoured = dict.fromkeys(look.holds, 0.0) if self.scope.pours else look.unpoured
            names = [level.name for level in self.plan.levels]
            counts = [look.holds[name] + stored + unpoured[name] for name in names]
            yield tuple(min(held, level.most) for held, level in zip(counts, self.plan.levels, strict=True))

    def joins(self, states: tuple[int, ...], look: Look, levels: Levels) -> bool:
        """Whether levels count what the accumulators hold that are joined to their tanks in some states."""
        bands, names = self.scope.bands, [actor.name for actor in self.plan.actors]
        kinds = dict(zip(names, self.kinds((0, states, levels)), strict=True))
        # What has just opened lets go what was shut off in the scan that it begins.
        passing = frozenset(name for name, kind in kinds.items() if kind == PASSES)
        for level, held in zip(self.plan.levels, levels, strict=True):
            unpoured = 0.0 if self.scope.pours else look.unpoured[level.name]
            counts = look.holds[level.name] + unpoured + joined(bands, look, level.name, passing)
            if held + NOTHING < min(counts, level.most):
                return False
        return True

    def unread(self, look: Look) -> frozenset[int] | None:
        """Senders of which the law has no reading; None where it does not run."""
        unknown = {sender for sender, row, unread in self.reads if 1 << self.value_of(row, look) == unread}
        return frozenset(unknown) if look.decides else None

    def values(self, states: tuple[int, ...], pieces: Pieces, unread: frozenset[int] | None) -> list[int]:
        """What every row may be with automata in some states, volumes in some pieces, and some senders missing."""
        value = list[int]()
        for row in self.plan.rows:
            match row:
                case p.Known(mask):
                    value.append(mask)
                case p.ByPiece(level, masks):
                    value.append(masks[pieces[level]])
                case p.Read(level, masks, sender, gone):
                    read = masks[pieces[level]] | (gone if unread is None else 0)
                    value.append(gone if unread and sender in unread else read)
                case p.ByState(automaton, masks):
                    value.append(masks[states[automaton]])
                case p.Both(left, right):
                    value.append(_AND[value[left]][value[right]])
                case p.Either(left, right):
                    value.append(_OR[value[left]][value[right]])
                case p.Not(inner):
                    value.append(_NOT[value[inner]])
                case p.Delayed(inner, automaton, masks):
                    done = masks[states[automaton]] if automaton >= 0 else 2
                    true = value[inner] & MAY_TRUE
                    rest = value[inner] & ~MAY_TRUE | (1 if true and done != 1 else 0)
                    value.append(rest | (true if done else 0))
        return value

    def untold(self, values: list[int], look: Look) -> str:
        """A row of the law that is as the plan says it cannot be; "" when there is none."""
        if look.decides:
            for row, at in self.row_of.items():
                so = self.value_of(row, look)
                if not values[at] >> so & 1:
                    names = self.scope.program.names
                    text = names.truths[row] if row >= 0 else f"{names.signals[good_row(row)].part} is good"
                    return f"'{text}' is {codes.TRUTHS[so]}, the plan says {values[at]} of it"
        return ""

    def value_of(self, row: int, look: Look) -> int:
        """Value of a row in a look."""
        return value_of(self.scope.program.column, row, look.truth, look.state)

    def may_harm(self, node: Node) -> bool:
        """Whether the harm may be in a node."""
        return bool(self.values(node[1], self.pieces(node[2]), None)[self.plan.harm] & MAY_TRUE)

    def kinds(self, node: Node) -> tuple[int, ...]:
        """What each gate lets pass."""
        found, pieces = [], self.pieces(node[2])
        for actor, state in zip(self.plan.actors, node[1][self.deciders :], strict=True):
            cut = actor.wire is not None and not actor.wire[1] <= pieces[actor.wire[0]] <= actor.wire[2]
            found.append(0 if cut else actor.kinds[state])
        return tuple(found)

    def flowed(self, node: Node, before: Look, now: Look) -> Iterator[Levels]:
        """Where levels may stand after a scan: as low as they may, by each way to count."""
        if before is now:
            yield node[2]
            return
        kinds, pieces = self.kinds(node), self.pieces(node[2])
        for counts in self.counts(now):
            after = []
            for at, (level, held, least) in enumerate(zip(self.plan.levels, node[2], counts, strict=True)):
                key = at, tuple(kinds[actor] for actor in level.near), level.strips[pieces[at]]
                if key not in self.rates:
                    self.rates[key] = level.rate(*key[1:])
                low, high = (min(max(held + gain, 0), level.most) for gain in self.rates[key])
                most = now.holds[level.name] + self.scope.kept(level.name) + NOTHING
                if max(low, least) <= min(high, most) + NOTHING:
                    after.append(max(low, least))
            if len(after) == len(counts):
                yield tuple(after)

    # --- what may follow -----------------------------------------------------------------------------

    def anew(self, node: Node) -> Iterator[Node]:
        """The law starts anew, in no time."""
        if self.plan.restarts:
            _, states, levels = node
            law = [
                (state,) if one.drives in (p.LINK, p.LASTS) else one.starts
                for one, state in zip(self.plan.deciders, states, strict=False)
            ]
            gates = zip(self.plan.actors, states[self.deciders :], strict=True)
            for begun in product(*law, *(actor.moves[state][ANEW] for actor, state in gates)):
                yield 0, begun, levels

    def successors(self, node: Node, before: Look, now: Look, then: Look) -> Iterator[Node]:
        """All nodes that may follow a node from one look to the next and agree with it."""
        for levels in self.flowed(node, before, now):
            if not self.untold(self.values(node[1], self.pieces(levels), self.unread(now)), now):
                yield from self.moved(node, levels, now, self.agreeing.all(now, then))

    def moved(self, node: Node, levels: Levels, now: Look, agree: Allowed) -> Iterator[Node]:
        """All that the automata may do in a scan that ends at some levels, of which every part agrees."""
        flags, states, _ = node
        ready = not self.plan.watched or bool(now.state[self.scope.program.column[law.READY]])
        if flags and not ready:
            return
        values = self.values(states, self.pieces(levels), self.unread(now))
        for decided, asked in (
            self.decided(bool(flags), states, values, agree) if ready else self.waited(states, values)
        ):
            if all(some is None or state in some for state, some in zip(decided, agree, strict=False)):
                for gates in self.acted(states, asked, agree):
                    if self.joins((*decided, *gates), now, levels):
                        yield int(ready), (*decided, *gates), levels

    def waited(self, states: tuple[int, ...], values: list[int]) -> Iterator[Decided]:
        """The deciders after a scan in which the law is not ready, and what is asked of each output."""
        deciders, ways = self.plan.deciders, list[list[int]]()
        for one, state in zip(deciders, states, strict=False):
            ways.append([state] if one.drives in (p.SEQUENCE, p.INTERLOCK) else fitting(one, state, values))
        for chosen in product(*ways):
            asked = [output.safe for output in self.plan.outputs]
            for o, value in _wishes(deciders, chosen, p.LINK):
                asked[o] = value
            yield chosen, asked

    def decided(self, acts: bool, states: tuple[int, ...], values: list[int], agree: Allowed) -> Iterator[Decided]:
        """The deciders after a scan, and what is asked of each output; an interlock trips when the law acts."""
        deciders, ways = self.plan.deciders, list[list[int]]()
        trips = acts or not self.plan.watched
        for one, state, some in zip(deciders, states, agree, strict=False):
            waits = one.drives == p.INTERLOCK and not trips
            to = fitting(one, state, values)
            ways.append([s for s in to if waits or some is None or s in some or one.turned[s] in some])
        for chosen in product(*ways):
            for free in product(*((None, *output.free) for output in self.plan.outputs)):
                asked = self.granted(chosen, free)
                then = list[int]()
                for one, before, s in zip(deciders, states, chosen, strict=False):
                    granted = all(asked[o] == value for o, value in one.wishes[s])
                    if one.drives == p.INTERLOCK:
                        then.append(s if trips else before)
                    else:
                        then.append(s if granted else one.turned[s])
                for o, value in _wishes(deciders, chosen, p.LINK):
                    asked[o] = value
                yield tuple(then), asked

    def granted(self, chosen: tuple[int, ...], free: tuple[int | None, ...]) -> list[int]:
        """What is asked of each output where those who are not followed wish something besides."""
        wished = [set[int]() if one is None else {one} for one in free]
        for o, value in _wishes(self.plan.deciders, chosen, p.SEQUENCE):
            wished[o].add(value)
        asked = [
            some.pop() if len(some) == 1 else out.safe for some, out in zip(wished, self.plan.outputs, strict=True)
        ]
        for o, value in _wishes(self.plan.deciders, chosen, p.INTERLOCK):
            asked[o] = value
        return asked

    def acted(self, states: tuple[int, ...], asked: list[int], agree: Allowed) -> Iterator[tuple[int, ...]]:
        """All ways in which the gates may follow what is asked of them."""
        ways = []
        for at, (actor, state) in enumerate(zip(self.plan.actors, states[self.deciders :], strict=True)):
            some = agree[self.deciders + at]
            to = actor.moves[state][asked[self.output_of[at]] if at in self.output_of else SHUT]
            ways.append([s for s in to if some is None or s in some])
        return product(*ways)

    # --- the harm ------------------------------------------------------------------------------------

    def harmed(self, tree: h.Tree, look: Look) -> bool | None:
        """Whether the harm is so in a look; None where nothing tells."""
        t, names = self.scope.program.column, self.scope.program
        match tree:
            case h.AtLeast(tank, content):
                return look.holds[tank] >= content
            case h.Passing(gate):
                return look.opening[gate] > 0.0 if gate in look.opening else gate in look.passing
            case h.Tripped(interlock):
                return look.state[t[law.TRIPPED] + names.interlock(interlock)] == codes.TRIPPED
            case h.Active(step):
                return bool(look.state[t[law.ACTIVE] + names.step(step)])
            case h.InState(sequence, word):
                return codes.STATES[look.state[t[law.SEQUENCE] + names.sequence(sequence)]] == word
            case h.Linked(board):
                return board not in look.lost
            case h.AllOf(parts):
                return _least([self.harmed(part, look) for part in parts])
            case h.OneOf(parts):
                return _turned(_least([_turned(self.harmed(part, look)) for part in parts]))
            case h.Without(part):
                return _turned(self.harmed(part, look))
            case h.Lasting(part, ms):
                so = self.harmed(part, look)
                self.lasted[tree] = self.lasted.get(tree, -1) + 1 if so else -1
                return so and self.lasted[tree] * names.scan_ms >= ms
            case _:
                return None


def fitting(one: p.Decider, state: int, values: list[int]) -> list[int]:
    """Where a decider may go."""
    return sorted({to.to for to in one.moves[state] if all(values[row] & mask for row, mask in to.needs)})


def _wishes(deciders: Sequence[p.Decider], chosen: tuple[int, ...], drives: int) -> Iterator[tuple[int, int]]:
    """What all deciders of a kind wish."""
    for one, state in zip(deciders, chosen, strict=True):
        yield from one.wishes[state] if one.drives == drives else ()


def _turned(so: bool | None) -> bool | None:
    return None if so is None else not so


def _least(parts: list[bool | None]) -> bool | None:
    if False in parts:
        return False
    return None if None in parts else True


@dataclass(frozen=True, slots=True)
class _Sequence:
    """A sequence: its states here by what stands in its places of the law's state."""

    follower: Follower
    stands_for: dict[tuple[int, ...], frozenset[int]]

    def agrees(self, state: list[int]) -> frozenset[int]:
        column = list(state)
        self.follower._canonical(column)
        return self.stands_for.get(tuple(column[place] for place in self.follower.chart.own), frozenset())


class Agreeing:
    """Which states of each automaton of a plan agree with a look at the run."""

    def __init__(self, question: Question) -> None:
        scope = self.scope = question.scope
        self.place, self.t = question.place, scope.program.column
        self.sequences = {f"sequence {q}": self._sequence(question, q) for q in scope.sequences}
        self.gates = {f"gate {name}": (name, small_gate(scope, name).looks) for name in scope.near_gates}
        self.known: tuple[Look | None, Allowed] = (None, [])

    def _sequence(self, question: Question, q: int) -> _Sequence:
        timed = question.follow.timed
        chart = question.charts.of(q, timed)
        small = small_sequence(self.scope, chart)
        follower = Follower(self.scope.program, q, timed)
        return _Sequence(follower, dict(zip(chart.states, small.stands_for, strict=True)))

    def all(self, look: Look, then: Look) -> Allowed:
        """The states of every automaton that agree with a look; gates also with what passes until the next."""
        if self.known[0] is not look:
            self.known = look, [self._one(name, look, then) for name in self.place]
        return self.known[1]

    def _one(self, name: str, look: Look, then: Look) -> frozenset[int] | None:
        kind, _, part = name.partition(" ")
        state, t = look.state, self.t
        match kind:
            case "sequence":
                return self.sequences[name].agrees(state)
            case "lock":
                return frozenset({state[t[law.TRIPPED] + int(part)]})
            case "held":
                return frozenset({self._count(int(part), state)})
            case "link":
                return frozenset({int(part in look.lost)})
            case "gate":
                return self._gate(name, look, then)
            case _:
                return None

    def _count(self, row: int, state: list[int]) -> int:
        """Scans for which a delayed row has been true, this one among them, as far as they are counted."""
        clock = of(self.t, law.CLOCK_OF, HELDS) + self.scope.tables.right[row]
        if not state[self.t[law.RUNNING] + clock]:
            return 0
        scans = self.scope.scans(row)
        return min(state[self.t[law.CLOCK] + clock] // self.scope.program.scan_ms + 1, scans)

    def _gate(self, name: str, look: Look, then: Look) -> frozenset[int]:
        gate, looks = self.gates[name]
        thought = (
            tuple(self._thought(gate, row, look) for row in self.scope.asks_of_gate(gate))
            if gate in self.scope.gates
            else ()
        )
        open_ = max(look.opening.get(gate, 0.0), then.opening.get(gate, 0.0)) > 0.0
        return frozenset(
            state
            for state, one in enumerate(looks)
            if (one.kind or gate not in then.passed)
            and not (one.shut and open_)
            and all(mask >> value & 1 for mask, value in zip(one.thought, thought, strict=True))
        )

    def _thought(self, gate: str, row: int, look: Look) -> int:
        tables, t, output = self.scope.tables, self.t, self.scope.bands.gates[gate].output
        if tables.op[row] == codes.T_DRIVEN:
            return codes.TRUE if look.state[t[law.DEMAND] + output] != tables.output_safe[output] else codes.FALSE
        return valve_is(look.state[t[law.AT] + tables.left[row]], tables.right[row])
