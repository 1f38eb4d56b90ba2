"""One scan of the simulator beside what the finite plant allows of it: volumes, gates, rows, supplies.

What the finite plant says that a tank holds is no less than what it does, with what accumulators
hold that are joined to it, and no more than with all that they can hold back from it: so what it
comes to at most is compared with the tank and those accumulators, what at least with the tank.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import floor

from tests.agree.concrete import Drawn, Look, bands_of, timeless, turns_of
from ullage.control import codes
from ullage.control import layout as law
from ullage.control.truth import valve_is
from ullage.plant.bands import Bands, Turn
from ullage.plant.gates import SHUT, Gate

NOTHING = 0.5
"""What a tank may gain or lose in a scan besides [mL]: half of what the plant lets pass as the error of a step."""

WANTED = (codes.CLOSED, codes.OPEN, codes.FAILED)
"""What may be asked of where a valve is, in the order of `Gate.believed`."""


def complaints(run: Drawn) -> Iterator[str]:
    """What a run did that the finite plant does not allow; nothing when all is well."""
    faults = timeless(run.faults)
    bands, turns = bands_of(run.name, faults), turns_of(run.name, faults)
    gates = {name: GateFollowed(gate) for name, gate in bands.gates.items()}
    for k, (before, after) in enumerate(zip(run.looks, run.looks[1:], strict=False)):
        for what in (
            *flows(bands, before, after),
            *supplies(bands, before, after),
            *rows(bands, turns, after),
            *(what for gate in gates.values() for what in gate.follow(run, k)),
        ):
            yield f"{run}: at {before.ms} ms {what}"


def flows(bands: Bands, before: Look, after: Look) -> Iterator[str]:
    """Tanks that gained more or less than they may with these gates passing."""
    for tank, edges in bands.edges.items():
        now, was = after.passed & frozenset(bands.gates), before.passed & frozenset(bands.gates)
        least, most = before.holds[tank], before.holds[tank] + joined(bands, before, tank, now & was)
        reached = after.holds[tank] + joined(bands, after, tank, now)
        strip = max((n for n, edge in enumerate(edges[:-1]) if edge <= most), default=0)
        low, high = bands.rate(tank, now, strip, now - was, pours=True)
        low, high = (min(max(end, 0), edges[-1]) for end in (least + low, most + high))
        if not low <= after.holds[tank] + NOTHING or not min(reached, edges[-1]) - NOTHING <= high:
            yield f"{tank} goes from {least}..{most} to {after.holds[tank]}..{reached} mL, not within {low}..{high} mL"


def joined(bands: Bands, look: Look, tank: str, passing: frozenset[str]) -> float:
    """What the accumulators hold that are joined to a tank while some gates pass [mL]."""
    return look.stored if bands.joined(tank, passing) else 0.0


def ends(look: Look, tank: str) -> tuple[float, float]:
    """What a tank holds, and what it holds with all that accumulators hold back [mL]."""
    return look.holds[tank], look.holds[tank] + look.stored


def supplies(bands: Bands, before: Look, after: Look) -> Iterator[str]:
    """Pumps that run where a float cuts their supply."""
    for pump in after.passed & frozenset(bands.rig.pumps):
        wired = bands.wired(pump)
        if wired and not wired[1] <= min(floor(before.holds[wired[0]]), bands.edges[wired[0]][-1]) <= wired[2]:
            yield f"{pump} runs with {before.holds[wired[0]]} mL in {wired[0]}, not only within {wired[1:]} mL"


def rows(bands: Bands, turns: dict[int, Turn], look: Look) -> Iterator[str]:
    """Comparisons whose truth is none that this content allows, with or without what accumulators hold back."""
    for row, turn in turns.items() if look.decides else ():
        truth = look.truth[row]
        limit = turn.true if truth == codes.TRUE else turn.false
        rising = turn.rises == (truth == codes.TRUE)
        for content in map(floor, ends(look, turn.tank)):
            if truth != codes.UNKNOWN and (content < limit if rising else content > limit):
                text = bands.program.names.truths[row]
                yield f"'{text}' is {codes.TRUTHS[truth]} with {content} mL in {turn.tank}: {turn}"


class GateFollowed:
    """A gate as its automaton sees it: every state that it may be in."""

    def __init__(self, gate: Gate) -> None:
        self.gate, self.states = gate, frozenset(gate.starts)

    def follow(self, run: Drawn, k: int) -> Iterator[str]:
        """Go on by one scan and keep the states that agree with the valve from there on to the next."""
        look, then = run.looks[k], run.looks[k + 1]
        asked = look.state[run.program.column[law.DEMAND] + self.gate.output]
        anew = {to for state in self.states for to in self.gate.moves[state][2]}
        after = {to for state in self.states | anew for to in self.gate.moves[state][asked]}
        kept = frozenset(state for state in after if self.agrees(run, state, look, then))
        if not kept:
            said = [(self.gate.passes[s], self.gate.shut[s], self.gate.believed[s]) for s in sorted(after)]
            opening = look.opening.get(self.gate.name), then.opening.get(self.gate.name)
            yield f"{self.gate.name} asked {asked} is open {opening}, the law thinks {self.thought(run, look)}: {said}"
        self.states = kept or frozenset(after)

    def agrees(self, run: Drawn, state: int, look: Look, then: Look) -> bool:
        """Whether a state lets the valve pass what it does, and the law think what it does."""
        name, gate = self.gate.name, self.gate
        if gate.passes[state] == SHUT and name in then.passed:
            return False
        if gate.shut[state] and max(look.opening.get(name, 0.0), then.opening.get(name, 0.0)) > 0.0:
            return False
        thought = self.thought(run, look)
        so = (mask >> value & 1 for mask, value in zip(gate.believed[state], thought, strict=False))
        return not look.decides or all(so)

    def thought(self, run: Drawn, look: Look) -> tuple[int, ...]:
        """What the law thinks of a valve after a scan."""
        t, column = run.program.tables, run.program.column
        if self.gate.output not in t.valve_output:
            return ()
        position = look.state[column[law.AT] + t.valve_output.index(self.gate.output)]
        return tuple(valve_is(position, wanted) for wanted in WANTED)
