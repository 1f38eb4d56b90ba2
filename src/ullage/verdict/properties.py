"""What is asked of a rig: its own lines, and the hazards that are asked of every rig though no line says so."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from ullage.rig import waste
from ullage.rig.meaning import (
    Above,
    All,
    AnyOf,
    Condition,
    Dry,
    Held,
    Holds,
    Indoors,
    Law,
    Spills,
    Statement,
)
from ullage.rig.model import Rig
from ullage.rig.shapes import capacity
from ullage.rig.spell import spell_statement


class Asked(Enum):
    """Where a property comes from."""

    NEVER = "the rig says never"
    HAZARD = "asked of every rig"
    TOLD = "allowed, but told"
    SOMETIMES = "the rig says sometimes"


@dataclass(frozen=True, slots=True)
class Property:
    """One thing that must never be, or that can be.

    Attributes
    ----------
    text : str
        The statement, in the language of the rig file.
    statement : Statement
    asked : Asked
        Where it comes from.
    healthy_only : bool
        Whether it is asked only while nothing is wrong.
    """

    text: str
    statement: Statement
    asked: Asked
    healthy_only: bool = False


def properties_of(rig: Rig, law: Law) -> tuple[Property, ...]:
    """All that is asked of a rig: its ``never`` lines, the hazards of every rig, its ``sometimes`` lines.

    Parameters
    ----------
    rig, law : Rig, Law
        Of a rig that is not refused.
    """
    never = [Property(wish.text, wish.statement, Asked.NEVER, wish.healthy_only) for wish in law.never]
    hazards = [hazard for hazard in _hazards(rig) if not any(_says(rig, line, hazard) for line in never)]
    return (*never, *hazards, *(Property(wish.text, wish.statement, Asked.SOMETIMES) for wish in law.sometimes))


def _hazards(rig: Rig) -> Iterator[Property]:
    """What is asked of every rig; water that leaves outdoors by an overflow is what an overflow is for."""
    found: list[tuple[Statement, Asked]] = [(Indoors(), Asked.HAZARD)]
    found += [(Dry(pump), Asked.HAZARD) for pump in rig.pumps]
    for statement, asked in found:
        yield Property(spell_statement(statement, rig), statement, asked)
    yield from _of_waste(rig)
    for name, tank in rig.tanks.items():
        if tank.overflow and tank.overflow.to == "outdoors":
            yield Property(spell_statement(Spills(name), rig), Spills(name), Asked.TOLD)


def _of_waste(rig: Rig) -> Iterator[Property]:
    """Waste that may run out while nobody wants it, or while drinking water runs in.

    A way with one valve stands open when that valve fails, whatever anybody asks of it: it is asked about in health.
    """
    for tank in [name for name, tank in rig.tanks.items() if tank.holds == "waste"]:
        outlets = waste.outlets(rig, tank)
        seconds, alone = waste.time_of(rig, frozenset().union(*outlets)), any(len(way) == 1 for way in outlets)
        unmeant = waste.unmeant(rig, tank, seconds)
        if unmeant is not None:
            yield Property(f"{tank} open without intent held {seconds:g} s", unmeant, Asked.HAZARD, alone)
        for port in [name for name, port in rig.ports.items() if port.kind == "supply"]:
            joined = waste.joined(rig, tank, port, seconds)
            if joined is not None:
                yield Property(f"{tank} joined to {port} held {seconds:g} s", joined, Asked.HAZARD)


def _says(rig: Rig, line: Property, hazard: Property) -> bool:
    """Whether a line of the rig says a hazard already, whenever it is asked about."""
    if line.healthy_only and not hazard.healthy_only:
        return False
    match line.statement, hazard.statement:
        case Above(tank, most), Spills(spilt):
            return tank == spilt and most <= capacity(rig.tanks[tank])
        case Spills(""), Spills(_):
            return True
        case Holds(said), Holds(Held(part, seconds)):
            whole, most = (said.part, said.seconds) if isinstance(said, Held) else (said, 0.0)
            ways = part.parts if isinstance(part, AnyOf) else (part,)
            return most <= seconds and all(set(_all_of(whole)) <= set(_all_of(way)) for way in ways)
        case said, asked:
            return said == asked


def _all_of(guard: Condition) -> tuple[Condition, ...]:
    """The parts that must all be true of a guard."""
    return guard.parts if isinstance(guard, All) else (guard,)
