"""The docket: every property under every set of faults, each asked no oftener than it has to be.

Faults that cannot change anything a property depends on are left out, so that many sets of faults are one
question. Faults may act or not, so what is REFUTED with few is REFUTED with more.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from ullage.plant.faults import Fault
from ullage.verdict.advice import Advice
from ullage.verdict.causes import Cause, Kind
from ullage.verdict.properties import Asked, Property
from ullage.verdict.verdicts import NOT_REACHED, STOPPED, Verdict, Word

MOST_AT_ONCE = 2
"""Faults that are asked about at once, but for common causes."""

STAGES = (Kind.HEALTH, Kind.SINGLE, Kind.COMMON, Kind.PAIR)
"""The order in which sets of faults are asked about."""


@dataclass(frozen=True, slots=True)
class Item:
    """One question.

    Attributes
    ----------
    asked : Property
    faults : tuple of Fault
        Those that could matter to it, in the order of the catalogue.
    cause : Cause
        The first set of faults that comes to this question.
    hopeless : bool
        Whether a search with fewer faults was given up.
    brief : bool
        Whether it is one of so many that each can be looked at only briefly.
    """

    asked: Property
    faults: tuple[Fault, ...]
    cause: Cause
    hopeless: bool = False
    brief: bool = False


@dataclass(frozen=True, slots=True)
class Entry:
    """One property under one set of faults.

    Attributes
    ----------
    asked : Property
    cause : Cause
    verdict : Verdict
    as_with : tuple of Fault or None
        The fewer faults with which it is so already (none of them: in health); None where it took all that matter.
    """

    asked: Property
    cause: Cause
    verdict: Verdict
    as_with: tuple[Fault, ...] | None = None


class Docket:
    """What is asked, what was found.

    Parameters
    ----------
    properties : sequence of Property
    causes : sequence of Cause
    concerned : mapping
        Of each property the faults that could matter to it.
    """

    def __init__(
        self,
        properties: Sequence[Property],
        causes: Sequence[Cause],
        concerned: Mapping[Property, frozenset[Fault]],
    ) -> None:
        self.properties, self.causes, self.concerned = properties, causes, concerned
        self._found: dict[tuple[Property, frozenset[Fault]], Verdict] = {}

    def asked_under(self, asked: Property) -> list[Cause]:
        """The sets of faults that a property is asked under."""
        only_health = asked.healthy_only or asked.asked is Asked.SOMETIMES
        return [cause for cause in self.causes if cause.kind is Kind.HEALTH or not only_health]

    def matter(self, asked: Property, cause: Cause) -> tuple[Fault, ...]:
        """The faults of a cause that could matter to a property."""
        return tuple(fault for fault in cause.faults if fault in self.concerned[asked])

    def open(self, stage: Kind) -> list[Item]:
        """Questions of a stage that are to be asked, given what was found before."""
        items: dict[tuple[Property, frozenset[Fault]], Item] = {}
        for asked in self.properties:
            for cause in self.asked_under(asked):
                faults = self.matter(asked, cause)
                key = asked, frozenset(faults)
                if cause.kind is stage and key not in self._found and not self._refuted(*key):
                    items.setdefault(key, Item(asked, faults, cause, self._given_up(*key), stage is Kind.PAIR))
        return list(items.values())

    def enter(self, verdict: Verdict) -> None:
        """Note what was found."""
        self._found[verdict.asked, frozenset(verdict.faults)] = verdict

    def unheld(self, kinds: Collection[Kind]) -> list[Item]:
        """What must never be and is not PROVED under some sorts of sets of faults, each once; not what a fault is."""
        items: dict[tuple[Property, frozenset[Fault]], Item] = {}
        for entry in self.entries():
            verdict = entry.verdict
            open_ = verdict.word is not Word.PROVED and verdict.reason not in (NOT_REACHED, STOPPED)
            if entry.cause.kind in kinds and entry.asked.asked in (Asked.NEVER, Asked.HAZARD):
                if open_ and not verdict.itself:
                    key = entry.asked, frozenset(verdict.faults)
                    items.setdefault(key, Item(entry.asked, verdict.faults, entry.cause))
        return list(items.values())

    def proved(self) -> list[Item]:
        """What must never be and is PROVED by the water or the law, each question once."""
        items: dict[tuple[Property, frozenset[Fault]], Item] = {}
        for entry in self.entries():
            verdict = entry.verdict
            if verdict.word is Word.PROVED and entry.asked.asked is not Asked.SOMETIMES:
                items.setdefault(
                    (entry.asked, frozenset(verdict.faults)), Item(entry.asked, verdict.faults, entry.cause)
                )
        return list(items.values())

    def advise(self, item: Item, advice: Advice) -> None:
        """Note what change would hold off what was found."""
        key = item.asked, frozenset(item.faults)
        self._found[key] = replace(self._found[key], advice=advice)

    def entries(self) -> list[Entry]:
        """Every property under every set of faults; what was not reached is UNDECIDED."""
        return [self._entry(asked, cause) for asked in self.properties for cause in self.asked_under(asked)]

    def _entry(self, asked: Property, cause: Cause) -> Entry:
        faults = self.matter(asked, cause)
        refuted = self._refuted(asked, frozenset(faults))
        if refuted:
            fewer = None if set(refuted.faults) == set(faults) == set(cause.faults) else refuted.faults
            return Entry(asked, cause, refuted, fewer)
        found = self._found.get((asked, frozenset(faults)))
        if found is None:
            found = Verdict(asked, faults, Word.UNDECIDED, reason=NOT_REACHED)
        return Entry(asked, cause, found, None if set(found.faults) == set(cause.faults) else found.faults)

    def _fewer(self, asked: Property, faults: frozenset[Fault]) -> Iterable[Verdict]:
        """What was found with some of the faults or all of them, the fewest first."""
        # A set of faults has few subsets that were asked about, and far more sets have been asked about than those.
        some = (frozenset(each) for size in range(MOST_AT_ONCE + 1) for each in combinations(faults, size))
        every = dict.fromkeys([*some, faults])
        return (self._found[asked, each] for each in every if (asked, each) in self._found)

    def _refuted(self, asked: Property, faults: frozenset[Fault]) -> Verdict | None:
        return next((v for v in self._fewer(asked, faults) if v.word is Word.REFUTED), None)

    def _given_up(self, asked: Property, faults: frozenset[Fault]) -> bool:
        return any(verdict.given_up for verdict in self._fewer(asked, faults))
