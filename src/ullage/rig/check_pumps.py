"""Findings on pumps: can one work against a closed valve, or without water."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.findings import Finding
from ullage.rig.model import Pump
from ullage.rig.names import parts
from ullage.rig.reason import readings
from ullage.rig.sensing import doubt, falls_at
from ullage.rig.shapes import depth, volume
from ullage.rig.view import View
from ullage.rig.ways import Link, one_way


def pump_findings(view: View) -> Iterator[Finding]:
    """All findings on pumps."""
    for name, pump in view.rig.pumps.items():
        link = view.ways.of_part[name]
        yield from _switch(view, name, pump)
        yield from _dead_head(view, name, pump, link)
        yield from _dry(view, name, pump, link)


def _switch(view: View, name: str, pump: Pump) -> Iterator[Finding]:
    if pump.switch is None:
        return
    place = view.places.key("pumps", name, "switch")
    shut_off = pump.curve[0].pressure
    if pump.switch.cut_in >= pump.switch.cut_out:
        yield Finding(
            "P319", place, f"the switch of '{name}' cuts in above where it cuts out", "cut_in < cut_out", on=name
        )
    elif pump.switch.cut_out >= shut_off:
        what = f"'{name}' gives {shut_off / 1e5:.1f} bar, its switch opens at {pump.switch.cut_out / 1e5:.1f} bar"
        yield Finding("P319", place, what, "cut_out below the greatest pressure of the curve", on=name)


def _dead_head(view: View, name: str, pump: Pump, link: Link) -> Iterator[Finding]:
    """A pump whose every way out can be shut."""
    open_ends = view.ways.reach([link.end], lambda link, way: one_way(link, way) and link.kind != "valves")
    if any(joint in view.rig.ports or view.ways.tank_of(joint) for joint in open_ends):
        return
    if pump.switch is None and pump.relief is None and not view.watched_by(name, "off") & _felt(view, link):
        what = f"'{name}' can work against closed valves and taps, and nothing stops it"
        expected = "a pressure switch, a relief valve, or an interlock on its current, pressure or flow"
        yield Finding("P310", view.places.key("pumps", name), what, expected, on=name)


def _dry(view: View, name: str, pump: Pump, link: Link) -> Iterator[Finding]:
    """A pump that no interlock, and no float in its wire, stops when its tank is empty."""
    before = view.ways.reach([link.start], lambda link, way: not way or link.kind not in ("checks", "pumps"))
    tanks = {tank for joint in before if (tank := view.ways.tank_of(joint))}
    if not tanks:
        return
    watched = view.watched_by(name, "off")
    felt = bool(watched & _felt(view, link))
    levels = {part.on for _, sensed, part in parts(view.rig, "senders", "floats") if sensed in watched}
    kept = _kept(view, pump, before)
    if pump.wired is not None and view.rig.floats[pump.wired.switch].on in tanks - kept:
        what = f"'{pump.wired.switch}' in the wire of '{name}' lets it run when there is no water before it"
        yield Finding("I517", view.places.key("pumps", name, "wired"), what, "while: wet, above the opening", on=name)
    unwatched = sorted(tanks - levels - kept)
    if unwatched and not felt:
        what = f"'{name}' draws from {', '.join(unwatched)} and nothing stops it when that is empty"
        expected = "an interlock that switches it off on the level, its current or its flow"
        yield Finding("P311", view.places.key("pumps", name), what, expected, on=name)
    if not felt:
        for opening in sorted(joint for joint in before if view.ways.tank_of(joint)):
            yield from _too_late(view, name, opening)


def _kept(view: View, pump: Pump, before: set[str]) -> set[str]:
    """The tank whose float in the pump's own wire lets go before the pump draws air from it, if there is one."""
    if pump.wired is None or pump.wired.made == "dry":
        return set()
    switch = view.rig.floats[pump.wired.switch]
    openings = view.rig.tanks[switch.on].openings.items()
    bare = (opening.at for name, opening in openings if f"{switch.on}.{name}" in before)
    return {switch.on} if falls_at(switch) > max(bare, default=0.0) else set()


def _too_late(view: View, name: str, opening: str) -> Iterator[Finding]:
    """A pump whose interlock acts, by the error of the sender, only when air is drawn."""
    tank, _, door = opening.partition(".")
    shape = view.rig.tanks[tank].shape
    bare = volume(shape, view.rig.tanks[tank].openings[door].at)
    for interlock, switch in view.rig.interlocks.items():
        if switch.drive.get(name) != "off" or interlock not in view.trips:
            continue
        when = view.trips[interlock]
        level = max((level for level, _ in view.levels(when, tank, upward=False)), default=None)
        if level is None:
            continue
        senders = [sender for sense in readings(when) if (sender := view.rig.senders.get(sense)) and sender.on == tank]
        lowest = depth(shape, level) - max((doubt(sender, shape) for sender in senders), default=0.0)
        left = volume(shape, lowest)
        if left <= bare:
            what = (
                f"'{interlock}' stops '{name}' at {1e3 * level:.1f} L; less the sender's {1e3 * (level - left):.1f} L "
                f"that is no more than the {1e3 * bare:.1f} L at which '{opening}' draws air"
            )
            yield Finding("P324", view.places.value("interlocks", interlock, "when"), what, "a higher level", on=name)


def _felt(view: View, link: Link) -> set[str]:
    """Readings in which a pump's own trouble shows: its current, its pressure, the flow of its line."""
    probes = {name for name, probe in view.rig.probes.items() if probe.of in (link.name, link.end)}
    return probes | {other.name for other in view.ways.links if other.kind == "meters" and other.line == link.line}
