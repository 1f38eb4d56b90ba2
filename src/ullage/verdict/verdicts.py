"""Verdicts: what was found of one property under one set of faults, and how it is found."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

from ullage.control.check import Examined
from ullage.plant.faults import HOSE_BURST, Fault
from ullage.prove.harms import Harm as Proposition
from ullage.prove.harms import Lasting, NotFollowed
from ullage.prove.prover import COARSE, EFFORT, FINE, Found, Prover, weakest
from ullage.prove.search import Progress
from ullage.rig.meaning import Indoors
from ullage.rig.model import Rig
from ullage.simulate.scenario import Scenario
from ullage.verdict.advice import Advice, advise
from ullage.verdict.certificates import Notary
from ullage.verdict.exercise import Exercised, exercise
from ullage.verdict.file import write_story
from ullage.verdict.harm import Harm
from ullage.verdict.properties import Asked, Property
from ullage.verdict.stories import RUNS, Story, find_story, find_witness
from ullage.verdict.trial import Trials

BRIEFLY = 50
"""Of pairs of faults there are thousands: each is given this part of the runs.

The sequences are searched only for what rests on them in health too, in this part of the states."""

QUICK = 4
"""A story is looked for with this part of all runs before the sequences are explored, which takes longer."""

BY_A_RUN = "a run"
"""What a ``sometimes`` line rests on that was seen to come about."""

NOT_REACHED = "it was stopped before this was reached"
STOPPED = "it was stopped before the end"
NO_RUN = "no run was found that does it"
"""Why something is UNDECIDED."""


class Word(Enum):
    """The three verdicts."""

    PROVED = "PROVED"
    REFUTED = "REFUTED"
    UNDECIDED = "UNDECIDED"


@dataclass(frozen=True, slots=True)
class Written:
    """A story as it was written.

    Attributes
    ----------
    scenario : Scenario
        What is done, with everything that goes wrong.
    harm : Harm
        What it comes to.
    file : str
        The text of its file.
    """

    scenario: Scenario
    harm: Harm
    file: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was found of one property under some faults.

    Attributes
    ----------
    asked : Property
    faults : tuple of Fault
        Those that could matter to it.
    word : Word
    rests_on : str
        The layer that holds it where it is PROVED.
    states : int
        States that closed.
    reason : str
        Why it is UNDECIDED.
    itself : bool
        Whether a fault is the harm by itself, so that no law can prevent it.
    story : Written or None
        How it comes about where it is REFUTED; the run that shows it, of a ``sometimes`` line that is PROVED.
    least_ms : int or None
        The least time from which it is PROVED in health, of what must not last [ms].
    advice : Advice or None
        What change would hold it off, where that was asked.
    """

    asked: Property
    faults: tuple[Fault, ...]
    word: Word
    rests_on: str = ""
    states: int = 0
    reason: str = ""
    itself: bool = False
    story: Written | None = None
    least_ms: int | None = None
    advice: Advice | None = None

    @property
    def given_up(self) -> bool:
        """Whether a search was given up that would not do better with more faults."""
        return self.word is Word.UNDECIDED and self.states > 0


@dataclass(frozen=True, slots=True)
class Tally:
    """How far the work on one verdict has come.

    Attributes
    ----------
    nodes, waiting, scans : int
        States found, of them not yet carried on, and boxes carried on by one scan.
    runs : int
        Trials made for a story.
    changes : int
        Changes tried for an advice.
    """

    nodes: int = 0
    waiting: int = 0
    scans: int = 0
    runs: int = 0
    changes: int = 0


class Stopped(Exception):
    """A person wished no more of it."""


class Inquiry:
    """Finds the verdicts on one rig.

    Parameters
    ----------
    text : str or bytes
        The rig file.
    examined : Examined
        The same, checked and compiled.
    watch : callable
        Told how far the work has come; returns whether to go on.
    effort : int
        A search is given up after so many states.
    runs : int
        At most so many runs are tried for a story.
    """

    def __init__(
        self,
        text: str | bytes,
        examined: Examined,
        watch: Callable[[Tally], bool] = lambda tally: True,
        effort: int = EFFORT,
        runs: int = RUNS,
    ) -> None:
        rig, program = examined.rig, examined.program
        assert rig, "only a sound rig is asked about"
        assert program, "as above"
        self.text = text
        self.examined, self.rig, self.watch, self.runs = examined, rig, watch, runs
        self.prover = Prover(rig, program, self._explored)
        self.effort = self.prover.effort = effort
        self.trials = Trials(rig, program)

    def concerned(self, asked: Property, faults: Iterable[Fault]) -> frozenset[Fault]:
        """Those of some faults that could change the verdict on a property: under the others it is as in health."""
        faults = list(faults)
        itself = [fault for fault in faults if is_harm_itself(self.rig, asked, fault)]
        try:
            harms = self.prover.harms(asked.statement)
        except NotFollowed:
            return frozenset(faults)
        return frozenset(itself).union(*(self.prover.concerned(harm, faults) for harm in harms))

    def exercise(self, faults: Iterable[Fault] = ()) -> Exercised:
        """What comes of an exercise with some faults."""
        return exercise(self.examined, faults)

    def judge(
        self, asked: Property, faults: Sequence[Fault] = (), hopeless: bool = False, brief: bool = False
    ) -> Verdict:
        """Find one verdict.

        Parameters
        ----------
        asked : Property
        faults : sequence of Fault
            Each may act at any time, or not at all.
        hopeless : bool
            Whether a search with fewer faults was given up, so that only a story is looked for.
        brief : bool
            Whether to give up soon.
        """
        faults = tuple(faults)
        try:
            if asked.asked is Asked.SOMETIMES:
                return self._witnessed(asked)
            return self._judged(asked, faults, hopeless, brief)
        except Stopped:
            return Verdict(asked, faults, Word.UNDECIDED, reason=STOPPED)

    def _judged(self, asked: Property, faults: tuple[Fault, ...], hopeless: bool, brief: bool) -> Verdict:
        runs = self.runs // (BRIEFLY if brief else 1)
        if any(is_harm_itself(self.rig, asked, fault) for fault in faults):
            story = self._story(asked, faults, runs)
            word = Word.REFUTED if story else Word.UNDECIDED
            return Verdict(asked, faults, word, reason="" if story else NO_RUN, itself=True, story=story)
        try:
            harms = self.prover.harms(asked.statement)
        except NotFollowed as fault:
            story = self._story(asked, faults, runs)
            reason = f"no proof follows this: {fault}; and no run was found that does it"
            return Verdict(asked, faults, Word.REFUTED if story else Word.UNDECIDED, "", 0, reason, story=story)
        found = [self._find(harm, faults, COARSE) for harm in harms]
        if not all(one.proved for one in found):
            story = None if brief else self._story(asked, faults, runs // QUICK)
            if story:
                return Verdict(asked, faults, Word.REFUTED, story=story)
            if not hopeless:
                found = [one if one.proved else self._searched(one, faults, brief) for one in found]
        if all(one.proved for one in found):
            least = None if faults else self._least_ms(harms)
            return Verdict(asked, faults, Word.PROVED, weakest(found), states_of(found), least_ms=least)
        story = self._story(asked, faults, runs)
        if story:
            return Verdict(asked, faults, Word.REFUTED, story=story)
        return Verdict(asked, faults, Word.UNDECIDED, states=states_of(found), reason=_why(found, hopeless, brief))

    def _searched(self, found: Found, faults: tuple[Fault, ...], brief: bool) -> Found:
        """What is found where the sequences are searched too."""
        if not brief:
            return self._find(found.harm, faults, FINE)
        if self._find(found.harm, (), COARSE).proved:
            return found
        self.prover.effort = self.effort // BRIEFLY
        try:
            return self._find(found.harm, faults, FINE)
        finally:
            self.prover.effort = self.effort

    def _least_ms(self, harms: Sequence[Proposition]) -> int | None:
        """The least time of what must not last in health; None where it has none or a person stopped it."""
        if len(harms) != 1 or not isinstance(harms[0].tree, Lasting):
            return None
        least = self.prover.least_time(harms[0])
        return least if self.watch(Tally()) else None

    def advise(
        self,
        asked: Property,
        faults: Sequence[Fault] = (),
        go_on: Callable[[], bool] = lambda: True,
    ) -> Advice | None:
        """Look for the smallest change of the rig file that is proved to hold off what is not PROVED.

        Parameters
        ----------
        asked, faults
            Those of a verdict.
        go_on : callable
            Whether there is time left.

        Returns
        -------
        Advice or None
            None where a person stopped it, or where no proof follows the property.
        """
        faults = tuple(faults)
        try:
            found = (self.prover.find(harm, faults, COARSE) for harm in self.prover.harms(asked.statement))
            harm = next((one.harm for one in found if not one.proved), None)
        except NotFollowed:
            return None
        if harm is None:
            return None
        advice = advise(
            self.text, asked.statement, harm, faults, lambda tried: go_on() and self.watch(Tally(changes=tried))
        )
        return advice if self.watch(Tally(changes=advice.tried)) else None

    def certify(self, asked: Property, faults: Sequence[Fault] = ()) -> list[list[str]] | None:
        """Certificates of what is PROVED, each as lines; None where a person stopped it."""
        return Notary(self.examined, self.prover).certify(asked, faults)

    def _witnessed(self, asked: Property) -> Verdict:
        story = find_witness(self.examined, asked.statement, self.runs, text=asked.text)
        if story is None:
            return Verdict(asked, (), Word.UNDECIDED, reason="no run was found in which it comes about")
        return Verdict(asked, (), Word.PROVED, BY_A_RUN, story=self._written(story))

    def _story(self, asked: Property, faults: tuple[Fault, ...], runs: int) -> Written | None:
        story = find_story(
            self.examined,
            asked.statement,
            faults,
            runs,
            progress=self._tried,
            trials=self.trials,
            text=asked.text,
        )
        return None if story is None else self._written(story)

    def _written(self, story: Story) -> Written:
        assert self.examined.law, "a sound rig has its law"
        return Written(story.scenario, story.harm, write_story(story, self.examined.law))

    def _find(self, harm: Proposition, faults: tuple[Fault, ...], layers: Sequence[int]) -> Found:
        found = self.prover.find(harm, faults, layers)
        if found.stopped:
            raise Stopped
        return found

    def _explored(self, progress: Progress) -> bool:
        return self.watch(Tally(progress.nodes, progress.waiting, progress.scans))

    def _tried(self, made: int, most: int) -> None:
        if not self.watch(Tally(runs=made)):
            raise Stopped


def _why(found: Sequence[Found], hopeless: bool, brief: bool) -> str:
    """Why neither a proof nor a story was found."""
    open_ones = [one for one in found if not one.proved]
    about = ", ".join(one.harm.about for one in open_ones if one.harm.about)
    of = f" of {about}" if about else ""
    if hopeless:
        return f"with fewer faults the search{of} was given up already, and {NO_RUN}"
    if any(one.given_up for one in open_ones):
        return f"the search{of} was given up at {states_of(found):,} states, and {NO_RUN}"
    if brief:
        return f"looked at briefly: no interlock{of} holds it, and {NO_RUN}"
    return f"the bounds{of} leave it open, and {NO_RUN}"


def states_of(found: Iterable[Found]) -> int:
    """States of the last layers that were explored."""
    return sum(one.layers[-1].states for one in found if one.layers)


def is_harm_itself(rig: Rig, asked: Property, fault: Fault) -> bool:
    """Whether a fault is what must not be, by itself: a pipe that bursts where people live."""
    return isinstance(asked.statement, Indoors) and fault.kind == HOSE_BURST and not rig.pipes[fault.part].outdoors
