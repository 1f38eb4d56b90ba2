"""What a run comes to, measured by one statement: whether it is so, when first, and how much."""

from __future__ import annotations

from dataclasses import dataclass

from ullage.plant.works import Works
from ullage.rig.meaning import Above, Below, Dry, Gives, Indoors, Spills, Statement
from ullage.simulate.expect import Expectation
from ullage.simulate.judge import Judge
from ullage.simulate.run import Run


@dataclass(frozen=True, slots=True)
class Harm:
    """How a statement came to be so.

    Attributes
    ----------
    ms : int
        When first [ms]; -1 where only the end could tell.
    volume : float or None
        Water that was lost, or that a tank held at the worst [m3].
    seconds : float or None
        How long a pump turned without water [s].
    found : str
        The figure in words: "12.3 L overflowed".
    """

    ms: int
    volume: float | None
    seconds: float | None
    found: str


def harm_of(run: Run, works: Works, statement: Statement) -> Harm | None:
    """What a run came to; None where the statement never was so.

    Parameters
    ----------
    run : Run
        With the samples that the statement needs.
    works : Works
        The plant that it was played on.
    statement : Statement
    """
    end_ms = round(run.scenario.hours * 3_600_000)
    judge = Judge(works, run.program, run.records, run.series, run.outcome, end_ms)
    judged = judge.judge(Expectation("", "never", statement), 0)
    if judged.kept:
        return None
    return Harm(judged.ms, _volume(run, statement), _seconds(run, statement), judged.found)


def _volume(run: Run, statement: Statement) -> float | None:
    outcome = run.outcome
    match statement:
        case Indoors():
            return outcome.indoors
        case Spills(tank):
            return sum(found.overflowed for name, found in outcome.tanks.items() if tank in ("", name))
        case Above(tank):
            return outcome.tanks[tank].most
        case Below(tank):
            return outcome.tanks[tank].least
        case Gives(source):
            return outcome.fixtures[source] if source in outcome.fixtures else outcome.ports[source][0]
        case _:
            return None


def _seconds(run: Run, statement: Statement) -> float | None:
    return run.outcome.pumps[statement.pump].dry if isinstance(statement, Dry) else None
