"""Every name of a rig and what it stands for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from ullage.findings import Finding
from ullage.rig.guard import WORDS
from ullage.rig.meaning import Symbol
from ullage.rig.model import Rig
from ullage.rig.place import Position
from ullage.rig.text import Places

HANDSET = "handset"
"""Name of the handset in guards."""

OUTDOORS = "outdoors"
"""Where a fixture may drain to besides a tank."""

ALL = "all"
"""What a gesture names to command all sequences."""

KINDS = (
    "boards", "tanks", "ports", "points", "pipes", "restrictors", "checks", "valves", "pumps", "accumulators",
    "heaters", "fixtures", "senders", "floats", "meters", "probes", "lamps", "loads", "drains", "filters", "axles",
    "masses", "sequences", "interlocks",
)  # fmt: skip
"""The groups of named parts, in the order of the file's schema; no two parts share a name."""

IN_LINE = ("pipes", "restrictors", "checks", "valves", "pumps", "heaters", "meters")
"""The groups whose parts sit in lines."""

SIGNALS = ("senders", "floats", "meters", "probes")
"""The groups of readings."""

_PROBE_DIMENSION = {"current": "current", "pressure": "pressure", "voltage": "voltage"}


def parts(rig: Rig, *kinds: str) -> Iterator[tuple[str, str, Any]]:
    """Kind, name and part of all named parts of some groups (of all groups when none is named)."""
    for kind in kinds or KINDS:
        for name, part in getattr(rig, kind).items():
            yield kind, name, part


def named(rig: Rig, *kinds: str) -> dict[str, Any]:
    """The parts of some groups by name."""
    return {name: part for _, name, part in parts(rig, *kinds)}


def place_of(rig: Rig, end: str) -> Position:
    """Where an end of a line is."""
    tank, _, opening = end.partition(".")
    if tank in rig.tanks:
        floor, mouth = rig.tanks[tank].floor_at, rig.tanks[tank].openings[opening]
        return Position.model_construct(x=floor.x + mouth.x, y=floor.y + mouth.y, z=floor.z + mouth.at)
    for parts_there in (rig.points, rig.ports, rig.fixtures):
        if end in parts_there:
            return parts_there[end].at
    raise AssertionError(f"{end} is no end of a line")


def symbols(rig: Rig) -> dict[str, Symbol]:
    """All names that a guard outside of a sequence may use; a sequence's own come with `own_symbols`."""
    table: dict[str, Symbol] = {}
    for name, sender in rig.senders.items():
        table[name] = Symbol(name, "sender", "volume", tank=sender.on)
    for name, switch in rig.floats.items():
        table[name] = Symbol(name, "float", tank=switch.on)
    for name in rig.meters:
        table[name] = Symbol(name, "meter", "flow")
    for name, probe in rig.probes.items():
        table[name] = Symbol(name, "probe", _PROBE_DIMENSION[probe.measures])
    for kind, group in (("valve", rig.valves), ("pump", rig.pumps), ("lamp", rig.lamps), ("board", rig.boards)):
        table.update((name, Symbol(name, kind)) for name in group)  # type: ignore[arg-type]
    for name in rig.sequences:
        table[name] = Symbol(name, "sequence", sequence=name)
    if rig.handset is not None:
        table[HANDSET] = Symbol(HANDSET, "handset")
    return table


def name_findings(rig: Rig, places: Places) -> Iterator[Finding]:
    """Names that stand for two things, or for a word of the guard language."""
    seen: dict[str, str] = {}
    for kind, name, _ in parts(rig):
        place = places.key(kind, name)
        if name in WORDS or name in (HANDSET, OUTDOORS, ALL):
            yield Finding("N202", place, f"'{name}' is a word of the language", "another name", on=name)
        if name in seen:
            yield Finding("N201", place, f"'{name}' already names one of {seen[name]}", "another name", on=name)
        seen.setdefault(name, kind)
    for owner, sequence in rig.sequences.items():
        yield from _inner_names(owner, sequence.parameters, seen, places)
        for step in sequence.steps:
            if step in WORDS:
                place = places.key("sequences", owner, "steps", step)
                yield Finding("N202", place, f"'{step}' is a word of the language", "another name", on=owner)


def _inner_names(owner: str, names: Mapping[str, Any], seen: Mapping[str, str], places: Places) -> Iterator[Finding]:
    for name in names:
        place = places.key("sequences", owner, "parameters", name)
        if name in WORDS or name == HANDSET:
            yield Finding("N202", place, f"'{name}' is a word of the language", "another name", on=owner)
        elif name in seen:
            what = f"the parameter '{name}' is named like one of {seen[name]}"
            yield Finding("N201", place, what, "another name", on=owner)
