"""Findings on references: does everything that is named exist, and can it be what is asked of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping

from ullage.findings import Finding, catalogue, nearest
from ullage.rig.model import Rig
from ullage.rig.names import IN_LINE, OUTDOORS, named, parts
from ullage.rig.procedures import GESTURES
from ullage.rig.text import Path, Places

"""What a gesture may command of a sequence (ISA-88); ``stop all`` and ``abort all`` are for all."""

_OUTPUT_WORDS = {"valves": ("open", "closed"), "pumps": ("on", "off")}


def reference_findings(rig: Rig, places: Places) -> Iterator[Finding]:
    """All references of a rig (codes N203 to N211)."""
    yield from _parts(rig, places)
    yield from _lines(rig, places)
    yield from _demands(rig, places)
    yield from _gestures(rig, places)
    yield from _accepts(rig, places)


def _unknown(name: str, known: Iterable[str], kind: str, path: Path, places: Places, on: str) -> Iterator[Finding]:
    known = list(known)
    if name not in known:
        yield Finding(
            "N203", places.value(*path), f"'{name}' is no {kind} of the rig", f"a {kind}", nearest(name, known), on
        )


def _parts(rig: Rig, places: Places) -> Iterator[Finding]:
    for kind, name, part in parts(rig):
        board = getattr(part, "board", None)
        if board is not None:
            yield from _unknown(board, rig.boards, "board", (kind, name, "board"), places, name)
    for kind, name, part in parts(rig, "valves", "pumps"):
        if part.wired is not None:
            yield from _unknown(part.wired.switch, rig.floats, "float", (kind, name, "wired", "float"), places, name)
    for kind in ("senders", "floats"):
        for _, name, part in parts(rig, kind):
            yield from _unknown(part.on, rig.tanks, "tank", (kind, name, "on"), places, name)
    for name, fixture in rig.fixtures.items():
        path: Path = ("fixtures", name, "drains_to")
        yield from _unknown(fixture.drains_to, (*rig.tanks, OUTDOORS), "tank", path, places, name)
    for name, accumulator in rig.accumulators.items():
        yield from _unknown(accumulator.at, rig.points, "point", ("accumulators", name, "at"), places, name)
    openings = [f"{name}.{opening}" for name, tank in rig.tanks.items() for opening in tank.openings]
    for name, drain in rig.drains.items():
        known = (*rig.points, *named(rig, *IN_LINE), *openings)
        kind = "point, part of a line or tank.opening"
        yield from _unknown(drain.at, known, kind, ("drains", name, "at"), places, name)
    for name, cartridge in rig.filters.items():
        yield from _unknown(cartridge.at, named(rig, *IN_LINE), "part of a line", ("filters", name, "at"), places, name)
    measured = {"current": ("pumps", "valves"), "pressure": ("points", "pumps"), "voltage": ("boards",)}
    for name, probe in rig.probes.items():
        kinds = measured[probe.measures]
        kind = " or ".join(kind[:-1] for kind in kinds)
        yield from _unknown(probe.of, named(rig, *kinds), kind, ("probes", name, "of"), places, name)


# --- lines -----------------------------------------------------------------------------------


def _lines(rig: Rig, places: Places) -> Iterator[Finding]:
    in_line = named(rig, *IN_LINE)
    used: Counter[str] = Counter()
    for at, line in enumerate(rig.lines):
        for key, end in (("from", line.start), ("to", line.end)):
            yield from _end(rig, end, ("lines", at, key), places)
        for seat, name in enumerate(line.through):
            path: Path = ("lines", at, "through", seat)
            yield from _unknown(name, in_line, "part of a line", path, places, name)
            used[name] += 1
            if used[name] == 2 and name in in_line:
                yield Finding("N208", places.value(*path), f"'{name}' sits in two places", "one", on=name)
    for kind, name, _ in parts(rig, *IN_LINE):
        if name not in used:
            yield Finding("N207", places.key(kind, name), f"'{name}' sits in no line", "a line through it", on=name)
    ends = {end for line in rig.lines for end in (line.start, line.end)}
    for kind in ("ports", "fixtures", "points"):
        for _, name, _ in parts(rig, kind):
            if name not in ends:
                yield Finding("N207", places.key(kind, name), f"no line leads to '{name}'", "a line", on=name)
    for name, tank in rig.tanks.items():
        for opening in tank.openings:
            if f"{name}.{opening}" not in ends:
                place = places.key("tanks", name, "openings", opening)
                drained = any(fixture.drains_to == name for fixture in rig.fixtures.values())
                expected = "a line; what runs there by 'drains_to' needs no opening" if drained else "a line"
                yield Finding("N207", place, f"no line leads to '{name}.{opening}'", expected, on=name)


def _end(rig: Rig, end: str, path: Path, places: Places) -> Iterator[Finding]:
    tank, dot, opening = end.partition(".")
    known = [*rig.ports, *rig.fixtures, *rig.points]
    if dot and tank in rig.tanks:
        if opening not in rig.tanks[tank].openings:
            openings = rig.tanks[tank].openings
            expected = "one of " + ", ".join(openings) if openings else "an opening in the tank"
            what = f"'{tank}' has no opening '{opening}'"
            yield Finding("N204", places.value(*path), what, expected, nearest(opening, openings), tank)
    elif end in rig.tanks:
        doors = ", ".join(f"{end}.{opening}" for opening in rig.tanks[end].openings)
        what = f"it is not said which opening of '{end}'"
        yield Finding("N204", places.value(*path), what, f"one of {doors}", on=end)
    elif end not in known:
        every = [*known, *(f"{name}.{opening}" for name, tank in rig.tanks.items() for opening in tank.openings)]
        expected = "a port, a fixture, a point or tank.opening"
        yield Finding("N204", places.value(*path), f"'{end}' is no end for a line", expected, nearest(end, every))


# --- outputs and commands ----------------------------------------------------------------------


def _demands(rig: Rig, places: Places) -> Iterator[Finding]:
    for owner, sequence in rig.sequences.items():
        for step, content in sequence.steps.items():
            path: Path = ("sequences", owner, "steps", step)
            yield from _outputs(rig, content.demand, (*path, "demand"), places, owner)
            for at, action in enumerate(content.actions):
                yield from _outputs(rig, action.demand, (*path, "actions", at, "demand"), places, owner)
    for owner, interlock in rig.interlocks.items():
        yield from _outputs(rig, interlock.drive, ("interlocks", owner, "drive"), places, owner)


def _outputs(rig: Rig, demand: Mapping[str, str], path: Path, places: Places, on: str) -> Iterator[Finding]:
    outputs = {name: kind for kind, name, _ in parts(rig, "valves", "pumps", "lamps")}
    for name, word in demand.items():
        kind = outputs.get(name)
        if kind is None:
            near = nearest(name, outputs)
            what = f"'{name}' is no valve, pump or lamp of the rig"
            yield Finding("N203", places.key(*path, name), what, "a valve, pump or lamp", near, on)
            continue
        words = rig.lamps[name].colours if kind == "lamps" else _OUTPUT_WORDS[kind]
        if word not in words:
            what = f"'{name}' cannot be '{word}'"
            expected = "one of " + ", ".join(words)
            yield Finding("N205", places.value(*path, name), what, expected, nearest(word, words), on)
        if kind == "valves" and rig.valves[name].motor is None:
            what = f"'{name}' has no motor, only a hand turns it"
            yield Finding("N211", places.key(*path, name), what, "a valve with a motor", on=on)


def _gestures(rig: Rig, places: Places) -> Iterator[Finding]:
    if rig.handset is None:
        return
    seen: set[str] = set()
    for at, gesture in enumerate(rig.handset.gestures):
        path: Path = ("handset", "gestures", at)
        command, _, subject = gesture.does.partition(" ")
        if command not in GESTURES or not subject:
            expected = "one of " + ", ".join(GESTURES) + " and the name of a sequence"
            near = nearest(command, GESTURES)
            yield Finding("N206", places.value(*path, "does"), f"'{gesture.does}' is no command", expected, near)
        elif subject != "all" or command not in ("stop", "abort"):
            yield from _unknown(subject, rig.sequences, "sequence", (*path, "does"), places, subject)
        if gesture.attitude in seen:
            what = f"'{gesture.attitude}' already gives a command"
            yield Finding("S425", places.value(*path, "attitude"), what, "one command for each attitude")
        seen.add(gesture.attitude)


def _accepts(rig: Rig, places: Places) -> Iterator[Finding]:
    for at, accept in enumerate(rig.accepts):
        path: Path = ("accepts", at, "finding")
        entry = catalogue().get(accept.finding)
        if entry is None:
            near = nearest(accept.finding, catalogue())
            yield Finding("N210", places.value(*path), f"there is no finding '{accept.finding}'", "a code", near)
        elif entry.level != "caution":
            what = f"'{accept.finding}' is a fault and cannot be accepted"
            yield Finding("N210", places.value(*path), what, "a caution")
