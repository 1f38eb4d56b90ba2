"""Sets of faults that a question is asked under, each with a name for people."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from itertools import combinations
from typing import Literal

from ullage.plant import faults as f
from ullage.plant.faults import KINDS, Fault, single_faults
from ullage.rig.model import Float, Meter, Rig, Sender


class Kind(Enum):
    """Sorts of sets of faults."""

    HEALTH = "health"
    SINGLE = "single fault"
    COMMON = "common cause"
    PAIR = "pair of faults"


Width = Literal["none", "single", "pairs"]
"""How many faults are looked at at once."""


@dataclass(frozen=True, slots=True)
class Cause:
    """Faults that may act at any time, all of them, some or none.

    Attributes
    ----------
    name : str
        In words: "belly_level stuck".
    kind : Kind
    faults : tuple of Fault
    """

    name: str
    kind: Kind
    faults: tuple[Fault, ...] = ()


HEALTH = Cause("nothing is wrong", Kind.HEALTH)
"""No fault at all."""

SUPPLY = (f.POWER_LOST, f.POWER_CUT_TWICE, f.BROWN_OUT, f.CONTROLLER_RESTARTED)
"""What goes wrong with a supply; a controller that loses it starts anew."""

TELLING = {"senders": f.SENDER_STUCK, "floats": f.FLOAT_STUCK_DRY, "meters": f.METER_JAMMED}
"""Sorts of parts that tell something, each with the fault that stands for any lie: a proof lets it tell anything.

A float that lets a pump run while it is wet does its worst when it stays so.
"""


def causes_of(rig: Rig, width: Width) -> tuple[Cause, ...]:
    """The sets of faults to ask under, the smaller ones first."""
    found = [HEALTH]
    if width != "none":
        found += [Cause(str(fault), Kind.SINGLE, (fault,)) for fault in single_faults(rig)]
        found += _common(rig)
    if width == "pairs":
        found += [Cause(f"{a} and {b}", Kind.PAIR, (a, b)) for a, b in combinations(single_faults(rig), 2)]
    return tuple(found)


def _common(rig: Rig) -> Iterator[Cause]:
    """Causes that befall several parts at once; what befalls one part only is a single fault already."""
    yield Cause(
        "the supply fails in every way", Kind.COMMON, tuple(Fault(kind, amount=_usual(kind)) for kind in SUPPLY)
    )
    for board in rig.boards:
        valves = [name for name, part in rig.valves.items() if part.motor and part.board == board]
        pumps = [name for name, part in rig.pumps.items() if part.board == board]
        driven = [*((f.VALVE_RELAY_WELDED, name) for name in valves), *((f.PUMP_RELAY_WELDED, name) for name in pumps)]
        told = [(kind, name) for kind, name, part in _telling(rig) if part.board == board]
        yield from _several(f"everything on {board} fails", [*told, *driven])
    for tank in rig.tanks:
        told = [(kind, name) for kind, name, part in _telling(rig) if getattr(part, "on", "") == tank]
        yield from _several(f"all that tells of {tank} fails, as on one cable", told)
    for group in TELLING:
        told = [(kind, name) for kind, name, part in _telling(rig) if part is getattr(rig, group).get(name)]
        yield from _several(f"all {group} fail, as of one make", told)


def _several(name: str, befallen: list[tuple[int, str]]) -> Iterator[Cause]:
    if len(befallen) > 1:
        yield Cause(name, Kind.COMMON, tuple(Fault(kind, part, amount=_usual(kind)) for kind, part in befallen))


def _telling(rig: Rig) -> Iterator[tuple[int, str, Sender | Float | Meter]]:
    """All parts that tell something, with the fault that makes them lie."""
    made_wet = {pump.wired.switch for pump in rig.pumps.values() if pump.wired and pump.wired.made == "wet"}
    for group, kind in TELLING.items():
        for name, part in getattr(rig, group).items():
            yield f.FLOAT_STUCK_WET if name in made_wet else kind, name, part


def _usual(kind: int) -> float:
    return KINDS[kind].usual
