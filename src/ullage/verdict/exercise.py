"""An exercise: every sequence started in turn over some hours, to see how a fault is noticed and what it hinders."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from ullage.control import codes
from ullage.control.alarms import alarms_of
from ullage.control.check import Examined
from ullage.control.program import Program
from ullage.control.record import Record
from ullage.plant.faults import Fault
from ullage.plant.words import P_CONTROLLER, P_POWER
from ullage.simulate.run import Run, simulate
from ullage.simulate.scenario import Scenario
from ullage.verdict.needs import Need
from ullage.verdict.policies import Policy, scenario_of
from ullage.verdict.stories import PASSING, usual_starts

HOURS = 3.0
"""How long an exercise lasts [h]."""

BEGINS_MS, LASTS_MS = 1_800_000, 600_000
"""A fault that passes begins then and lasts so long; every other one is there from the start [ms]."""


@dataclass(frozen=True, slots=True)
class Exercised:
    """What came of an exercise.

    Attributes
    ----------
    alarms : frozenset of str
        Names of the interlocks, valves and sequences that raised one.
    unread : frozenset of str
        Signals that grew old or read nonsense.
    completed : frozenset of str
        Sequences that came to their end.
    dark : bool
        Whether the power or the controller went.
    """

    alarms: frozenset[str]
    unread: frozenset[str]
    completed: frozenset[str]
    dark: bool


@dataclass(frozen=True, slots=True)
class Noticed:
    """How a fault shows in an exercise, beside what health shows.

    Attributes
    ----------
    interlocks, valves, held, unread : tuple of str
        Interlocks that trip, valves that do not get there in time, sequences that are held, signals that are not read.
    hindered : tuple of str
        Sequences that complete in health and do not with the fault.
    dark : bool
        Whether the power or the controller goes, which nobody overlooks.
    """

    interlocks: tuple[str, ...]
    valves: tuple[str, ...]
    held: tuple[str, ...]
    unread: tuple[str, ...]
    hindered: tuple[str, ...]
    dark: bool

    @property
    def anything(self) -> bool:
        """Whether a person is told anything at all."""
        return bool(self.interlocks or self.valves or self.held or self.unread or self.hindered or self.dark)


def exercise(examined: Examined, faults: Iterable[Fault] = (), seed: int = 1) -> Exercised:
    """Play an exercise.

    Parameters
    ----------
    examined : Examined
        A rig that was checked and compiled.
    faults : iterable of Fault
    seed : int
        Of all chance.
    """
    rig, law, program = examined.rig, examined.law, examined.program
    assert rig, "only a sound rig is exercised"
    assert law, "as above"
    assert program, "as above"
    policy = Policy(
        need=Need(sequences=tuple(rig.sequences)),
        hours=HOURS,
        starts=tuple(usual_starts(rig).items()),
        pressure="usual",
        taps="by turns",
        operator=tuple(rig.sequences),
        wishes="default",
        staggered=True,
        faults=tuple(map(_placed, faults)),
    )
    scenario: Scenario = replace(scenario_of(policy, rig, law), name="exercise", expectations=())
    return _came(simulate(rig, program, scenario, seed), program)


def noticed(with_fault: Exercised, health: Exercised, program: Program) -> Noticed:
    """What a fault shows beside what health shows."""
    more, unread = with_fault.alarms - health.alarms, with_fault.unread - health.unread
    names = program.names
    return Noticed(
        interlocks=tuple(name for name in names.interlocks if name in more),
        valves=tuple(name for name in names.valves if name in more),
        held=tuple(name for name in names.sequences if name in more),
        unread=tuple(name for name in dict.fromkeys(s.part for s in names.signals) if name in unread),
        hindered=tuple(name for name in names.sequences if name in health.completed - with_fault.completed),
        dark=with_fault.dark and not health.dark,
    )


def _placed(fault: Fault) -> Fault:
    """A fault at the time at which it shows most."""
    if fault.kind in PASSING:
        return replace(fault, start_ms=BEGINS_MS, end_ms=BEGINS_MS + LASTS_MS)
    return fault


def _came(run: Run, program: Program) -> Exercised:
    records = [Record(*(int(n) for n in row)) for row in run.records]
    return Exercised(
        alarms=frozenset(alarm.source for alarm in alarms_of(program, records)),
        unread=frozenset(_unread(records, program)),
        completed=frozenset(_completed(records, program)),
        dark=any(record.kind in (P_POWER, P_CONTROLLER) and not record.value for record in records),
    )


def _unread(records: Iterable[Record], program: Program) -> Iterator[str]:
    for record in records:
        if record.kind == codes.R_QUALITY and record.value != codes.GOOD and record.detail == codes.GOOD:
            yield program.names.signals[record.row].part


def _completed(records: Iterable[Record], program: Program) -> Iterator[str]:
    for record in records:
        if record.kind == codes.R_STATE and record.value == codes.COMPLETE:
            yield program.names.sequences[record.row]
