"""What the checks look at: the rig, its file, its law and its ways in one hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import inf

from ullage.quantities import Span
from ullage.rig.meaning import Chart, Condition, Flag, Law, Linear
from ullage.rig.model import Rig
from ullage.rig.reason import atoms, readings
from ullage.rig.shapes import height, volume
from ullage.rig.text import Places
from ullage.rig.ways import Ways


@dataclass(frozen=True)
class View:
    """A rig whose names are in order.

    Attributes
    ----------
    rig : Rig
        The rig.
    places : Places
        Where its values stand.
    law : Law
        Those of its guards that are clear.
    ways : Ways
        Where its water can go.
    """

    rig: Rig
    places: Places
    law: Law
    ways: Ways

    @cached_property
    def charts(self) -> dict[str, Chart]:
        """The clear charts by name."""
        return {chart.name: chart for chart in self.law.charts}

    @cached_property
    def untils(self) -> dict[str, Condition]:
        """The conditions that let tripped interlocks go, by name."""
        return {trip.name: trip.until for trip in self.law.trips if trip.until is not None}

    @cached_property
    def trips(self) -> dict[str, Condition]:
        """The conditions of the clear interlocks by name."""
        return {trip.name: trip.when for trip in self.law.trips}

    def demands(self, sequence: str) -> Iterator[tuple[str, str, str]]:
        """Step, output and word of all that a sequence demands."""
        for step, content in self.rig.sequences[sequence].steps.items():
            for demand in (content.demand, *(action.demand for action in content.actions)):
                for output, word in demand.items():
                    yield step, output, word

    @cached_property
    def moved(self) -> set[str]:
        """The valves that some sequence opens and the pumps that one switches on."""
        return {output for name in self.rig.sequences for _, output, word in self.demands(name) if word in MOVES}

    def ranges(self, chart: Chart | None = None) -> dict[str, Span]:
        """What each reading, and each parameter of a chart, can be [SI]."""
        table: dict[str, Span] = {}
        for name, sender in self.rig.senders.items():
            shape = self.rig.tanks[sender.on].shape
            top = height(shape) if sender.full_at is None else sender.full_at
            table[name] = Span(0.0, volume(shape, top))
        table.update((name, Span(0.0, inf)) for name in (*self.rig.meters, *self.rig.probes))
        if chart is not None:
            table.update((bound.symbol.name, Span(bound.least, bound.most)) for bound in chart.parameters)
        return table

    def watched_by(self, output: str, word: str) -> set[str]:
        """Readings whose interlock drives an output to a word."""
        names: set[str] = set()
        for name, interlock in self.rig.interlocks.items():
            if interlock.drive.get(output) == word and name in self.trips:
                names |= readings(self.trips[name])
        return names

    def levels(self, when: Condition, tank: str, upward: bool) -> Iterator[float]:
        """Volumes of a tank [m3] at which a condition comes true as the level rises (or falls)."""
        for atom, positive in atoms(when):
            match atom:
                case Linear(((factor, symbol),), constant, op, _) if symbol.kind == "sender" and symbol.tank == tank:
                    above = ((op in (">", ">=")) == (factor > 0)) == positive
                    if above == upward:
                        yield -constant / factor
                case Flag(symbol) if symbol.kind == "float" and symbol.tank == tank and positive == upward:
                    yield volume(self.rig.tanks[tank].shape, self.rig.floats[symbol.name].at)


MOVES = ("open", "on")
"""The words of a demand that let water move."""
