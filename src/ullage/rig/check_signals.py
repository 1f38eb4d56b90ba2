"""Findings on boards, readings and interlocks: what happens when a link or a wire is gone."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from ullage.findings import Finding
from ullage.rig.gaps import sources
from ullage.rig.meaning import Flag
from ullage.rig.model import REPORT_EVERY
from ullage.rig.names import SIGNALS, parts
from ullage.rig.reason import atoms, can_be, possible
from ullage.rig.sensing import interval, stale_after
from ullage.rig.view import View

CALM = 30 * 86400.0
"""An interlock that latches for nothing more often than this [s] locks out a rig that nobody looks after."""

REST = {"valves": "closed", "pumps": "off"}
"""The word that stops water, by group of outputs."""


def signal_findings(view: View) -> Iterator[Finding]:
    """All findings on outputs, readings and interlocks."""
    yield from _leases(view)
    yield from _freshness(view)
    yield from _interlocks(view)
    yield from _latched(view)
    yield from _opposing(view)
    yield from _wires(view)
    yield from _coils(view)


def _leases(view: View) -> Iterator[Finding]:
    for kind, name, part in parts(view.rig, "valves", "pumps"):
        if name not in view.moved:
            continue
        place = view.places.key(kind, name)
        if part.board is None:
            yield Finding("I507", place, f"no board drives '{name}', which a sequence moves", "board: ...", on=name)
        elif part.lease is None:
            what = f"'{name}' goes on without end when nobody speaks to its board any more"
            yield Finding("I501", place, what, "lease: 3 s", on=name)
        if part.on_lapse in (None, "stays"):
            what = f"'{name}' holds its last state when its lease lapses"
            yield Finding("I502", place, what, f"on_lapse: {REST[kind]}", on=name)
        elif part.on_lapse != REST[kind]:
            what = f"'{name}' goes '{part.on_lapse}' when its lease lapses"
            yield Finding("I503", view.places.value(kind, name, "on_lapse"), what, f"on_lapse: {REST[kind]}", on=name)


def _freshness(view: View) -> Iterator[Finding]:
    for kind, name, signal in parts(view.rig, *SIGNALS):
        place = view.places.key(kind, name)
        if signal.published == "on change" and signal.heartbeat is None:
            what = f"'{name}' is silent while nothing changes, like a dead one"
            yield Finding("I504", place, what, "heartbeat: ...", on=name)
        board = view.rig.boards.get(signal.board) if signal.board else None
        slowest = interval(signal) + (board.delay.most if board is not None else 0.0)
        if stale_after(signal) <= slowest:
            what = f"'{name}' is stale after {stale_after(signal):g} s but comes only every {slowest:g} s"
            yield Finding("I505", place, what, f"stale above {slowest:g} s", on=name)
    for name, board in view.rig.boards.items():
        slowest = max(REPORT_EVERY, view.rig.scan) + board.delay.most
        if board.stale <= slowest:
            place = view.places.key("boards", name)
            what = f"'{name}' counts as gone after {board.stale:g} s but reports only every {slowest:g} s"
            yield Finding("I505", place, what, f"stale above {slowest:g} s", on=name)


# --- interlocks ------------------------------------------------------------------------------


def _interlocks(view: View) -> Iterator[Finding]:
    demanded = {(output, word) for name in view.rig.sequences for _, output, word in view.demands(name)}
    ranges = view.ranges()
    for name, interlock in view.rig.interlocks.items():
        place = view.places.key("interlocks", name)
        drives = {output: word for output, word in interlock.drive.items() if output not in view.rig.lamps}
        against = [output for output, word in drives.items() if _demanded_otherwise(output, word, demanded)]
        if not against and (drives or not interlock.drive):
            what = f"'{name}' drives {', '.join(drives) or 'nothing'}, which no sequence asks to be otherwise"
            yield Finding("I508", place, what, "a sequence that it can stop", on=name)
        when = view.trips.get(name)
        if when is None:
            continue
        place = view.places.value("interlocks", name, "when")
        if not can_be(when, True, ranges):
            yield Finding("I511", place, f"'{name}' can never act", "a condition that can come true", on=name)
        elif not can_be(when, False, ranges):
            yield Finding("I512", place, f"'{name}' always acts", "a condition that can be false", on=name)
        elif name in view.untils and not possible([(when, False), (view.untils[name], True)], ranges):
            place = view.places.value("interlocks", name, "until")
            yield Finding("I513", place, f"'{name}' never lets go again", "a condition that can come true", on=name)


def _demanded_otherwise(output: str, word: str, demanded: set[tuple[str, str]]) -> bool:
    return any(other == output and asked != word for other, asked in demanded)


def _latched(view: View) -> Iterator[Finding]:
    """Interlocks that stay tripped until a person comes, and that a lossy link trips for nothing."""
    scan = view.rig.scan
    for name, when in view.trips.items():
        found = sources(view.rig, when).values() if view.rig.interlocks[name].latch else ()
        often = sum(1.0 / source.apart(scan) for source in found)
        if often * CALM <= 1.0:
            continue
        short = [source for source in found if source.apart(scan) < CALM * len(found)]
        names = ", ".join(f"'{source.name}'" for source in short)
        what = f"'{name}' latches, and its link leaves {names} stale about every {_roughly(1.0 / often)}"
        stale = ", ".join(f"{s.enough(CALM * len(found)):g} s for '{s.name}'" for s in short)
        yield Finding("I514", view.places.key("interlocks", name), what, f"stale of at least {stale}", on=name)


def _roughly(seconds: float) -> str:
    """A time that is good for its size only."""
    unit, size = next(
        ((u, s) for u, s in (("d", 86400.0), ("h", 3600.0), ("min", 60.0)) if seconds >= 2 * s), ("s", 1.0)
    )
    return f"{seconds / size:.2g} {unit}"


def _opposing(view: View) -> Iterator[Finding]:
    """Two interlocks that drive one output two ways. Whether both can be true does not matter:
    not knowing makes both act.
    """
    for (one, first), (two, second) in combinations(view.rig.interlocks.items(), 2):
        clash = sorted(output for output, word in first.drive.items() if second.drive.get(output, word) != word)
        if clash and (first.priority is None or second.priority is None or first.priority == second.priority):
            what = f"'{one}' and '{two}' drive {', '.join(clash)} in opposite ways"
            yield Finding("I506", view.places.key("interlocks", two), what, "a priority for each, not the same", on=two)


def _wires(view: View) -> Iterator[Finding]:
    """A float in an interlock must read what makes the interlock act when its wire is broken."""
    told: set[str] = set()
    for interlock, when in view.trips.items():
        for atom, positive in atoms(when):
            if not isinstance(atom, Flag) or atom.symbol.kind != "float" or atom.symbol.name in told:
                continue
            name = atom.symbol.name
            wanted = "full" if positive else "empty"
            if view.rig.floats[name].broken_reads != wanted:
                told.add(name)
                broken = view.rig.floats[name].broken_reads
                what = f"with a broken wire '{name}' reads {broken} and '{interlock}' does not act"
                place = view.places.key("floats", name)
                yield Finding("I509", place, what, f"broken_reads: {wanted}", on=name)


def _coils(view: View) -> Iterator[Finding]:
    """Valves with a float in their wire: one without a coil has none, and one that stays is not closed by it."""
    for name, valve in view.rig.valves.items():
        if valve.wired is None:
            continue
        place = view.places.key("valves", name, "wired")
        if valve.motor is None:
            yield Finding("I515", place, f"'{name}' has no motor that a float could switch off", "a motor", on=name)
        elif valve.motor.without_power == "stays":
            what = f"'{name}' stays where it is when '{valve.wired.switch}' takes its supply away"
            yield Finding("I516", place, what, "a motor that goes to its safe end without power", on=name)
