"""What a sequence may do, seen from its outputs: the law's own code, run for every answer it may get.

A sequence is followed by itself: its procedural state, its steps, what its actions have stored and
their clocks. What its guards say and what an operator commands stays open, so each move tells what
it needs to be so. A clock of a step counts only where it is asked for (`timed`); else ``since``
may be true at any time, which is more than the law allows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from ullage.control import layout as at
from ullage.control.actions import bring_up, remember_steps
from ullage.control.codes import (
    ABORTING,
    AT_CLOSED,
    FALSE,
    GOOD,
    HOLDING,
    OVERRIDDEN,
    PAUSED,
    STALE,
    STOPPING,
    TRAVELLING,
    TRUE,
    UNKNOWN,
)
from ullage.control.evolve import evolve_chart
from ullage.control.layout import of
from ullage.control.procedure import enter, live, take_turn
from ullage.control.program import Program, initial_state
from ullage.control.record import log_for
from ullage.control.timers import ASSOCIATIONS, SEQUENCES, advance_clock
from ullage.prove.answers import Answer, all_paths

STATES_LIMIT = 5000
"""A sequence with more states is not followed."""

TIMED_LIMIT = 40
"""The clock of a step that is asked for more scans than this never counts."""

COMMANDS = tuple(range(10))
"""Every command of `ullage.control.codes`, none first."""

TRUTHS = (FALSE, UNKNOWN, TRUE)

QUALITIES = (GOOD, STALE)
"""What a signal may be for a sequence that needs it: of what is not good it does not ask why."""

Needs = tuple[tuple[int, int], ...]
"""Rows with what each must be, bit ``1 << value`` of each value that will do: truth rows, and those of `good_row`."""


class TooLarge(Exception):
    """A sequence has more states than can be followed."""


@dataclass(frozen=True, slots=True)
class Move:
    """One way on: what the rows must be, and the state it leads to."""

    needs: Needs
    to: int


@dataclass(slots=True, eq=False)
class Chart:
    """A sequence as an automaton in scans.

    Attributes
    ----------
    program : Program
    q : int
        Row of the sequence.
    own : tuple of int
        Places in the state's column that it owns.
    states : list of tuple of int
        What stands in these places, state by state; of those two the first are where it may begin.
    moves : list of list of Move
    on : list of set of (int, int)
        Output and value of each action that is on.
    overridden : list of int
        State after an interlock has driven one of these otherwise; itself where that changes nothing.
    starts : int
        How many of the first states it may begin in.
    """

    program: Program
    q: int
    own: tuple[int, ...]
    states: list[tuple[int, ...]] = field(default_factory=list)
    moves: list[list[Move]] = field(default_factory=list)
    on: list[frozenset[tuple[int, int]]] = field(default_factory=list)
    overridden: list[int] = field(default_factory=list)
    starts: int = 0

    def entries(self, state: int) -> dict[int, int]:
        """What stands in each place of a state's column that the sequence owns."""
        return dict(zip(self.own, self.states[state], strict=True))


class Follower:
    """Follows one sequence of a Program.

    Parameters
    ----------
    program : Program
    q : int
        Row of the sequence.
    timed : bool
        Whether the clocks of its steps count.
    """

    def __init__(self, program: Program, q: int, timed: bool = False) -> None:
        self.program, self.q = program, q
        t = self.t = program.column
        self.base = at.join(initial_state(program, released=True))
        self.base[t[at.READY]] = 1
        for signal in range(t[at.SIGNALS]):
            self.base[t[at.QUALITY] + signal] = GOOD
        self.actions = [a for a in range(t[at.ACTIONS]) if of(t, at.ACTION_SEQUENCE, a) == q]
        self.steps = list(range(of(t, at.STEP_FIRST, q), of(t, at.STEP_FIRST, q + 1)))
        self.associations = [
            k for a in self.actions for k in range(of(t, at.ASSOCIATION_FIRST, a), of(t, at.ASSOCIATION_FIRST, a + 1))
        ]
        self.delay = max((of(t, at.OUTPUT_SAFE_AFTER_MS, of(t, at.ACTION_OUTPUT, a)) for a in self.actions), default=0)
        self.clocks = [of(t, at.CLOCK_OF, ASSOCIATIONS) + k for k in self.associations]
        self.timed_steps = [s for s in self.steps if timed and is_timed(program, s)]
        self.clock = of(t, at.CLOCK_OF, SEQUENCES) + q
        # What a gesture commands an operator may command as well.
        gestures = range(of(t, at.GESTURE_FIRST, q), of(t, at.GESTURE_FIRST, q + 1))
        self.gestures = {of(t, at.GESTURE_GUARD, g) for g in gestures} - set(rows_of(program, q))
        self.log = log_for(0)
        self.chart = Chart(program, q, tuple(self._own()))
        self.known: dict[tuple[int, ...], int] = {}

    def _own(self) -> Iterator[int]:
        t, q = self.t, self.q
        yield from (t[column] + q for column in (at.SEQUENCE, at.RELEASED, at.ARMED))
        yield from (t[column] + s for column in (at.ACTIVE, at.WAS) for s in self.steps)
        yield from (t[at.ON] + a for a in self.actions)
        yield from (t[at.STORED] + k for k in self.associations)
        yield from (t[column] + c for column in (at.CLOCK, at.RUNNING) for c in [self.clock, *self.clocks])
        yield from (t[column] + s for column in (at.CLOCK, at.RUNNING) for s in self.timed_steps)

    def follow(self) -> Chart:
        """Every state that the sequence may reach, and every move between them.

        Raises
        ------
        TooLarge
            When there are more than `STATES_LIMIT`.
        """
        chart = self.chart
        for released in (0, 1):
            column = list(self.base)
            column[self.t[at.RELEASED] + self.q] = released
            self._number(column)
        chart.starts = len(chart.states)
        for state, _ in enumerate(chart.states):  # grows while it is walked
            chart.moves.append(list(merged(self._moves(state))))
            chart.overridden.append(self._override(state))
        return chart

    def _moves(self, state: int) -> Iterator[Move]:
        t, q = self.t, self.q
        before = self._column(state)
        truths = {t[at.TRUTH] + row: TRUTHS for row in range(t[at.TRUTHS]) if row not in self.gestures}
        acting = before[t[at.SEQUENCE] + q] in (HOLDING, STOPPING, ABORTING)
        options: Mapping[str, Mapping[int, Sequence[int]]] = {
            "truth": truths,
            "command": {t[at.SEEN_COMMAND] + q: COMMANDS},
            "quality": {t[at.QUALITY] + signal: QUALITIES for signal in needs_of(self.program, q)},
        }
        sizes = {"truth": t[at.WORK_SIZE], "command": t[at.IMAGE_SIZE], "quality": t[at.STATE_SIZE]}
        for settled in (0, 1) if acting else (1,):

            def run(work: list[int], image: list[int], out: list[int], settled: int = settled) -> int:
                return self._scan(before, work, image, out, settled)

            for answers, to in all_paths(sizes, options, run):
                yield Move(self._needs(answers), to)

    def _needs(self, answers: Iterable[Answer]) -> Needs:
        truth, quality = self.t[at.TRUTH], self.t[at.QUALITY]
        needs = [(entry - truth, 1 << value) for column, entry, value in answers if column == "truth"]
        needs += [
            (good_row(entry - quality), 1 << TRUE if value == GOOD else 1 << FALSE | 1 << UNKNOWN)
            for column, entry, value in answers
            if column == "quality"
        ]
        return tuple(sorted(needs))

    def _scan(self, before: list[int], work: list[int], image: list[int], out: list[int], settled: int) -> int:
        """The part of one scan that concerns the sequence; ``out`` is filled here but for what is open in it."""
        t, q, log = self.t, self.q, self.log
        out[:] = before
        log[1] = 0
        for v in range(t[at.VALVES]):
            out[t[at.AT] + v] = AT_CLOSED if settled else TRAVELLING
        for p in range(t[at.PARAMETERS]):
            image[t[at.SEEN_PARAMETER] + p] = of(t, at.PARAMETER_DEFAULT, p)
        for c in (self.clock, *self.clocks, *self.timed_steps):
            advance_clock(t, out, c, self.program.scan_ms)
        take_turn(t, image, out, work, q, log)
        evolve_chart(t, before, out, work, q, log)
        for a in self.actions:
            bring_up(t, out, a)
        remember_steps(t, out, q)
        return self._number(out)

    def _override(self, state: int) -> int:
        out = self._column(state)
        if not live(out[self.t[at.SEQUENCE] + self.q]):
            return state
        enter(self.t, out, self.q, HOLDING, OVERRIDDEN, self.log)
        return self._number(out)

    def _column(self, state: int) -> list[int]:
        column = list(self.base)
        for place, value in zip(self.chart.own, self.chart.states[state], strict=True):
            column[place] = value
        return column

    def _number(self, column: list[int]) -> int:
        """Number of the state that a column shows, a new one where it has not been seen."""
        t = self.t
        self._canonical(column)
        key = tuple(column[place] for place in self.chart.own)
        if key not in self.known:
            if len(self.known) == STATES_LIMIT:
                raise TooLarge(self.program.names.sequences[self.q])
            self.known[key] = len(self.chart.states)
            self.chart.states.append(key)
            self.chart.on.append(
                frozenset(
                    (of(t, at.ACTION_OUTPUT, a), of(t, at.ACTION_VALUE, a))
                    for a in self.actions
                    if column[t[at.ON] + a]
                )
            )
        return self.known[key]

    def _canonical(self, column: list[int]) -> None:
        """Forget what no longer counts: the clock of a state that waits for no delay."""
        t = self.t
        waits = self.delay > 0 and column[t[at.SEQUENCE] + self.q] in (HOLDING, PAUSED, STOPPING)
        column[t[at.CLOCK] + self.clock] = min(column[t[at.CLOCK] + self.clock], self.delay) if waits else 0
        column[t[at.RUNNING] + self.clock] = int(waits)


def is_timed(program: Program, step: int) -> bool:
    """Whether a guard asks how long a step is active, for few enough scans to count them."""
    t = program.tables
    marks = t.marks[t.mark_first[step] : t.mark_first[step + 1]]
    return len(marks) > 0 and max(marks) <= TIMED_LIMIT * program.scan_ms


def rows_of(program: Program, q: int) -> list[int]:
    """Truth rows that a sequence asks: to start, to stay, to begin by itself, and before each transition."""
    t = program.column
    guards = [
        of(t, at.TRANSITION_GUARD, i) for i in range(of(t, at.TRANSITION_FIRST, q), of(t, at.TRANSITION_FIRST, q + 1))
    ]
    asked = [of(t, column, q) for column in (at.SEQUENCE_PERMIT, at.SEQUENCE_STAY, at.SEQUENCE_BEGINS)]
    return [row for row in (*asked, *guards) if row >= 0]


def needs_of(program: Program, q: int) -> list[int]:
    """Signals that must be good for some step of a sequence to stay active."""
    t = program.tables
    steps = range(t.step_first[q], t.step_first[q + 1])
    return sorted({signal for s in steps for signal in t.needs[t.needs_first[s] : t.needs_first[s + 1]]})


def good_row(signal: int) -> int:
    """Number of the row that says whether a signal is good, below those of the law's truth rows: none of them is 0."""
    return -1 - signal


def follow(program: Program, q: int, timed: bool = False) -> Chart:
    """A sequence of a Program as an automaton in scans; see `Follower.follow`."""
    return Follower(program, q, timed).follow()


def merged(moves: Iterable[Move]) -> Iterator[Move]:
    """The same moves, those that differ only in what one row must be made one."""
    left = sorted({(move.to, move.needs) for move in moves})
    for row in sorted({row for _, needs in left for row, _ in needs}, reverse=True):
        groups: dict[tuple[int, Needs, bool], int] = {}
        for to, needs in left:
            here = [mask for other, mask in needs if other == row]
            rest = tuple(need for need in needs if need[0] != row)
            groups[to, rest, bool(here)] = groups.get((to, rest, bool(here)), 0) | sum(here)
        left = sorted(
            {
                (to, rest if not asked or mask == 7 else tuple(sorted((*rest, (row, mask)))))
                for (to, rest, asked), mask in groups.items()
            }
        )
    for to, needs in left:
        yield Move(needs, to)


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
