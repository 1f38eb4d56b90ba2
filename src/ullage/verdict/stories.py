"""Look for a concrete run that does the harm a statement speaks of, or for one that brings about what can be."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice, zip_longest
from typing import TypeVar

from ullage.control import codes
from ullage.control.check import Examined
from ullage.control.timers import NEVER_MS
from ullage.plant import faults as f
from ullage.plant import words
from ullage.plant.chance import drawn, stream
from ullage.plant.faults import KINDS, Fault
from ullage.rig.meaning import Above, Below, Law, Statement
from ullage.rig.model import Rig
from ullage.rig.sensing import interval, stale_after
from ullage.rig.shapes import capacity
from ullage.rig.spell import spell_statement
from ullage.simulate.run import Run, simulate
from ullage.simulate.scenario import NAME_LIMIT, Scenario, read_scenario
from ullage.simulate.writing import write_scenario
from ullage.verdict.harm import Harm, harm_of
from ullage.verdict.needs import Need, needs_of
from ullage.verdict.policies import Policy, leans, scenario_of, variations, worst
from ullage.verdict.shrink import shrunk
from ullage.verdict.trial import Trials

T = TypeVar("T")

RUNS = 200
"""So many trials are made where nothing else is asked for: about three seconds on one core."""

SEARCH = 20
"""Purpose of the draws of a search (`ullage.plant.chance`); no run draws for it."""

SLOWEST_FILL = 6e-3 / 60
"""A tank is taken to fill or empty at this rate at least [m3/s]: six litres a minute, common practice, no source."""

HOURS_LEAST, HOURS_MOST, HOURS_SEEPING = 1.0, 8.0, 72.0
"""A trial lasts at least and at most so long, and so long where a valve seeps [h]."""

MOMENTS_LIMIT = 14
"""So many moments of a run are tried for a fault to begin at."""

LATE_MS = 600_000
"""What goes wrong last goes wrong so long before the end of a trial [ms]."""

CHANCES = 60
"""So many seeds are tried where a fault is a matter of chance."""

LOSSES_LIMIT = 4
"""So many moments are tried for a link to be lost where something else is wrong already."""

LINK_LOST_MS = (4_000, 30_000, 300_000)
"""For how long a link is lost [ms]."""

PASSING = frozenset({f.POWER_LOST, f.BROWN_OUT, f.CONTROLLER_RESTARTED, f.SUPERVISOR_GONE, f.LINK_LOST, f.LINK_DELAYED})
"""Kinds of fault that do more harm when they pass than when they last."""

Progress = Callable[[int, int], None]
"""Called with the trials made and the most there will be."""


@dataclass(frozen=True, slots=True)
class Story:
    """A concrete run that does a harm, as short as it was found.

    Attributes
    ----------
    text : str
        What came to be so, as it was written.
    statement : Statement
        The same, resolved.
    scenario : Scenario
        What is done, with everything that goes wrong.
    seed : int
    harm : Harm
        What it came to.
    run : Run
        All that happened.
    trials : int
        How many runs it took to find and to shorten it.
    """

    text: str
    statement: Statement
    scenario: Scenario
    seed: int
    harm: Harm
    run: Run
    trials: int


def find_story(
    examined: Examined,
    statement: Statement,
    faults: Sequence[Fault] = (),
    runs: int = RUNS,
    seed: int = 1,
    starts: Mapping[str, float] | None = None,
    progress: Progress | None = None,
    trials: Trials | None = None,
    text: str = "",
) -> Story | None:
    """Look for a run in which a statement comes to be so.

    Parameters
    ----------
    examined : Examined
        A rig that was checked and compiled.
    statement : Statement
        What must never be.
    faults : sequence of Fault
        What may go wrong, from any time; their own times are not looked at. A link may be lost in any case.
    runs : int
        At most so many trials.
    seed : int
        Of what is tried when the ordered list is through.
    starts : mapping, optional
        Part of its capacity that each tank usually holds; what the rig says where none is given.
    progress : callable, optional
    trials : Trials, optional
        Those of an earlier question about the same rig: what they have laid out is used again.
    text : str
        The statement as it was written; spelled anew where it is not given.

    Returns
    -------
    Story or None
        None when no run did it. That proves nothing.
    """
    rig, law, program = examined.rig, examined.law, examined.program
    assert rig, "only a sound rig is tried"
    assert law, "as above"
    assert program, "as above"
    trials = trials or Trials(rig, program)
    first, begun = trials.count, trials.spent
    search = _Search(trials, law, statement, tuple(faults), seed, {**usual_starts(rig), **(starts or {})})
    for policy in search.policies():
        if trials.spent - begun >= runs:
            return None
        if progress:
            progress(trials.spent - begun, runs)
        scenario = scenario_of(policy, rig, law)
        if trials.make(scenario, policy.seed, statement) is None:
            continue
        short, seed = shrunk(trials, law, scenario, policy.seed, statement, runs)
        story = told_story(trials, law, short, seed, statement, text or spell_statement(statement, rig), first)
        if story is not None:
            return story
    return None


def find_witness(
    examined: Examined, statement: Statement, runs: int = RUNS, seed: int = 1, text: str = ""
) -> Story | None:
    """A healthy run in which a statement comes to be so, such as a fill that completes.

    Parameters
    ----------
    examined, statement, runs, seed, text
        As of `find_story`.
    """
    return find_story(examined, statement, (), runs, seed, text=text)


def usual_starts(rig: Rig) -> dict[str, float]:
    """What the tanks of a rig usually hold, as parts of their capacity."""
    return {name: tank.starts_with for name, tank in rig.tanks.items()}


def told_story(
    trials: Trials, law: Law, scenario: Scenario, seed: int, statement: Statement, text: str, first: int = 0
) -> Story | None:
    """Play a scenario with everything told, as it is read from its file; None where it does no harm after all.

    Parameters
    ----------
    trials : Trials
    law : Law
        Of the same rig.
    scenario, seed, statement, text
        What is played, and what it shows, resolved and as it was written.
    first : int
        Trials made before the search began.
    """
    named = replace(scenario, name=f"How it comes about: {text}"[:NAME_LIMIT])
    read, findings = read_scenario(write_scenario(named, law), "story", trials.rig, law)
    assert read is not None, f"what was written is read: {findings}"
    run = simulate(trials.rig, trials.program, read, seed)
    harm = harm_of(run, trials.laid(read.stands, read.faults), statement)
    return None if harm is None else Story(text, statement, read, seed, harm, run, trials.count - first)


class _Search:
    """The policies to try, in order."""

    def __init__(
        self,
        trials: Trials,
        law: Law,
        statement: Statement,
        faults: tuple[Fault, ...],
        seed: int,
        starts: dict[str, float],
    ) -> None:
        self.trials, self.law, self.statement = trials, law, statement
        self.faults, self.seed = faults, seed
        self.starts = _allowed(starts, statement, trials.rig)
        self.needs = needs_of(statement, trials.rig, law)
        self._draws = 0

    def policies(self) -> Iterator[Policy]:
        """All of them, without end: the ordered list, then mixes by chance; none twice."""
        seen: set[Policy] = set()
        for policy in chain(self.ordered(), self.mixed()):
            if policy not in seen:
                seen.add(policy)
                yield policy

    def ordered(self) -> Iterator[Policy]:
        """From the likeliest on, turn by turn for each need."""
        bases = [self.base(need) for need in self.needs]
        stages = (
            self.at_once,
            self.at_moments,
            self.with_losses,
            self.unheard,
            self.by_chance,
            self.varied,
            self.moments_of_variations,
        )
        for stage in stages:
            turns = zip_longest(*(stage(base) for base in bases))
            yield from (policy for turn in turns for policy in turn if policy is not None)

    def base(self, need: Need) -> Policy:
        """The worst policy for a need, nothing wrong."""
        rig = self.trials.rig
        moved = [need.tank, *need.others] if need.tank else list(rig.tanks)
        hours = sum(capacity(rig.tanks[name]) for name in moved) / SLOWEST_FILL / 3600.0
        hours = round(min(max(hours, HOURS_LEAST), HOURS_MOST), 1)
        if any(fault.kind == f.VALVE_SEEPING for fault in self.faults):
            hours = HOURS_SEEPING
        return worst(need, rig, self.starts, hours, leans(rig)[0])

    def at_once(self, base: Policy) -> Iterator[Policy]:
        """Everything that goes wrong from the start, by each amount."""
        for wrong in self.amounts(base.need):
            yield replace(base, faults=tuple(replace(fault, start_ms=0, end_ms=NEVER_MS) for fault in wrong))

    def at_moments(self, base: Policy) -> Iterator[Policy]:
        """Everything that goes wrong from each moment of a healthy run on."""
        for ms in self.moments(base) if self.faults else ():
            for wrong in islice(self.amounts(base.need), 2):
                for lasts in _lasting(wrong):
                    yield replace(base, faults=tuple(_placed(fault, ms, lasts) for fault in wrong))

    def with_losses(self, base: Policy) -> Iterator[Policy]:
        """Everything that goes wrong from the start, and from each moment on a link that is lost for a while."""
        wrong = next(self.amounts(base.need))
        for ms in self.moments(base)[: LOSSES_LIMIT if self.faults else None]:
            for lasts in LINK_LOST_MS[:2]:
                for board in self.trials.rig.boards:
                    lost = Fault(f.LINK_LOST, board, "", 0.0, ms, ms + lasts)
                    yield replace(base, faults=(*(_placed(fault, 0, NEVER_MS) for fault in wrong), lost))

    def unheard(self, base: Policy) -> Iterator[Policy]:
        """Everything that goes wrong from the start, and the reading that would end it lost, with those after it.

        They are lost for as long as the law believes the last one.
        """
        rig, wrong = self.trials.rig, next(self.amounts(base.need))
        senders = {name: sender for name, sender in rig.senders.items() if sender.on == base.need.tank}
        if not self.faults or not senders:
            return
        bad = replace(base, faults=tuple(_placed(fault, 0, NEVER_MS) for fault in wrong))
        run, _ = self.trials.play(scenario_of(bad, rig, self.law), bad.seed, self.statement)
        for ms in ended(run):
            for name, sender in senders.items():
                lasts = round(1000 * stale_after(sender))
                lost = _placed(Fault(f.SENDER_DEAD, name), max(ms - round(1000 * interval(sender)), 0), lasts)
                yield replace(bad, faults=(*bad.faults, lost))

    def by_chance(self, base: Policy) -> Iterator[Policy]:
        """The same again with other draws, where what goes wrong is itself a matter of chance."""
        if any(fault.kind == f.SENDER_NOISY for fault in self.faults):
            wrong = tuple(_placed(fault, 0, NEVER_MS) for fault in self.faults)
            for seed in range(2, 2 + CHANCES):
                yield replace(base, faults=wrong, seed=seed)

    def moments(self, base: Policy) -> list[int]:
        """Moments of a healthy run at which something may go wrong [ms]."""
        run, _ = self.trials.play(scenario_of(base, self.trials.rig, self.law), base.seed, self.statement)
        return moments(run, self.faults)

    def varied(self, base: Policy) -> Iterator[Policy]:
        """One thing otherwise, everything wrong from the start."""
        for policy in variations(base, self.trials.rig, self.starts):
            for wrong in islice(self.amounts(base.need), 2):
                yield replace(policy, faults=tuple(_placed(fault, 0, NEVER_MS) for fault in wrong))

    def moments_of_variations(self, base: Policy) -> Iterator[Policy]:
        """One thing otherwise, and everything wrong from a few moments on."""
        for policy in variations(base, self.trials.rig, self.starts) if self.faults else ():
            yield from islice(self.at_moments(policy), 6)

    def amounts(self, need: Need) -> Iterator[tuple[Fault, ...]]:
        """The faults by each of their amounts, all of them by their first, then by their second."""
        each = [_amounts(fault, need) for fault in self.faults]
        for i in range(max(map(len, each), default=1)):
            yield tuple(of_one[min(i, len(of_one) - 1)] for of_one in each)

    def mixed(self) -> Iterator[Policy]:
        """Several things otherwise, by chance."""
        rig = self.trials.rig
        while True:
            policy = self.base(self.pick(self.needs))
            for _ in range(1 + self.number(3)):
                policy = self.pick(list(variations(policy, rig, self.starts)))
            if self.number(2):
                policy = replace(policy, starts=tuple(self.filled(policy.need)))
            half = round(policy.hours * 1_800_000)
            wrong = []
            for fault in self.faults:
                start = self.number(4) and self.number(half)
                lasts = self.pick((NEVER_MS, NEVER_MS, 5_000, 60_000, 600_000))
                wrong.append(_placed(self.pick(_amounts(fault, policy.need)), start, lasts))
            if rig.boards and self.number(3) == 0:
                start = self.number(half)
                lasts = self.pick(LINK_LOST_MS)
                wrong.append(Fault(f.LINK_LOST, self.pick(tuple(rig.boards)), "", 0.0, start, start + lasts))
            yield replace(policy, faults=tuple(wrong), seed=1 + self.number(1000))

    def filled(self, need: Need) -> Iterator[tuple[str, float]]:
        """Any filling of the tanks, but of the one that matters only what it usually holds, or less where it rises."""
        for name, usual in self.starts.items():
            part = 0.01 * self.number(101)
            if name == need.tank:
                part = min(part, usual) if need.rises else usual
            yield name, part

    def number(self, below: int) -> int:
        """A drawn number, at least 0 and below this."""
        self._draws += 1
        return drawn(stream(self.seed, SEARCH, 0), self._draws) % below

    def pick(self, things: Sequence[T]) -> T:
        """One of some things."""
        return things[self.number(len(things))]


def _allowed(starts: dict[str, float], statement: Statement, rig: Rig) -> dict[str, float]:
    """What tanks usually hold, but on the safe side of what a statement says."""
    match statement:
        case Above(tank, volume):
            return {**starts, tank: min(starts[tank], 0.8 * volume / capacity(rig.tanks[tank]))}
        case Below(tank, volume):
            return {**starts, tank: min(max(starts[tank], 1.2 * volume / capacity(rig.tanks[tank])), 1.0)}
        case _:
            return starts


def moments(run: Run, faults: Sequence[Fault]) -> list[int]:
    """Moments of a run at which something may go wrong [ms].

    First when all has come as far as it does by itself, then parts in motion, then steps and their middles.
    """
    parts = {name for fault in faults for name in (fault.part, fault.other)}
    valves = {i for i, name in enumerate(run.rig.valves) if name in parts}
    moved: dict[tuple[int, int], int] = {}
    begun: dict[int, int] = {}
    for ms, kind, row, value, _ in run.records.tolist():
        if kind == words.P_VALVE and row in valves:
            moved.setdefault((row, value), ms + 100)
        elif kind == codes.R_STEP and value == 1:
            begun.setdefault(row, ms + 100)
    steps = sorted(begun.values())
    end_ms = round(run.scenario.hours * 3_600_000)
    ends = [*steps[1:], end_ms]
    around = (((begin + end) // 2, begin) for begin, end in zip(steps, ends, strict=False))
    late = max(end_ms - LATE_MS, 0)
    return list(dict.fromkeys([late, *moved.values(), *chain.from_iterable(around)]))[:MOMENTS_LIMIT]


def ended(run: Run) -> list[int]:
    """Moments of a run at which an interlock tripped or a step came to its end [ms], the latest first."""
    found = [
        ms
        for ms, kind, _, value, _ in run.records.tolist()
        if (kind == codes.R_INTERLOCK and value == codes.TRIPPED) or (kind == codes.R_STEP and value == 0)
    ]
    return list(dict.fromkeys(reversed(found)))[:MOMENTS_LIMIT]


def _placed(fault: Fault, start_ms: int, lasts_ms: int) -> Fault:
    """A fault from a moment on, for a while."""
    return replace(fault, start_ms=start_ms, end_ms=min(start_ms + lasts_ms, NEVER_MS))


def _lasting(faults: Sequence[Fault]) -> tuple[int, ...]:
    """For how long some faults last [ms]."""
    return (10_000, 120_000, NEVER_MS) if any(fault.kind in PASSING for fault in faults) else (NEVER_MS,)


def _amounts(fault: Fault, need: Need) -> tuple[Fault, ...]:
    """A fault by each amount that is tried, what serves a need most first."""
    kind = KINDS[fault.kind]
    amounts: tuple[float, ...] = (fault.amount,)
    if fault.kind == f.SENDER_OFFSET:
        sign = -1.0 if need.rises else 1.0
        sizes = (1.0, abs(fault.amount), 0.5, 0.1)
        amounts = tuple(sign * way * size for size in sizes for way in (1.0, -1.0))
    elif fault.kind in (f.LINK_DELAYED, f.LINK_DUPLICATED):
        amounts = (fault.amount, kind.most)
    return tuple(replace(fault, amount=amount) for amount in dict.fromkeys(amounts))
