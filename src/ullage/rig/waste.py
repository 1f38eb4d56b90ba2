"""Where waste leaves, which motor valves hold it, and what of that must never be in any rig.

A way is a run of lines from a tank to a port, over points; hand valves and pumps in it are not
counted, so that it may be thought open where it is not. A way without a motor valve is not asked
about: the law has no hand in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from math import ceil

from ullage.rig.meaning import All, AnyOf, Condition, Held, Holds, Not, SequenceIs, ValveIs
from ullage.rig.model import Line, Rig
from ullage.rig.names import symbols
from ullage.rig.procedures import Sequence

WAYS_LIMIT = 50
"""At most so many ways from one place are looked at."""

INTENDED = ("running", "pausing", "restarting")
"""States in which a sequence drives its outputs: what it then opens is meant."""

LEAST_TIME, STEP = 30.0, 10.0
"""What every rig is asked holds for so long at least, in whole steps: a valve on its way is no harm [s]."""


def ways(rig: Rig, start: str, ends: Iterable[str]) -> Iterator[frozenset[str]]:
    """The motor valves of each way from a joint to any of some ends, of those that have one.

    Parameters
    ----------
    rig : Rig
    start : str
        A port, a point, or a tank: then all its openings.
    ends : iterable of str
        Ports and tanks.
    """
    ends = frozenset(ends)
    for lines in islice(_runs(rig, start, ends, ()), WAYS_LIMIT):
        valves = {part for line in lines for part in line.through if part in rig.valves and rig.valves[part].motor}
        if valves:
            yield frozenset(valves)


def _runs(rig: Rig, start: str, ends: frozenset[str], before: tuple[Line, ...]) -> Iterator[tuple[Line, ...]]:
    passed = {line.end for line in before}
    for line in rig.lines:
        if start in (line.start, line.start.partition(".")[0]):
            if line.end.partition(".")[0] in ends:
                yield (*before, line)
            elif line.end in rig.points and line.end not in passed:
                yield from _runs(rig, line.end, ends, (*before, line))


def outlets(rig: Rig, tank: str) -> list[frozenset[str]]:
    """The motor valves of each way on which a tank runs out at a discharge."""
    return list(ways(rig, tank, [name for name, port in rig.ports.items() if port.kind == "discharge"]))


def inlets(rig: Rig, port: str) -> list[frozenset[str]]:
    """The motor valves of each way from a supply to a tank that does not hold waste."""
    return list(ways(rig, port, [name for name, tank in rig.tanks.items() if tank.holds != "waste"]))


def unmeant(rig: Rig, tank: str, seconds: float) -> Holds | None:
    """A way out of a tank stands open for a time while no sequence is about that opens it; None without a way."""
    names, found = symbols(rig), list[Condition]()
    for valves in outlets(rig, tank):
        asking = [name for name, sequence in rig.sequences.items() if valves & _opened(sequence)]
        live = [Not(SequenceIs(names[name], word)) for name in asking for word in INTENDED]
        found.append(All((*_open(rig, valves), *live)) if live or len(valves) > 1 else _open(rig, valves)[0])
    return _lasting(found, seconds)


def joined(rig: Rig, tank: str, port: str, seconds: float) -> Holds | None:
    """A way out of a waste tank and a way in from a supply stand open at once for a time; None without both."""
    pairs = [out | into for out in outlets(rig, tank) for into in inlets(rig, port)]
    both = [_open(rig, valves) for valves in dict.fromkeys(pairs)]
    return _lasting([All(parts) if len(parts) > 1 else parts[0] for parts in both], seconds)


def time_of(rig: Rig, valves: Iterable[str]) -> float:
    """How long some valves may stand open at most when nobody asks for it any more [s], rounded up."""
    least = LEAST_TIME
    for name in valves:
        valve = rig.valves[name]
        stroke = valve.motor.stroke.most if valve.motor else 0.0
        least = max(least, stroke + (valve.lease or 0.0) + valve.safe_after)
    return STEP * ceil(least / STEP)


def _lasting(ways: list[Condition], seconds: float) -> Holds | None:
    if not ways:
        return None
    return Holds(Held(ways[0] if len(ways) == 1 else AnyOf(tuple(ways)), seconds))


def _open(rig: Rig, valves: frozenset[str]) -> tuple[Condition, ...]:
    names = symbols(rig)
    return tuple(ValveIs(names[name], "open") for name in rig.valves if name in valves)


def _opened(sequence: Sequence) -> set[str]:
    """Valves that a sequence opens in any step."""
    steps = sequence.steps.values()
    demands = [step.demand for step in steps] + [action.demand for step in steps for action in step.actions]
    return {name for demand in demands for name, word in demand.items() if word == "open"}
