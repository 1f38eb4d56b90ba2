"""Trials: many short runs of one rig, each asked about one statement and ended as soon as it is so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ullage.control.program import Program
from ullage.plant.faults import HOSE_BURST, Fault
from ullage.plant.works import Works
from ullage.rig.meaning import Condition, Flag, Gives, Holds, Linear, Statement
from ullage.rig.model import Rig, Slope
from ullage.rig.reason import atoms
from ullage.simulate.run import Run, lay_out, play_on, set_up, told
from ullage.simulate.scenario import Scenario
from ullage.verdict.harm import Harm, harm_of

RECORDS = 12_000
"""Room for the records of one trial; the run that is told in the end has the usual room."""

LOOKS = 6
"""A trial is looked at so many times; each stretch between two looks is as long as all before it."""

SCANS = 2_000
"""So many evaluated scans take about as long as setting up a trial."""

SEEN_EVERY_MS = 5_000
"""How often the water is sampled where a guard speaks of it [ms]."""


class Trials:
    """One rig on trial.

    Parameters
    ----------
    rig, program : Rig, Program
        A checked rig and what it compiles to.

    Attributes
    ----------
    count : int
        Trials made so far.
    spent : int
        The same, with each that had to evaluate many scans counted for as many as it took the time of.
    """

    def __init__(self, rig: Rig, program: Program) -> None:
        self.rig, self.program = rig, program
        self.count, self.spent = 0, 0
        self._laid: dict[tuple[object, ...], Works] = {}

    def laid(self, stands: Sequence[Slope], faults: Sequence[Fault]) -> Works:
        """The plant for some stands and bursts, laid out once."""
        key = (*stands, *sorted({fault.part for fault in faults if fault.kind == HOSE_BURST}))
        if key not in self._laid:
            self._laid[key] = lay_out(self.rig, self.program, stands, faults)
        return self._laid[key]

    def make(self, scenario: Scenario, seed: int, statement: Statement) -> Harm | None:
        """Play a scenario until a statement is so; what it came to by then, None where it never was."""
        return self.play(scenario, seed, statement)[1]

    def play(
        self, scenario: Scenario, seed: int, statement: Statement, seen_every_ms: int | None = None
    ) -> tuple[Run, Harm | None]:
        """As `make`, with the run as far as it went; the water sampled as often as the statement needs, or is asked."""
        self.count += 1
        end_ms = round(scenario.hours * 3_600_000)
        unasked = replace(scenario, expectations=())
        stage = set_up(
            self.rig,
            self.program,
            unasked,
            seed,
            sample_ms=seen_every_ms or (SEEN_EVERY_MS if speaks_of_water(statement) else end_ms),
            laid=self.laid(scenario.stands, scenario.faults),
            records=RECORDS,
        )
        for look in range(LOOKS - 1, -1, -1) if is_seen_on_the_way(statement) else (0,):
            play_on(stage, end_ms >> look)
            run = told(stage, self.program, unasked, seed)
            harm = harm_of(run, stage.works, statement)
            if harm is not None:
                break
        self.spent += 1 + run.evaluated // SCANS
        return run, harm


def is_seen_on_the_way(statement: Statement) -> bool:
    """Whether a statement that is so at one moment is so of the whole run."""
    return not isinstance(statement, Gives) or statement.least


def speaks_of_water(statement: Statement) -> bool:
    """Whether a guard has to be watched along with levels, flows or readings."""
    return isinstance(statement, Holds) and any(_of_water(atom) for atom, _ in atoms(statement.guard))


def _of_water(atom: Condition) -> bool:
    return isinstance(atom, Linear) or (isinstance(atom, Flag) and atom.symbol.kind == "float")
