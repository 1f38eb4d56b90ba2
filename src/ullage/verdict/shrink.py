"""Make a story short: leave out and bring back to the usual whatever the harm does not need.

Lists are thinned by delta debugging (Zeller and Hildebrandt 2002, "Simplifying and isolating
failure-inducing input", IEEE Transactions on Software Engineering 28).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from ullage.control import codes
from ullage.control.rows import SCALES
from ullage.control.timers import NEVER_MS
from ullage.plant import happenings as h
from ullage.plant.faults import Fault
from ullage.rig.meaning import Law, Statement
from ullage.rig.model import Rig, Slope
from ullage.simulate.happenings import Happening
from ullage.simulate.scenario import Scenario
from ullage.verdict.trial import SEEN_EVERY_MS, Trials, is_seen_on_the_way

T = TypeVar("T")

TRIALS, TRIALS_FOR_ONE = 160, 10
"""At most so many trials are made to shorten one story, and no more than so many for each that could have found it."""

AFTERMATH_MS = 120_000
"""A story goes on for so long after its harm begins [ms], so that it is seen what it comes to."""

ROUND_MS = (600_000, 60_000, 10_000, 1_000)
"""Times are brought to whole tens of minutes, minutes, tens of seconds or seconds, whichever the harm allows."""


def shrunk(
    trials: Trials, law: Law, scenario: Scenario, seed: int, statement: Statement, runs: int = TRIALS
) -> tuple[Scenario, int]:
    """The shortest scenario found that still makes a statement so, and its seed.

    Parameters
    ----------
    trials : Trials
    law : Law
        Of the same rig.
    scenario, seed
        A run in which the statement is so.
    statement : Statement
    runs : int
        Trials that there were for finding it.
    """
    work = _Shrinking(trials, law, statement, scenario, seed, min(TRIALS, TRIALS_FOR_ONE * runs))
    for step in (work.cut, work.leave_out_groups, work.thin, work.settle, work.thin, work.tidy, work.shorten):
        step()
    return work.scenario, work.seed


@dataclass
class _Shrinking:
    """A story on its way."""

    trials: Trials
    law: Law
    statement: Statement
    scenario: Scenario
    seed: int
    most: int

    def __post_init__(self) -> None:
        self.limit = self.trials.spent + self.most

    @property
    def rig(self) -> Rig:
        """The rig of the story."""
        return self.trials.rig

    def keep(self, scenario: Scenario, seed: int | None = None) -> bool:
        """Take another scenario in place of the present one if it still does the harm."""
        other = self.seed if seed is None else seed
        if self.trials.spent >= self.limit or (scenario == self.scenario and other == self.seed):
            return False
        if self.trials.make(scenario, other, self.statement) is None:
            return False
        self.scenario, self.seed = scenario, other
        return True

    def with_happenings(self, happenings: Iterable[Happening]) -> Scenario:
        """The same with other happenings."""
        return replace(self.scenario, happenings=tuple(happenings))

    def cut(self) -> None:
        """Leave out what comes after the harm."""
        harmed_ms = self.harmed_ms()
        if harmed_ms >= 0:
            left = tuple(one for one in self.scenario.happenings if one.ms <= harmed_ms)
            faults = tuple(fault for fault in self.scenario.faults if fault.start_ms <= harmed_ms)
            self.keep(replace(self.scenario, happenings=left, faults=faults))

    def shorten(self) -> None:
        """End soon after the harm."""
        harmed_ms = self.harmed_ms()
        for after_ms in (AFTERMATH_MS, 4 * AFTERMATH_MS) if harmed_ms >= 0 else ():
            hours = -(-(harmed_ms + after_ms) // 60_000) / 60.0
            if hours < self.scenario.hours and self.keep(replace(self.scenario, hours=hours)):
                break

    def harmed_ms(self) -> int:
        """When the harm begins [ms]; -1 where only the end can tell."""
        if not is_seen_on_the_way(self.statement):
            return -1
        _, harm = self.trials.play(self.scenario, self.seed, self.statement, SEEN_EVERY_MS)
        return -1 if harm is None else harm.ms

    def leave_out_groups(self) -> None:
        """Leave out all of one kind: what was refused, one sequence, one tap, one fault."""
        self.keep(self.with_happenings(self._obeyed()))
        for kind, part in dict.fromkeys((one.kind, one.part) for one in self.scenario.happenings):
            left = (one for one in self.scenario.happenings if (one.kind, one.part) != (kind, part))
            self.keep(self.with_happenings(left))
        for fault in self.scenario.faults:
            self.keep(replace(self.scenario, faults=tuple(one for one in self.scenario.faults if one != fault)))

    def _obeyed(self) -> Iterator[Happening]:
        """The happenings without the commands that were refused, one after another."""
        run, _ = self.trials.play(self.scenario, self.seed, self.statement)
        names, answers = run.program.names.sequences, dict[tuple[str, int], list[int]]()
        for _, kind, row, command, reason in run.records.tolist():
            if kind == codes.R_COMMAND:
                answers.setdefault((names[row], command), []).append(reason)
        for one in self.scenario.happenings:
            reasons = answers.get((one.part, int(one.amount))) if one.kind == h.H_COMMAND else None
            reason = reasons.pop(0) if reasons else codes.BY_COMMAND
            if reason in (codes.BY_COMMAND, codes.NEEDS_CONFIRMING):
                yield one

    def thin(self) -> None:
        """Leave out single happenings."""
        self._thin(self.scenario.happenings, self.with_happenings)

    def _thin(self, things: Sequence[T], made: Callable[[Sequence[T]], Scenario]) -> None:
        size = len(things)
        while size >= 1 and things and self.trials.spent < self.limit:
            left = list(things)
            for first in range(0, len(things), size):
                piece = things[first : first + size]
                fewer = [one for one in left if one not in piece]
                if self.keep(made(fewer)):
                    left = fewer
            done = len(left) == len(things)
            things = left
            size = size // 2 if done or size > 1 else 1
            if done and size == 0:
                break

    def settle(self) -> None:
        """Bring what is extreme back to the usual: slope, errors, starts, pressures, wishes, seed."""
        scenario = self.scenario
        self.keep(replace(scenario, errors={}, stands=(Slope(),)))
        if self.scenario.stands != (Slope(),):
            self.keep(replace(self.scenario, stands=(Slope(),)))
        for name in self.scenario.errors:
            self.keep(replace(self.scenario, errors=_without(self.scenario.errors, name)))
        for name in self.scenario.starts:
            self.keep(replace(self.scenario, starts=_without(self.scenario.starts, name)))
        for i, one in enumerate(self.scenario.happenings):
            if one.kind == h.H_HOSE and self.rig.ports[one.part].usual is not None:
                self._put(i, replace(one, amount=self.rig.ports[one.part].usual or 0.0))
            elif one.wishes:
                self._put(i, replace(one, wishes=self._defaults(one.part)))
        self.keep(self.scenario, 1)

    def _put(self, index: int, one: Happening) -> bool:
        happenings = list(self.scenario.happenings)
        happenings[index] = one
        return self.keep(self.with_happenings(sorted(happenings, key=lambda each: each.ms)))

    def _defaults(self, sequence: str) -> tuple[tuple[str, int], ...]:
        chart = next(chart for chart in self.law.charts if chart.name == sequence)
        return tuple(
            (f"{sequence}.{b.symbol.name}", round(b.default * SCALES[b.symbol.dimension])) for b in chart.parameters
        )

    def tidy(self) -> None:
        """Bring times to round figures."""
        for i in range(len(self.scenario.faults)):
            fault = self.scenario.faults[i]
            for start in (0, *_rounded(fault.start_ms)):
                if start == fault.start_ms or self._put_fault(i, start):
                    break
        for i in range(len(self.scenario.happenings)):
            one = self.scenario.happenings[i]
            for ms in _rounded(one.ms):
                if ms == one.ms or self._put(i, replace(one, ms=ms)):
                    break

    def _put_fault(self, index: int, start_ms: int) -> bool:
        faults: list[Fault] = list(self.scenario.faults)
        fault = faults[index]
        lasts = fault.end_ms - fault.start_ms
        end = NEVER_MS if fault.end_ms >= NEVER_MS else start_ms + lasts
        faults[index] = replace(fault, start_ms=start_ms, end_ms=end)
        return self.keep(replace(self.scenario, faults=tuple(faults)))


def _without(table: dict[str, float], name: str) -> dict[str, float]:
    return {other: value for other, value in table.items() if other != name}


def _rounded(ms: int) -> Iterator[int]:
    """Round times near a time [ms], the roundest first."""
    for to in ROUND_MS:
        near = to * round(ms / to)
        if near > 0:
            yield near
