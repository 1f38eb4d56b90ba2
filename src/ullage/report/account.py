"""What is told of one run, before it becomes a page or lines in a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ullage.report.quantity_words import System, duration, measured, number, some
from ullage.report.strip import Strip
from ullage.report.words import Sentence

CAUTION = (
    "These figures come from a model of the rig, with the parts and the errors that the rig file declares. "
    "They do not replace a trial on the rig itself, nor the local rules for drinking water, waste, gas and "
    "electricity, nor a licensed fitter where those ask for one. Water that stood in tank or hose is not fit to drink "
    "until all has been flushed and disinfected as usual; hot water can scald; waste goes only where it is taken."
)
"""What stands below every account."""


SI_UNIT = {"volume": "m3", "time": "s", "charge": "C", "count": "1", "times": "1"}
"""Unit of an outcome's value, by its dimension."""

GROUPS = {"harm": "Harm", "water": "Water", "work": "Pumps and power", "alarm": "Alarms"}
"""Kinds of outcome in the order in which they are told, each with its heading."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One figure that a run came to.

    Attributes
    ----------
    name : str
        What was measured.
    value : float
        How much [SI unit of its dimension, `SI_UNIT`].
    dimension : str
        ``volume``, ``time``, ``charge``, ``count`` or ``times``.
    group : str
        One of `GROUPS`.
    bad : bool
        Whether it is a harm that was done (water on the floor, a pump that ran dry).
    main : bool
        Whether it belongs into the shortest account.
    """

    name: str
    value: float
    dimension: str = "volume"
    group: str = "water"
    bad: bool = False
    main: bool = False

    def figure(self, system: System = "metric") -> str:
        """Its value in words."""
        return measured(self.value, self.dimension, system)


@dataclass(frozen=True, slots=True)
class Level:
    """What a tank held [m3]: at first, at least, at most, at the end."""

    tank: str
    start: float
    least: float
    most: float
    end: float

    def figures(self, system: System = "metric") -> tuple[str, str, str, str]:
        """The four, without their unit."""
        held = (self.start, self.least, self.most, self.end)
        start, least, most, end = (number(some(volume), "volume", system) for volume in held)
        return start, least, most, end


@dataclass(frozen=True, slots=True)
class Expectation:
    """One line that a scenario expects: as written, whether it was kept, and the figure or time that decided it."""

    text: str
    kept: bool
    because: str = ""


@dataclass(frozen=True, slots=True)
class Played:
    """How a run was played.

    Attributes
    ----------
    seconds : float
        Its length [s].
    seed : int
    faults : tuple of str
        What went wrong, in the words of the catalogue.
    program : str
        Hash of the program.
    scans : int
        Scans that had to be evaluated.
    lost : int
        Records that did not fit.
    """

    seconds: float
    seed: int
    faults: tuple[str, ...]
    program: str
    scans: int
    lost: int = 0

    def facts(self) -> Iterator[tuple[str, str]]:
        """Name and words of each."""
        yield "simulated", duration(1000 * self.seconds)
        yield "seed", str(self.seed)
        yield "faults", ", ".join(self.faults) or "none"
        yield "program", self.program[:16]
        yield "scans evaluated", f"{self.scans:,}"
        if self.lost:
            yield "records that did not fit", f"{self.lost:,}"


@dataclass(frozen=True, slots=True)
class Account:
    """One run, told.

    Attributes
    ----------
    rig, scenario, about : str
        Names, and what the scenario is about.
    played : Played
        How it was run.
    outcomes, levels, expectations : tuples
        What it came to; harms are the first of the outcomes.
    story : tuple of Sentence
        All that happened, in order.
    strips : tuple of Strip
        The whole run, then its episodes.
    system : str
        Units in which it is told: ``metric`` or ``us``.
    """

    rig: str
    scenario: str
    about: str
    played: Played
    outcomes: tuple[Outcome, ...]
    levels: tuple[Level, ...]
    expectations: tuple[Expectation, ...]
    story: tuple[Sentence, ...]
    strips: tuple[Strip, ...]
    system: System = "metric"

    @property
    def fine(self) -> bool:
        """Whether every expectation was kept."""
        return all(e.kept for e in self.expectations)

    @property
    def verdict(self) -> str:
        """The expectations in a few words."""
        broken = sum(not e.kept for e in self.expectations)
        if not self.expectations:
            return "nothing was expected of this run"
        if broken:
            return f"{broken} of {len(self.expectations)} expectations broken"
        return f"all {len(self.expectations)} expectations kept" if len(self.expectations) > 1 else "expectation kept"

    @property
    def harm(self) -> str:
        """The harm that was done, in one line, or that there was none."""
        done = [f"{o.name} ({o.figure(self.system)})" for o in self.outcomes if o.bad]
        if done:
            return f"Harm: {'; '.join(done)}."
        return "No harm: no water indoors, no overflow, no pump ran dry."

    def group(self, name: str) -> list[Outcome]:
        """The outcomes of one kind."""
        return [o for o in self.outcomes if o.group == name]
