"""How the benches measure and what they print: medians, spread, the ratio to a goal."""

from __future__ import annotations

import gc
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from statistics import median
from time import perf_counter

Work = Callable[[], object]


@dataclass(frozen=True, slots=True)
class Timing:
    """Times of one piece of work [s]: the median, and the quickest and slowest run."""

    median: float
    least: float
    most: float

    def __str__(self) -> str:
        return f"{in_words(self.median)} (of {in_words(self.least)} .. {in_words(self.most)})"


def side_by_side(works: Mapping[str, Work], runs: int = 15, inner: int = 1) -> dict[str, Timing]:
    """Time several pieces of work in turn, so that a busy moment of the machine hits all of them.

    Parameters
    ----------
    works : mapping of str to callable
        What to time, by name. Each is called once before, unmeasured.
    runs : int
        Measured turns.
    inner : int
        Calls per turn; the time is that of one call.
    """
    for work in works.values():
        work()
    times: dict[str, list[float]] = {name: [] for name in works}
    gc.collect()
    for _ in range(runs):
        for name, work in works.items():
            began = perf_counter()
            for _ in range(inner):
                work()
            times[name].append((perf_counter() - began) / inner)
    return {name: Timing(median(found), min(found), max(found)) for name, found in times.items()}


def at_least(what: str, value: float, goal: float, unit: str = "times") -> bool:
    """Print a figure that should be large beside its goal; whether it was met."""
    return _line(what, value, goal, unit, "at least", value / goal if goal else 0.0, value >= goal)


def at_most(what: str, value: float, goal: float, unit: str = "s") -> bool:
    """Print a figure that should be small beside its goal; whether it was met."""
    return _line(what, value, goal, unit, "at most", goal / value if value else float("inf"), value <= goal)


def _line(what: str, value: float, goal: float, unit: str, bound: str, ratio: float, met: bool) -> bool:
    verdict = "met" if met else "MISSED"
    print(
        f"{what}: {value:,.4g} {unit}; goal {bound} {goal:,.4g} {unit}; {ratio:.2f} of the goal; {verdict}", flush=True
    )
    return met


def in_words(seconds: float) -> str:
    """A time with a unit that suits it."""
    for factor, unit in ((1.0, "s"), (1e-3, "ms"), (1e-6, "us")):
        if seconds >= factor:
            return f"{seconds / factor:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"
