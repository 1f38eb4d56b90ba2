"""What is told of one run, before it becomes a page or lines in a terminal."""

from __future__ import annotations

from dataclasses import dataclass

from ullage.report.strip import Strip
from ullage.report.words import Sentence

CAUTION = (
    "These figures come from a model of the rig, with the parts and the errors that the rig file declares. "
    "They do not replace a trial on the rig itself, nor the local rules for drinking water, waste, gas and "
    "electricity, nor a licensed fitter where those ask for one. Water that stood in tank or hose is not fit to drink "
    "until all has been flushed and disinfected as usual; hot water can scald; waste goes only where it is taken."
)
"""What stands below every account."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """One figure that a run came to.

    Attributes
    ----------
    name : str
        What was measured.
    figure : str
        With its unit.
    bad : bool
        Whether it is a harm (water on the floor, a pump that ran dry).
    main : bool
        Whether it belongs into the shortest account.
    """

    name: str
    figure: str
    bad: bool = False
    main: bool = False


@dataclass(frozen=True, slots=True)
class Expectation:
    """One line that a scenario expects: as written, whether it was kept, and the figure or time that decided it."""

    text: str
    kept: bool
    because: str = ""


@dataclass(frozen=True, slots=True)
class Account:
    """One run, told.

    Attributes
    ----------
    rig, scenario, about : str
        Names, and what the scenario is about.
    facts : tuple of (str, str)
        How it was run: hours, seed, faults, hash of the program.
    outcomes, expectations : tuples
        What it came to.
    story : tuple of Sentence
        All that happened, in order.
    strips : tuple of Strip
        The whole run, then its episodes.
    """

    rig: str
    scenario: str
    about: str
    facts: tuple[tuple[str, str], ...]
    outcomes: tuple[Outcome, ...]
    expectations: tuple[Expectation, ...]
    story: tuple[Sentence, ...]
    strips: tuple[Strip, ...]

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
