"""Levels of a tank that mean something: overflow, floats, the limits of interlocks, what a person wished."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ullage.report.quantity_words import System, in_unit
from ullage.report.strip import Mark
from ullage.rig.meaning import All, AnyOf, Condition, Held, Law, Linear, Not
from ullage.rig.model import Rig
from ullage.rig.shapes import capacity, volume


def marks_of(rig: Rig, law: Law, tank: str, system: System) -> tuple[Mark, ...]:
    """Overflow, floats and interlocks of a tank [unit of volume], the highest first."""
    part = rig.tanks[tank]
    marks = [Mark("overflow" if part.overflow else "brim", capacity(part), "limit")]
    marks += [Mark(name, volume(part.shape, f.at), "sign") for name, f in rig.floats.items() if f.on == tank]
    for trip in law.trips:
        marks += [Mark(trip.name, limit, "sign") for limit in _limits(trip.when, tank)]
    shown = dict.fromkeys(Mark(m.name, in_unit(m.value, "volume", system), m.kind) for m in marks)
    return tuple(sorted(shown, key=lambda m: (-m.value, m.name)))


def wishes_of(law: Law, sequence: str, tank: str, wishes: Mapping[str, float], system: System) -> tuple[Mark, ...]:
    """Parameters of a sequence that are volumes of a tank [unit of volume].

    Parameters
    ----------
    wishes : mapping
        Values that a person set, by ``sequence.parameter`` [m3]; the others stand at their default.
    """
    marks = []
    for chart in law.charts:
        if chart.name == sequence:
            for bounds in chart.parameters:
                if bounds.symbol.tank == tank and bounds.symbol.dimension == "volume":
                    value = wishes.get(f"{sequence}.{bounds.symbol.name}", bounds.default)
                    marks.append(Mark(bounds.symbol.name, in_unit(value, "volume", system), "wish"))
    return tuple(marks)


def _limits(condition: Condition, tank: str) -> Iterator[float]:
    """Volumes at which a condition turns on one sender of the tank [m3]."""
    if isinstance(condition, All | AnyOf):
        for part in condition.parts:
            yield from _limits(part, tank)
    elif isinstance(condition, Not | Held):
        yield from _limits(condition.part, tank)
    elif isinstance(condition, Linear) and len(condition.terms) == 1:
        factor, symbol = condition.terms[0]
        if symbol.kind == "sender" and symbol.tank == tank:
            yield -condition.constant / factor
