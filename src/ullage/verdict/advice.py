"""Advice: the smallest change of a rig file after which a harm can no longer come about.

The `changes` are tried from the smallest to the largest, each in a copy of the file, which is
checked and proved anew; nothing is changed by itself. All are tried against the layers that are
soon explored; where none of them is enough, those that change a sequence are tried again with the
sequences followed. A change after which something can no longer be that the rig says can be is
none: a valve that never opens floods nothing. What is told is a suggestion: whoever makes it looks
again.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

from ullage.control.check import Examined, examine
from ullage.plant.faults import Fault
from ullage.prove.harms import Harm
from ullage.prove.prover import COARSE, FINE, Prover, weakest
from ullage.prove.search import Progress
from ullage.rig.meaning import Statement
from ullage.rig.text import read_tree
from ullage.verdict.changes import Change, changes
from ullage.verdict.stories import find_story

TRIES = 40
"""At most so many changes are tried for one harm."""

STATES = 10_000
"""A change is given up after so many states: the next one may do with fewer."""

RUNS = 40
"""So many runs are tried to show that what can be still can."""


@dataclass(frozen=True, slots=True)
class Advice:
    """What was found of the changes that may hold a harm off.

    Attributes
    ----------
    words : str
        What to change; "" where no change that was tried is enough.
    rests_on : str
        The layer of protection that then holds it.
    tried : int
        How many changes were tried, that one among them.
    ended : bool
        Whether all were tried that are known, or one was found.
    """

    words: str
    rests_on: str
    tried: int
    ended: bool = True


class _TimeUp(Exception):
    """No more is wished of it."""


def advise(
    text: str | bytes,
    statement: Statement,
    harm: Harm,
    faults: tuple[Fault, ...] = (),
    go_on: Callable[[int], bool] = lambda tried: True,
) -> Advice:
    """Look for the smallest change of a rig file that is proved to hold a harm off.

    Parameters
    ----------
    text : str or bytes
        The rig file, without faults of its own.
    statement, harm
        What must never be.
    faults : tuple of Fault
        What may go wrong.
    go_on : callable
        Told now and then how many changes have been tried; returns whether to go on.
    """
    adviser = _Adviser(text, go_on)
    try:
        return adviser.advise(statement, harm, faults)
    except _TimeUp:
        return Advice("", "", len(adviser.tried), ended=False)


class _Adviser:
    """Tries changes of one rig."""

    def __init__(self, text: str | bytes, go_on: Callable[[int], bool]) -> None:
        self.tree, _, _ = read_tree(text, "rig")
        self.examined, self.go_on = examine(text, "rig"), go_on
        self.tried = set[str]()

    def advise(self, statement: Statement, harm: Harm, faults: tuple[Fault, ...]) -> Advice:
        """The first change that is enough."""
        rig, program = self.examined.rig, self.examined.program
        assert rig, "only a sound rig is advised"
        assert program, "as above"
        before = Prover(rig, program)
        known = list(changes(self.tree, rig, harm))
        for layers, some in ((COARSE, known), (FINE, [change for change in known if change.of_sequence])):
            for change in some:
                self._go_on()
                if len(self.tried) >= TRIES and change.words not in self.tried:
                    raise _TimeUp
                self.tried.add(change.words)
                after = self._changed(change)
                prover = self._prover(after, before)
                found = _holds(prover, statement, faults, layers) if prover else ""
                if found and self._can_be <= self._shown(after):
                    return Advice(change.words, found, len(self.tried))
        return Advice("", "", len(self.tried))

    def _changed(self, change: Change) -> Examined:
        """The rig after a change, checked and compiled anew."""
        import yaml

        changed = copy.deepcopy(self.tree)
        change.make(changed)
        return examine(yaml.safe_dump(changed, sort_keys=False, allow_unicode=True), "rig")

    def _prover(self, after: Examined, before: Prover) -> Prover | None:
        """One for a changed rig, with the flows of the rig before where they are the same; None where it is refused."""
        rig, program = after.rig, after.program
        if not rig or not program:
            return None
        law = {"sequences": before.rig.sequences, "interlocks": before.rig.interlocks}
        same = rig.model_copy(update=law) == before.rig and program.names.outputs == before.program.names.outputs
        prover = Prover(rig, program, self._watched, before.healthy.bounds if same else None)
        prover.effort = STATES
        return prover

    @cached_property
    def _can_be(self) -> frozenset[str]:
        """What can be before any change."""
        return self._shown(self.examined)

    def _shown(self, examined: Examined) -> frozenset[str]:
        """The ``sometimes`` lines of a rig that a run shows."""
        assert examined.law, "a sound rig has its law"
        return frozenset(
            wish.text
            for wish in examined.law.sometimes
            if find_story(examined, wish.statement, (), RUNS, progress=self._made, text=wish.text)
        )

    def _made(self, made: int, most: int) -> None:
        self._go_on()

    def _watched(self, progress: Progress) -> bool:
        return self.go_on(len(self.tried))

    def _go_on(self) -> None:
        if not self.go_on(len(self.tried)):
            raise _TimeUp


def _holds(prover: Prover, statement: Statement, faults: tuple[Fault, ...], layers: Sequence[int]) -> str:
    """The layer that holds a statement off; "" where none does."""
    found = []
    for harm in prover.harms(statement):
        found.append(prover.find(harm, faults, layers))
        if not found[-1].proved:
            return ""
    return weakest(found)
