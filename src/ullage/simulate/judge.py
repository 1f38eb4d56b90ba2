"""Whether each expectation of a scenario was kept, and when that was decided."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from ullage.control import codes
from ullage.control.program import Program
from ullage.plant import words
from ullage.plant.works import Works
from ullage.quantities import DRIP
from ullage.rig.meaning import Above, Below, Dry, Gives, Holds, Indoors, Reaches, Spills, Statement, Trips
from ullage.simulate.expect import Expectation
from ullage.simulate.outcome import Outcome
from ullage.simulate.watch import Watch

if TYPE_CHECKING:
    from numpy import bool_, float64, int64
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Judged:
    """An expectation and what came of it.

    Attributes
    ----------
    expectation : Expectation
    kept : bool
    ms : int
        When it was decided [ms], -1 when only the end could tell.
    found : str
        What was found instead, or how well it was kept.
    """

    expectation: Expectation
    kept: bool
    ms: int
    found: str


class _Was(NamedTuple):
    """Whether a statement was ever so, since when [ms] (-1: only the end could tell), and the figure that says it."""

    so: bool
    ms: int
    found: str


class Judge:
    """A run that was played, asked about its expectations.

    Parameters
    ----------
    works, program
        Of the run.
    records : (N, 5) array of int
    series : dict of (K,) array
        Samples; see `ullage.simulate.run.Run`.
    outcome : Outcome
        Its figures.
    end_ms : int
        When it ended [ms].
    """

    def __init__(
        self,
        works: Works,
        program: Program,
        records: NDArray[int64],
        series: dict[str, NDArray[float64]],
        outcome: Outcome,
        end_ms: int,
    ) -> None:
        self.works, self.program, self.records = works, program, records
        self.series, self.outcome, self.end_ms = series, outcome, end_ms
        self.watch = Watch(works, program, records, series)

    def judge(self, expectation: Expectation, row: int) -> Judged:
        """Judge one expectation, the one of this number in the scenario."""
        if expectation.frame == "at":
            return self._at(expectation, row)
        was = self._was(expectation.statement)
        match expectation.frame:
            case "never":
                return Judged(expectation, not was.so, was.ms, was.found)
            case "within":
                return Judged(expectation, was.so and 0 <= was.ms <= expectation.ms, was.ms, was.found)
            case _:
                return Judged(expectation, was.so, was.ms, was.found)

    def _was(self, statement: Statement) -> _Was:
        match statement:
            case Indoors() | Spills():
                return self._escaped(statement)
            case Above(tank, volume):
                most = self.outcome.tanks[tank].most
                beyond = self.series[f"volume.{tank}"] > volume
                return _Was(most > volume + DRIP, self._sampled(beyond), f"at most {1e3 * most:.1f} L")
            case Below(tank, volume):
                least = self.outcome.tanks[tank].least
                beyond = self.series[f"volume.{tank}"] < volume
                return _Was(least < volume - DRIP, self._sampled(beyond), f"at least {1e3 * least:.1f} L")
            case Dry(pump):
                dry = self.outcome.pumps[pump].dry
                first = self._first(words.P_DRY, self.works.plumbing.pumps[pump], 1)
                return _Was(dry > 0.0, first, f"{dry:.1f} s dry")
            case Trips(interlock):
                row = self.program.interlock(interlock)
                return _since(self._first(codes.R_INTERLOCK, row, codes.TRIPPED), "tripped")
            case Reaches(sequence, step):
                return _since(self._first(codes.R_STEP, self.program.step(f"{sequence}.{step}"), 1), "reached")
            case Gives(source, volume, least):
                fixtures, ports = self.outcome.fixtures, self.outcome.ports
                given = fixtures[source] if source in fixtures else ports[source][0]
                so = given >= volume - DRIP if least else given <= volume + DRIP
                return _Was(so, -1, f"gave {1e3 * given:.1f} L")
            case Holds(guard):
                return _since(self.watch.first(guard), "so")

    def _escaped(self, statement: Indoors | Spills) -> _Was:
        """Water that ran indoors, or left by overflows."""
        if isinstance(statement, Indoors):
            lost = self.outcome.indoors
            return _Was(lost > DRIP, self._first(words.P_INDOORS, None, 1), f"{1e3 * lost:.1f} L indoors")
        tanks = [statement.tank] if statement.tank else list(self.outcome.tanks)
        lost = sum(self.outcome.tanks[name].overflowed for name in tanks)
        row = list(self.outcome.tanks).index(statement.tank) if statement.tank else None
        return _Was(lost > DRIP, self._first(words.P_OVERFLOW, row, 1), f"{1e3 * lost:.1f} L overflowed")

    def _at(self, expectation: Expectation, row: int) -> Judged:
        """Judge what is expected at one time."""
        ms, statement = expectation.ms, expectation.statement
        if ms > self.end_ms:
            return Judged(expectation, False, -1, "the run ended before")
        match statement:
            case Above(tank, volume) | Below(tank, volume):
                moment = self._moment(list(self.outcome.tanks).index(tank), row)
                if moment < 0:
                    return Judged(expectation, False, -1, "its record did not fit")
                content = 1e-6 * moment
                kept = content >= volume if isinstance(statement, Above) else content <= volume
                return Judged(expectation, kept, ms, f"{1e3 * content:.1f} L")
            case Holds(guard):
                kept, told = self.watch.at(guard, ms)
                return Judged(expectation, kept, ms, told)
            case _:
                raise AssertionError(f"{statement} is no state that lasts")

    def _moment(self, tank: int, row: int) -> int:
        """What a tank held at the moment that an expectation asks about [mL]; -1 when the run had no room for it."""
        records = self.records
        found = (records[:, 1] == words.P_MOMENT) & (records[:, 2] == tank) & (records[:, 4] == row)
        return int(records[found, 3][0]) if found.any() else -1

    def _first(self, kind: int, row: int | None, value: int) -> int:
        """Time of the first record of a kind with a value [ms], -1 when there is none."""
        found = (self.records[:, 1] == kind) & (self.records[:, 3] == value)
        if row is not None:
            found &= self.records[:, 2] == row
        return int(self.records[found.argmax(), 0]) if found.any() else -1

    def _sampled(self, beyond: NDArray[bool_]) -> int:
        """Time of the first sample that lies beyond a limit [ms], -1 when none does."""
        return round(1000 * float(self.series["time"][beyond.argmax()])) if beyond.any() else -1


def _since(ms: int, word: str) -> _Was:
    return _Was(ms >= 0, ms, f"{word} at {clock(ms)}" if ms >= 0 else f"never {word}")


def clock(ms: int) -> str:
    """A time as hours, minutes and seconds: 3,725,500 ms is 1:02:05.5."""
    hours, rest = divmod(ms, 3_600_000)
    minutes, rest = divmod(rest, 60_000)
    return f"{hours}:{minutes:02d}:{rest / 1000:04.1f}".removesuffix(".0")
