"""Guards watched along a run: of the water and the parts themselves, from records and samples.

Levels are looked at with every sample and every record; a probe is as it was read, since nothing
else is sampled of it. A valve that is not shut counts as open.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from math import ceil
from typing import TYPE_CHECKING

from ullage.control import codes
from ullage.control.program import Program
from ullage.plant import words
from ullage.plant.works import Works
from ullage.rig import meaning
from ullage.rig.meaning import Condition, Linear, Symbol
from ullage.rig.shapes import volume

if TYPE_CHECKING:
    from numpy import float64, int64
    from numpy.typing import NDArray

_FOLLOWED = (
    words.P_VALVE,
    words.P_PUMP,
    words.P_ATTITUDE,
    codes.R_STATE,
    codes.R_STEP,
    codes.R_POSITION,
    codes.R_QUALITY,
)
"""Kinds of record that change what a guard may speak of."""

_PER_SI = {"current": 1e3, "pressure": 1.0, "voltage": 1e3}
"""Counts of a probe's reading in its unit of SI."""


class Watch:
    """What is so at each moment of a run.

    Parameters
    ----------
    works, program
        Of the run.
    records : (N, 5) array of int
    series : dict of (K,) array
        Samples; see `ullage.simulate.run.Run`.
    """

    def __init__(
        self, works: Works, program: Program, records: NDArray[int64], series: dict[str, NDArray[float64]]
    ) -> None:
        self.works, self.program, self.series = works, program, series
        self._all = records

    @cached_property
    def records(self) -> list[tuple[int, ...]]:
        """The records that change what a guard may speak of, in order."""
        from numpy import isin

        followed = isin(self._all[:, 1], _FOLLOWED)
        return [tuple(row) for row in self._all[followed].tolist()]

    @cached_property
    def times(self) -> list[int]:
        """Time of each sample [ms]."""
        return [round(1000 * float(when)) for when in self.series["time"]]

    def _sweep(self, guard: Condition) -> Iterator[tuple[int, bool, _Now]]:
        """Each moment of the run [ms], whether a guard is true then, and all that is so."""
        now = _Now(self)
        record = 0
        for row, ms in enumerate(self.times):
            while record < len(self.records) and self.records[record][0] <= ms:
                when = self.records[record][0]
                yield from now.due(guard, when)
                while record < len(self.records) and self.records[record][0] == when:
                    now.turn(self.records[record])
                    record += 1
                now.ms = when
                yield when, now.holds(guard), now
            yield from now.due(guard, ms)
            now.ms, now.row = ms, row
            yield ms, now.holds(guard), now

    def first(self, guard: Condition) -> int:
        """When a guard is true for the first time [ms], -1 when it never is."""
        return next((ms for ms, true, _ in self._sweep(guard) if true), -1)

    def at(self, guard: Condition, ms: int) -> tuple[bool, str]:
        """Whether a guard is true at a time [ms], and what is so instead."""
        true, told = False, ""
        for when, holds, now in self._sweep(guard):
            if when > ms:
                break
            true, told = holds, now.told(guard, holds)
        return true, told


class _Now:
    """The state of everything that a guard may speak of, at one moment."""

    def __init__(self, watch: Watch) -> None:
        self.watch, self.rig = watch, watch.works.rig
        self.ms, self.row = 0, 0
        self.states: dict[tuple[int, int], int] = {
            (words.P_VALVE, row): rests for row, rests in enumerate(watch.works.integers["valve_relay"])
        }
        self.since: dict[meaning.Held, int] = {}

    def due(self, guard: Condition, before: int) -> Iterator[tuple[int, bool, _Now]]:
        """Each moment before a time at which something has been so for long enough, though nothing else changes."""
        ends = {ceil(since + 1000 * held.seconds) for held, since in self.since.items()}
        for self.ms in sorted(end for end in ends if self.ms < end < before):
            yield self.ms, self.holds(guard), self

    def turn(self, record: tuple[int, ...]) -> None:
        """Take what a record says."""
        _, kind, row, value, _ = record
        self.states[kind, row] = value

    def state(self, kind: int, row: int, otherwise: int) -> int:
        """What the last record of a kind said of a part."""
        return self.states.get((kind, row), otherwise)

    def holds(self, guard: Condition) -> bool:
        """Whether a guard is true now."""
        names = self.watch.program.names
        match guard:
            case meaning.All(parts):
                # Every part is looked at: one that is held goes on counting.
                return min(self.holds(part) for part in parts)
            case meaning.AnyOf(parts):
                return max(self.holds(part) for part in parts)
            case meaning.Not(part):
                return not self.holds(part)
            case meaning.Held():
                return self.held(guard)
            case Linear():
                return self.compares(guard)
            case meaning.Flag(symbol):
                return self.wet(symbol) if symbol.kind == "float" else self.turns(symbol)
            case meaning.ValveIs(valve, word):
                return self.stands(valve.name, word)
            case meaning.SequenceIs(sequence, word):
                row = names.sequences.index(sequence.name)
                return codes.STATES[self.state(codes.R_STATE, row, codes.IDLE)] == word
            case meaning.AtStep(sequence, step):
                row = self.watch.program.step(f"{sequence.name}.{step}")
                return bool(self.state(codes.R_STEP, row, self.watch.program.tables.step_initial[row]))
            case meaning.HandsetIs(attitude):
                return codes.ATTITUDES[self.state(words.P_ATTITUDE, 0, codes.DOCKED)] == attitude
            case meaning.Linked(board):
                return self.good(f"{board.name}.link")
            case meaning.Good(symbol):
                return self.good(symbol.name)
            case _:
                raise AssertionError(f"{guard} stands outside of a transition")

    def told(self, guard: Condition, true: bool) -> str:
        """What is so, in a word."""
        match guard:
            case meaning.ValveIs(_, word) if word != "failed":
                return word if true else ("open" if word == "closed" else "closed")
            case meaning.SequenceIs(sequence, _):
                row = self.watch.program.names.sequences.index(sequence.name)
                return codes.STATES[self.state(codes.R_STATE, row, codes.IDLE)]
            case _:
                return "so" if true else "not so"

    def held(self, guard: meaning.Held) -> bool:
        """Whether something has been so for a time without a break."""
        if not self.holds(guard.part):
            self.since.pop(guard, None)
            return False
        return self.ms - self.since.setdefault(guard, self.ms) >= 1000 * guard.seconds

    def compares(self, linear: Linear) -> bool:
        """Whether a comparison is true."""
        total = linear.constant + sum(factor * self.value(symbol) for factor, symbol in linear.terms)
        match linear.op:
            case "<":
                return total < 0.0
            case "<=":
                return total <= 0.0
            case ">":
                return total > 0.0
            case _:
                return total >= 0.0

    def value(self, symbol: Symbol) -> float:
        """What a signal stands for, in SI."""
        series, works = self.watch.series, self.watch.works
        if symbol.kind == "sender":
            return float(series[f"volume.{symbol.tank}"][self.row])
        if symbol.kind == "meter":
            line = works.plumbing.links[works.plumbing.part_link[symbol.name]].name
            return float(series[f"flow.{line}"][self.row])
        probe = self.rig.probes[symbol.name]
        return float(series[f"reading.{symbol.name}"][self.row]) / _PER_SI[probe.measures]

    def wet(self, symbol: Symbol) -> bool:
        """Whether the water stands at a float, on level ground."""
        switch = self.rig.floats[symbol.name]
        content = float(self.watch.series[f"volume.{switch.on}"][self.row])
        return content >= volume(self.rig.tanks[switch.on].shape, switch.at)

    def turns(self, symbol: Symbol) -> bool:
        """Whether a pump turns."""
        return bool(self.state(words.P_PUMP, self.watch.works.plumbing.pumps[symbol.name], 0))

    def stands(self, valve: str, word: str) -> bool:
        """Whether a valve is shut, or not, or has failed in the eyes of the law."""
        if word == "failed":
            row = self.watch.program.names.valves.index(valve)
            return self.state(codes.R_POSITION, row, codes.NOT_KNOWN) == codes.FAILED
        shut = self.state(words.P_VALVE, list(self.rig.valves).index(valve), 0) == 0
        return shut == (word == "closed")

    def good(self, signal: str) -> bool:
        """Whether the law has a good reading of a signal."""
        return self.state(codes.R_QUALITY, self.watch.program.signal(signal), codes.NEVER) == codes.GOOD
