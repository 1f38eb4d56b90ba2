"""What has to come together before a statement can be so: which tanks, which water, which sequences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ullage.rig.meaning import (
    Above,
    AtStep,
    Below,
    Condition,
    Dry,
    Flag,
    Gives,
    Holds,
    Indoors,
    Law,
    Linear,
    Reaches,
    SequenceIs,
    Spills,
    Statement,
    Symbol,
    Trips,
    ValveIs,
)
from ullage.rig.model import Rig
from ullage.rig.reason import atoms
from ullage.rig.ways import Link, Ways, one_way


@dataclass(frozen=True, slots=True)
class Need:
    """One level that has to move one way, and the sequences that have to run besides.

    Attributes
    ----------
    tank : str
        "" where no level matters.
    rises : bool
        Whether the tank has to fill, else to empty.
    others : tuple of str
        The tanks that its water comes from, or goes to.
    supplies : tuple of str
        Ports that its water can come from.
    taps : tuple of str
        Fixtures that its water runs through.
    cocks : tuple of str
        Valves on its way that are turned by hand.
    sequences : tuple of str
        Those that open or drive something on its way, and those that are asked about; in order of the file.
    """

    tank: str = ""
    rises: bool = True
    others: tuple[str, ...] = ()
    supplies: tuple[str, ...] = ()
    taps: tuple[str, ...] = ()
    cocks: tuple[str, ...] = ()
    sequences: tuple[str, ...] = ()


def needs_of(statement: Statement, rig: Rig, law: Law) -> tuple[Need, ...]:
    """Ways to bring about what a statement says, the likeliest first; at least one.

    Parameters
    ----------
    statement : Statement
    rig, law : Rig, Law
        Of what it speaks.
    """
    levels, asked = _asked(statement, rig, law)
    flows = _Flows(rig)
    found = [flows.need(tank, rises, asked) for tank, rises in dict.fromkeys(levels)]
    return tuple(found) or (flows.still(asked),)


Level = tuple[str, bool]
"""A tank, and whether it has to fill."""


def _asked(statement: Statement, rig: Rig, law: Law) -> tuple[list[Level], list[str]]:
    """Levels that have to move, and sequences that have to run whatever they move."""
    match statement:
        case Above(tank) | Below(tank):
            return [(tank, isinstance(statement, Above))], []
        case Spills(tank) if tank:
            return [(tank, True)], []
        case Indoors() | Spills():
            return [(tank, True) for tank in _spilling(rig, isinstance(statement, Indoors))], []
        case Dry(pump):
            return [(tank, False) for tank in _Flows(rig).drawn_by(pump)], _driving(rig, (pump,))
        case Trips(interlock):
            return _of_guard(next(trip.when for trip in law.trips if trip.name == interlock), rig)
        case Holds(guard):
            return _of_guard(guard, rig)
        case Reaches(sequence):
            return _of_chart(sequence, rig, law)
        case Gives(source):
            return _of_source(source, rig)


def _spilling(rig: Rig, indoors: bool) -> list[str]:
    """Tanks in the order in which they can lose water indoors, or by an overflow."""
    places = {name: tank.overflow.to if tank.overflow else "brim" for name, tank in rig.tanks.items()}
    order = ("indoors", "brim", "outdoors") if indoors else ("outdoors", "indoors")
    return [name for place in order for name in places if places[name] == place]


def _of_guard(guard: Condition, rig: Rig) -> tuple[list[Level], list[str]]:
    levels: list[Level] = []
    asked: list[str] = []
    for atom, wanted in atoms(guard):
        match atom:
            case Linear(terms, _, op):
                rises = (op in (">", ">=")) == wanted
                levels += [(s.tank, rises == (factor > 0)) for factor, s in terms if s.kind == "sender" and s.tank]
                asked += _driving(rig, _measured(rig, [s for _, s in terms]))
            case Flag(symbol) if symbol.kind == "float":
                levels.append((symbol.tank or "", wanted))
            case Flag(symbol) | ValveIs(symbol):
                asked += _driving(rig, (symbol.name,))
            case SequenceIs(symbol) | AtStep(symbol):
                asked.append(symbol.name)
    return levels, list(dict.fromkeys(asked))


def _measured(rig: Rig, symbols: Iterable[Symbol]) -> Iterator[str]:
    """The parts that open or drive what meters and probes read."""
    for symbol in symbols:
        if symbol.kind == "probe":
            yield rig.probes[symbol.name].of
        for line in rig.lines if symbol.kind == "meter" else ():
            if symbol.name in line.through:
                yield from (part for part in line.through if part in rig.valves or part in rig.pumps)


def _of_chart(sequence: str, rig: Rig, law: Law) -> tuple[list[Level], list[str]]:
    """What a sequence waits for on its way."""
    chart = next(chart for chart in law.charts if chart.name == sequence)
    levels: list[Level] = []
    asked = [sequence]
    for guard in (chart.begins, chart.permit, *(transition.guard for transition in chart.transitions)):
        more, besides = _of_guard(guard, rig) if guard else ([], [])
        levels, asked = levels + more, asked + besides
    return levels, list(dict.fromkeys(asked))


def _of_source(source: str, rig: Rig) -> tuple[list[Level], list[str]]:
    """What brings water to a fixture, or takes it from a supply."""
    if source in rig.fixtures:
        return [(tank, False) for tank in _Flows(rig).drawn_by(source)], []
    return [(tank, True) for tank in _Flows(rig).fed_by(source)], []


def _driving(rig: Rig, parts: Iterable[str]) -> list[str]:
    """The sequences that open one of some valves or start one of some pumps."""
    wanted = set(parts)
    return [name for name in rig.sequences if wanted & set(_driven(rig, name))]


def _driven(rig: Rig, sequence: str) -> Iterator[str]:
    """The parts that a sequence opens or starts."""
    for step in rig.sequences[sequence].steps.values():
        for demand in (step.demand, *(action.demand for action in step.actions)):
            yield from (part for part, word in demand.items() if word in ("open", "on"))


class _Flows:
    """Where the water of a rig comes from and goes to."""

    def __init__(self, rig: Rig) -> None:
        self.rig, self.ways = rig, Ways(rig)

    def reach(self, starts: Iterable[str], up: bool, tank: str = "") -> set[str]:
        """All joints upstream, or downstream, of some; no line of a tank's own counts that leads the other way."""

        def passes(link: Link, forwards: bool) -> bool:
            line = self.rig.lines[link.line]
            own = self.ways.tank_of(line.start if up else line.end)
            return one_way(link, forwards != up) and (not tank or own != tank)

        return self.ways.reach(starts, passes)

    def need(self, tank: str, rises: bool, asked: Iterable[str]) -> Need:
        """What fills a tank, or empties it."""
        rig = self.rig
        draining = [name for name, fixture in rig.fixtures.items() if fixture.drains_to == tank] if rises else []
        ends = [*self.ways.openings(tank), *draining]
        joints = self.reach(ends, rises, tank)
        parts = {link.name for link in self.ways.links if link.start in joints and link.end in joints}
        taps = draining if rises else [name for name in rig.fixtures if name in joints]
        others = {self.ways.tank_of(joint) for joint in sorted(joints)} - {tank, None}
        others |= {rig.fixtures[tap].drains_to for tap in taps} & set(rig.tanks) - {tank} if not rises else set()
        running = {*asked, *_driving(rig, parts)}
        return Need(
            tank=tank,
            rises=rises,
            others=tuple(name for name in rig.tanks if name in others),
            supplies=tuple(n for n, port in rig.ports.items() if port.kind == "supply" and n in joints),
            taps=tuple(taps),
            cocks=tuple(n for n, valve in rig.valves.items() if valve.motor is None and n in parts),
            sequences=tuple(name for name in rig.sequences if name in running),
        )

    def still(self, asked: Iterable[str]) -> Need:
        """Sequences that run, whatever water there is."""
        rig, asked = self.rig, set(asked)
        supplies = tuple(name for name, port in rig.ports.items() if port.kind == "supply")
        return Need(supplies=supplies, sequences=tuple(n for n in rig.sequences if n in asked) or tuple(rig.sequences))

    def drawn_by(self, part: str) -> list[str]:
        """The tanks that a pump or a fixture draws from."""
        joint = self.ways.of_part[part].start if part in self.ways.of_part else part
        return self.tanks_at(self.reach([joint], up=True))

    def fed_by(self, supply: str) -> list[str]:
        """The tanks that a supply fills."""
        return self.tanks_at(self.reach([supply], up=False))

    def tanks_at(self, joints: set[str]) -> list[str]:
        """The tanks that have an opening among some joints."""
        found = {self.ways.tank_of(joint) for joint in sorted(joints)}
        return [name for name in self.rig.tanks if name in found]
