"""Motor valves and pumps as small automata in scans: what may pass, and what the law may think of them.

A *gate* moves at each scan by what is asked of it. Asked to open it may pass from then on, at
any opening. Asked to shut it is certain to be shut only when a demand must have come or its
lease has run out, and the longest stroke is over; so a lost link needs no state of its own. The
law thinks what `ullage.control.positions` would: a position is presumed only as late as that, and
confirmed only where the valve stands there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

from ullage.control import codes
from ullage.control.program import Program
from ullage.control.timers import SCAN_LATE
from ullage.rig.model import Board, Rig

SHUT, PASSES, EITHER, OPENS = 1, 2, 3, 7
"""What a gate does between two scans: bits, so that not knowing is both; one that opens lets go what was shut off."""

MAY_FALSE, MAY_UNKNOWN, MAY_TRUE = 1, 2, 4
"""Bits of Kleene's values in a set of them: ``1 << value``."""

ANY = MAY_FALSE | MAY_UNKNOWN | MAY_TRUE


@dataclass(frozen=True, slots=True)
class Gate:
    """A gate as an automaton in scans.

    Attributes
    ----------
    name : str
    output : int
        The law's output that drives it.
    passes : tuple of int
        Per state, what it does until the next scan.
    shut : tuple of bool
        Per state, whether it stands shut for certain; a seeping one passes nevertheless.
    asked : tuple of int
        Per state, what the law asked of it last (0 shut, 1 open).
    believed : tuple of tuple of int
        Per state, what the law may think of ``is closed``, ``is open`` and ``is failed``: sets of
        Kleene's values.
    moves : tuple of (tuple of int, tuple of int, tuple of int)
        Per state, the states after a scan that asks it shut, after one that asks it open, and, in no time,
        after the law starts anew.
    starts : tuple of int
        States at the beginning: it stands where it is safe, and the law does not know it yet.
    """

    name: str
    output: int
    passes: tuple[int, ...]
    shut: tuple[bool, ...]
    asked: tuple[int, ...]
    believed: tuple[tuple[int, int, int], ...]
    moves: tuple[tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]], ...]
    starts: tuple[int, ...]


State = tuple[int, int, int, int]
"""What was asked last, and three counts: see the kinds of gates below. The second counts scans of the law."""

NOT_BEGUN = -1
"""What that count is before the first scan of the law: the clock that it keeps of a valve begins there."""


@dataclass(frozen=True, slots=True)
class Timing:
    """What is known of the times of a gate, in scans since its goal changed.

    Attributes
    ----------
    late : int
        From here on only the newest goal is acted upon.
    there : int
        From here on it has reached its goal for certain.
    presumed : int
        From here on the law presumes so.
    old : int
        How many scans a reading of its ends may be old.
    closed_end, open_end : bool
        Whether that end reports.
    """

    late: int
    there: int
    presumed: int
    old: int
    closed_end: bool
    open_end: bool


def timing_of(rig: Rig, program: Program, name: str, slow: float = 1.0) -> Timing | None:
    """Times of a gate, so many times as slow as it should be; None for one that may stay as it is without its link."""
    output, t, scan = program.output(name), program.tables, program.scan_ms
    part = rig.valves[name] if name in rig.valves else rig.pumps[name]
    lease = t.output_lease_ms[output]
    if part.board is not None and (lease == 0 or t.output_on_lapse[output] != t.output_safe[output]):
        return None
    board = rig.boards[part.board] if part.board is not None else Board()
    late = SCAN_LATE + (max(lease, round(1000 * board.delay.most)) if part.board is not None else 0)
    motor = rig.valves[name].motor if name in rig.valves else None
    stroke = round(1000 * motor.stroke.most) if motor else 0
    feedback = motor.feedback if motor else "none"
    return Timing(
        late=ceil(late / scan),
        there=max(1, ceil((late + stroke * slow) / scan)),
        presumed=max(1, ceil((late + stroke) / scan)),
        old=ceil(1000 * board.stale / scan) + 1,
        closed_end=feedback in ("closed_end", "both_ends"),
        open_end=feedback in ("open_end", "both_ends"),
    )


def healthy(rig: Rig, program: Program, name: str, restarts: bool = False, slow: float = 1.0) -> Gate:
    """A gate that works, if slowly; see `Timing`. Where the law may start anew, its moves say what then comes of it."""
    timing, output = timing_of(rig, program, name, slow), program.output(name)
    if timing is None:
        return loose(rig, program, name, restarts)
    return _numbered(name, output, program.tables.output_safe[output], _Healthy(timing), restarts)


def seeping(gate: Gate) -> Gate:
    """The same gate, letting a little pass where it stands shut."""
    passes = (EITHER,) * len(gate.passes)
    return Gate(gate.name, gate.output, passes, gate.shut, gate.asked, gate.believed, gate.moves, gate.starts)


def wilful(rig: Rig, program: Program, name: str, restarts: bool = False) -> Gate:
    """A gate that goes where it likes at any time; its ends report where it stands."""
    timing, output = timing_of(rig, program, name), program.output(name)
    if timing is None:
        return loose(rig, program, name, restarts)
    return _numbered(name, output, program.tables.output_safe[output], _Wilful(timing), restarts)


def freezing(rig: Rig, program: Program, name: str, restarts: bool = False) -> Gate:
    """A gate that may stay where it is at any time: stuck, or without power."""
    timing, output = timing_of(rig, program, name), program.output(name)
    if timing is None:
        return loose(rig, program, name, restarts)
    return _numbered(name, output, program.tables.output_safe[output], _Freezing(timing), restarts)


def loose(rig: Rig, program: Program, name: str, restarts: bool = False) -> Gate:
    """A gate of which nothing is known but what was asked of it."""
    output = program.output(name)
    return _numbered(name, output, program.tables.output_safe[output], _Loose(), restarts)


class _Healthy:
    """States are what was asked last, scans since then as the boards count and as the law does, whether it is there."""

    def __init__(self, timing: Timing) -> None:
        self.timing = timing

    def start(self, safe: int) -> State:
        """It stands where it is safe; the clock of the law begins with its first scan."""
        return safe, self.timing.there, NOT_BEGUN, 1

    def after(self, state: State, asked: int) -> Iterator[State]:
        """States after a scan that asks something of it."""
        goal, since, known, there = state
        if asked != goal:
            yield asked, 0, 0, 0
            return
        timing = self.timing
        since, known = min(since + 1, timing.there), min(known + 1, timing.presumed)
        ends = timing.open_end if goal else timing.closed_end
        if not there and since < timing.there:
            yield goal, since, known, 0
        if there or since == timing.there or (ends and since >= timing.late):
            yield goal, since, known, 1

    def passes(self, state: State) -> int:
        """What it does until the next scan."""
        goal, since, _, there = state
        if goal == codes.CLOSED:
            return SHUT if there else EITHER
        return EITHER if there or since else OPENS

    def shut(self, state: State) -> bool:
        """Whether it stands shut for certain."""
        return self.passes(state) == SHUT

    def believed(self, state: State) -> tuple[int, int, int]:
        """What the law may think of it."""
        goal, _, known, there = state
        timing = self.timing
        passed = known >= timing.presumed
        if timing.open_end if goal else timing.closed_end:
            return _believed(goal, bool(there) and known >= timing.late, False, True)
        return _believed(goal, passed, passed and not _reports(timing), _reports(timing))


class _Freezing(_Healthy):
    """As a healthy one, but it need never come there."""

    def after(self, state: State, asked: int) -> Iterator[State]:
        """States after a scan that asks something of it."""
        goal, _, _, there = state
        for one in super().after(state, asked):
            yield one
            if one[1] == self.timing.there and not (asked == goal and there):
                yield *one[:3], 0


class _Wilful(_Healthy):
    """As a healthy one, but the last entry counts the scans since it stood shut, and it goes where it likes."""

    def start(self, safe: int) -> State:
        """It stands shut; the clock of the law begins with its first scan."""
        return safe, 0, NOT_BEGUN, 0

    def after(self, state: State, asked: int) -> Iterator[State]:
        """States after a scan that asks something of it."""
        goal, _, known, open_for = state
        known = min(known + 1, self.timing.presumed) if asked == goal else 0
        yield asked, 0, known, 0
        yield asked, 0, known, min(open_for + 1, self.timing.old + 1)

    def passes(self, state: State) -> int:
        """What it does until the next scan."""
        return (SHUT, OPENS, EITHER)[min(state[3], 2)]

    def believed(self, state: State) -> tuple[int, int, int]:
        """What the law may think of it: it takes a reading of an end for as long as that may be old."""
        goal, _, known, open_for = state
        timing = self.timing
        passed = known >= timing.presumed
        if goal == codes.CLOSED and timing.closed_end:
            return _believed(goal, known >= timing.late and open_for <= timing.old, False, True)
        if goal == codes.OPEN and timing.open_end:
            return _believed(goal, known >= timing.late, False, True)
        return _believed(goal, passed, passed and not _reports(timing), _reports(timing))


class _Loose:
    """States are what was asked last, and whether the law has made a scan since."""

    def start(self, safe: int) -> State:
        """Nothing has been asked."""
        return safe, 0, NOT_BEGUN, 0

    def after(self, state: State, asked: int) -> Iterator[State]:
        """The state after a scan that asks something of it."""
        yield asked, 0, 0, 0

    def passes(self, state: State) -> int:
        """Anything."""
        return EITHER

    def shut(self, state: State) -> bool:
        """Never for certain."""
        return False

    def believed(self, state: State) -> tuple[int, int, int]:
        """Anything."""
        return ANY, ANY, ANY


def _reports(timing: Timing) -> bool:
    return timing.closed_end or timing.open_end


def _believed(goal: int, may: bool, must: bool, reports: bool) -> tuple[int, int, int]:
    """What the law may think of closed, open and failed, where it may or must think the goal reached."""
    there = (MAY_TRUE if may else 0) | (0 if must else MAY_FALSE | MAY_UNKNOWN)
    nowhere = MAY_FALSE | (0 if must else MAY_UNKNOWN)
    failed = MAY_FALSE | MAY_UNKNOWN | (MAY_TRUE if reports else 0)
    if must:
        failed = MAY_FALSE
    return (nowhere, there, failed) if goal == codes.OPEN else (there, nowhere, failed)


def _numbered(name: str, output: int, safe: int, kind: _Healthy | _Loose, restarts: bool) -> Gate:
    """An automaton of a kind, its states numbered in the order in which they are reached."""
    states, moves = [kind.start(safe)], list[tuple[tuple[int, ...], tuple[int, ...], tuple[int, ...]]]()
    known = {states[0]: 0}
    for state in states:  # grows while it is walked
        after = [list(kind.after(state, asked)) for asked in (codes.CLOSED, codes.OPEN)]
        # The boards and the valve know nothing of it when the law starts anew.
        after.append([(*state[:2], NOT_BEGUN, state[3])] if restarts else [])
        for one in (one for ways in after for one in ways):
            if one not in known:
                known[one] = len(states)
                states.append(one)
        shut, opened, anew = (tuple(known[one] for one in ways) for ways in after)
        moves.append((shut, opened, anew))
    return Gate(
        name=name,
        output=output,
        passes=tuple(kind.passes(state) for state in states),
        shut=tuple(kind.shut(state) for state in states),
        asked=tuple(safe if state[2] == NOT_BEGUN else state[0] for state in states),
        believed=tuple(kind.believed(state) for state in states),
        moves=tuple(moves),
        starts=(0,),
    )
