"""What the checks look at: the rig, its file, its law and its ways in one hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from math import inf

from ullage.findings import Finding
from ullage.quantities import Span
from ullage.rig.law import read_law
from ullage.rig.meaning import Chart, Condition, Flag, Law, Linear
from ullage.rig.model import Rig
from ullage.rig.procedures import STORED
from ullage.rig.reason import atoms, readings
from ullage.rig.sensing import top
from ullage.rig.shapes import volume
from ullage.rig.text import Places
from ullage.rig.ways import Link, Ways, one_way


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
    """

    rig: Rig
    places: Places
    law: Law

    @cached_property
    def ways(self) -> Ways:
        """Where its water can go."""
        return Ways(self.rig)

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

    def discharging(self, sequence: str) -> str | None:
        """The first step of a sequence in which its demands let waste reach a discharge port, if any does.

        What an action stores may stand in every step.
        """
        steps = self.rig.sequences[sequence].steps
        stored = {
            output
            for content in steps.values()
            for action in content.actions
            if action.qualifier in STORED
            for output, word in action.demand.items()
            if word in MOVES
        }
        for step in steps:
            asked = {output for there, output, word in self.demands(sequence) if there == step and word in MOVES}
            if self._lets_waste_out(asked | stored):
                return step
        return None

    def _lets_waste_out(self, moved: set[str]) -> bool:
        """Whether waste can reach a discharge port while some motor valves stand open and some pumps run."""

        def flows(link: Link, forwards: bool) -> bool:
            driven = link.kind == "pumps" or (link.kind == "valves" and self.rig.valves[link.name].motor is not None)
            return one_way(link, forwards) and (not driven or link.name in moved)

        waste = [tank for tank, part in self.rig.tanks.items() if part.holds == "waste"]
        starts = [opening for tank in waste for opening in self.ways.openings(tank)]
        ends = self.ways.reach(starts, flows) if moved else set()
        return any(port.kind == "discharge" and name in ends for name, port in self.rig.ports.items())

    def ranges(self, chart: Chart | None = None) -> dict[str, Span]:
        """What each reading, and each parameter of a chart, can be [SI]."""
        table: dict[str, Span] = {}
        for name, sender in self.rig.senders.items():
            shape = self.rig.tanks[sender.on].shape
            table[name] = Span(0.0, volume(shape, top(sender, shape)))
        table.update((name, Span(0.0, inf)) for name in (*self.rig.meters, *self.rig.probes))
        if chart is not None:
            table.update((bound.symbol.name, Span(bound.least, bound.most)) for bound in chart.parameters)
        return table

    def watched_by(self, output: str, word: str) -> set[str]:
        """Readings whose interlock drives an output to a word; an interlock that is unclear stands for its readings."""
        names: set[str] = set()
        for name, interlock in self.rig.interlocks.items():
            if interlock.drive.get(output) == word:
                names |= readings(self.trips[name]) if name in self.trips else {name}
        return names

    def levels(self, when: Condition, tank: str, upward: bool) -> Iterator[tuple[float, str]]:
        """Volumes of a tank [m3] at which a condition comes true as the level rises (or falls), each with what acts."""
        for atom, positive in atoms(when):
            match atom:
                case Linear(((factor, symbol),), constant, op, _) if symbol.kind == "sender" and symbol.tank == tank:
                    above = ((op in (">", ">=")) == (factor > 0)) == positive
                    if above == upward:
                        yield -constant / factor, f"'{symbol.name}'"
                case Flag(symbol) if symbol.kind == "float" and symbol.tank == tank and positive == upward:
                    at = self.rig.floats[symbol.name].at
                    yield volume(self.rig.tanks[tank].shape, at), f"the float '{symbol.name}' at {1e3 * at:.0f} mm"


def view_of(rig: Rig, places: Places) -> tuple[View, tuple[Finding, ...]]:
    """The view of a rig, and what of its guards is unclear: its law is read here and nowhere else.

    Parameters
    ----------
    rig : Rig
        As read.
    places : Places
        Where its values stand in the file.
    """
    law, unclear = read_law(rig, places)
    return View(rig, places, law), unclear


MOVES = ("open", "on")
"""The words of a demand that let water move."""
