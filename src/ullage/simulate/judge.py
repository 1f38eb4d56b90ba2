"""Whether each expectation of a scenario was kept, and when that was decided."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from ullage.control import codes
from ullage.control.program import Program
from ullage.plant import words
from ullage.plant.works import Works
from ullage.simulate.expect import Expectation
from ullage.simulate.outcome import Outcome

if TYPE_CHECKING:
    from numpy import int64
    from numpy.typing import NDArray

DRIP = 1e-6
"""Less water than this is none [m3]: a millilitre."""


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


def judge(
    e: Expectation, row: int, works: Works, program: Program, records: NDArray[int64], outcome: Outcome
) -> Judged:
    """Judge one expectation.

    Parameters
    ----------
    e : Expectation
    row : int
        Its number in the scenario.
    works : Works
    program : Program
    records : (N, 5) array of int
        Records of the run.
    outcome : Outcome
        Its figures.
    """
    rows = _Rows(records)
    match e.kind:
        case "dry indoors":
            first = rows.first(words.P_INDOORS, value=1)
            return Judged(e, outcome.indoors <= DRIP, first, f"{1e3 * outcome.indoors:.1f} L indoors")
        case "no overflow":
            names = [e.subject] if e.subject else list(outcome.tanks)
            spilled = sum(outcome.tanks[name].overflowed for name in names)
            tank = list(outcome.tanks).index(e.subject) if e.subject else None
            first = rows.first(words.P_OVERFLOW, row=tank, value=1)
            return Judged(e, spilled <= DRIP, first, f"{1e3 * spilled:.1f} L overflowed")
        case "never over":
            most = outcome.tanks[e.subject].most
            return Judged(e, most <= e.volume + DRIP, -1, f"at most {1e3 * most:.1f} L")
        case "never below":
            least = outcome.tanks[e.subject].least
            return Judged(e, least >= e.volume - DRIP, -1, f"at least {1e3 * least:.1f} L")
        case "over at" | "below at":
            volume = 1e-6 * rows.detail(words.P_MOMENT, list(outcome.tanks).index(e.subject), row)
            kept = volume >= e.volume if e.kind == "over at" else volume <= e.volume
            return Judged(e, kept, e.ms, f"{1e3 * volume:.1f} L")
        case "reaches":
            step = program.step(f"{e.subject}.{e.word}")
            return _within(e, rows.first(codes.R_STEP, row=step, value=1), "reached")
        case "trips":
            first = rows.first(codes.R_INTERLOCK, row=program.interlock(e.subject), value=codes.TRIPPED)
            return _within(e, first, "tripped")
        case "never trips":
            first = rows.first(codes.R_INTERLOCK, row=program.interlock(e.subject), value=codes.TRIPPED)
            return Judged(e, first < 0, first, "never" if first < 0 else f"tripped at {clock(first)}")
        case "at least" | "at most":
            given = outcome.fixtures[e.subject] if e.subject in outcome.fixtures else outcome.ports[e.subject][0]
            kept = given >= e.volume - DRIP if e.kind == "at least" else given <= e.volume + DRIP
            return Judged(e, kept, -1, f"gave {1e3 * given:.1f} L")
        case "never dry":
            dry = outcome.pumps[e.subject].dry
            return Judged(e, dry <= 0.0, rows.first(words.P_DRY, value=1), f"{dry:.1f} s dry")
        case _:
            return _state(e, works, program, rows)


def _within(e: Expectation, first: int, word: str) -> Judged:
    kept = first >= 0 and (e.ms < 0 or first <= e.ms)
    return Judged(e, kept, first, f"{word} at {clock(first)}" if first >= 0 else f"never {word}")


def _state(e: Expectation, works: Works, program: Program, rows: _Rows) -> Judged:
    """A valve's position or a sequence's state at a time, from the last record before it."""
    if e.kind == "valve at":
        valve = list(works.rig.valves).index(e.subject)
        rests = works.integers["valve_relay"][valve]
        value = rows.last(words.P_VALVE, valve, e.ms, rests)
        found = ("closed", "open", "between", "on its way")[value]
    else:
        found = codes.STATES[rows.last(codes.R_STATE, program.sequence(e.subject), e.ms, codes.IDLE)]
    return Judged(e, found == e.word, e.ms, found)


def clock(ms: int) -> str:
    """A time as hours, minutes and seconds: 3,725,500 ms is 1:02:05.5."""
    hours, rest = divmod(ms, 3_600_000)
    minutes, rest = divmod(rest, 60_000)
    return f"{hours}:{minutes:02d}:{rest / 1000:04.1f}".removesuffix(".0")


class _Rows:
    """Records of a run, to be searched."""

    def __init__(self, records: NDArray[int64]) -> None:
        self.records = records

    def first(self, kind: int, row: int | None = None, value: int | None = None) -> int:
        """Time of the first record of a kind [ms], -1 when there is none."""
        found = self.records[:, 1] == kind
        if row is not None:
            found &= self.records[:, 2] == row
        if value is not None:
            found &= self.records[:, 3] == value
        return int(self.records[found.argmax(), 0]) if found.any() else -1

    def last(self, kind: int, row: int, ms: int, otherwise: int) -> int:
        """Value of the last record of a kind up to a time."""
        found = (self.records[:, 1] == kind) & (self.records[:, 2] == row) & (self.records[:, 0] <= ms)
        return int(self.records[found, 3][-1]) if found.any() else otherwise

    def detail(self, kind: int, row: int, detail: int) -> int:
        """Value of the record of a kind with a detail; 0 when there is none."""
        found = (self.records[:, 1] == kind) & (self.records[:, 2] == row) & (self.records[:, 4] == detail)
        return int(self.records[found, 3][0]) if found.any() else 0
