"""Findings on lines and valves: where water can go, where it must not, where it cannot leave."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.findings import Finding
from ullage.rig.model import Valve
from ullage.rig.names import place_of
from ullage.rig.trapped import trapped
from ullage.rig.view import View
from ullage.rig.ways import Link, anyway, one_way

_CLOSES_BY_ITSELF = ("spring closed", "stored charge closed")


def plumbing_findings(view: View) -> Iterator[Finding]:
    """All findings on lines and valves."""
    yield from _taps(view)
    yield from _waste(view)
    yield from _outfalls(view)
    yield from _inlets(view)
    yield from _power_loss(view)
    yield from _trapped(view)
    yield from _crests(view)


def _taps(view: View) -> Iterator[Finding]:
    """Lines that begin at a tap, where water can only end."""
    for at, line in enumerate(view.rig.lines):
        if line.start in view.rig.fixtures:
            what = f"the line from '{line.start}' begins at a tap"
            yield Finding("P325", view.places.value("lines", at, "from"), what, f"to: {line.start}", on=line.start)


# --- waste and drinking water ------------------------------------------------------------------


def _waste(view: View) -> Iterator[Finding]:
    """A pipe from a waste tank to drinking water, whatever valves sit in it; a drain into drinking water."""
    potable = {name for name, tank in view.rig.tanks.items() if tank.holds == "potable"}
    for name, fixture in view.rig.fixtures.items():
        if fixture.drains_to in potable:
            place = view.places.value("fixtures", name, "drains_to")
            yield Finding("P305", place, f"'{name}' drains into drinking water", "a waste tank, or outdoors", on=name)
    for name, tank in view.rig.tanks.items():
        if tank.holds != "waste":
            continue
        joined = view.ways.reach(view.ways.wet(name), anyway)
        bad = sorted(
            joint
            for joint in joined
            if view.ways.tank_of(joint) in potable
            or joint in view.rig.fixtures
            or (joint in view.rig.ports and view.rig.ports[joint].kind == "supply")
        )
        if bad:
            what = f"waste of '{name}' is joined to {', '.join(bad)}"
            expected = "a gap of air: an opening above the overflow"
            yield Finding("P305", view.places.key("tanks", name), what, expected, on=name)


def _outfalls(view: View) -> Iterator[Finding]:
    for name, port in view.rig.ports.items():
        if port.kind == "discharge" and not port.air_gap:
            what = f"'{name}' is joined to the place that takes the waste without a gap of air"
            yield Finding("P306", view.places.key("ports", name), what, "air_gap: true", on=name)


def _inlets(view: View) -> Iterator[Finding]:
    """Ways from a supply port into a tank: can they be shut, without power, and not run backwards."""
    for name, port in view.rig.ports.items():
        if port.kind != "supply":
            continue
        place = view.places.key("ports", name)
        free = _tanks(view, view.ways.reach([name], lambda link, way: one_way(link, way) and link.kind != "valves"))
        if free:
            what = f"from '{name}' water runs into {', '.join(free)} and no valve can stop it"
            yield Finding("P315", place, what, "a valve between", on=name)
        lasting = view.ways.reach([name], lambda link, way: one_way(link, way) and not _shuts(view, link))
        open_valves = [
            link.name
            for link in view.ways.links
            if link.start in lasting and link.end in lasting and _motor(view, link)
        ]
        flooded = _tanks(view, lasting)
        if flooded and open_valves:
            what = f"without power {', '.join(open_valves)} may stay open and '{name}' runs into {', '.join(flooded)}"
            yield Finding("P314", place, what, "a valve in series that closes by a spring or stored charge", on=name)
        wet = [opening for tank in view.rig.tanks for opening in view.ways.wet(tank)]
        back = [opening for opening in wet if name in view.ways.reach([opening])]
        if back:
            what = f"water of {', '.join(back)} can run back into '{name}'"
            yield Finding("P307", place, what, "a check valve, or an opening above the overflow", on=name)


def _tanks(view: View, joints: set[str]) -> list[str]:
    return sorted({tank for joint in joints if (tank := view.ways.tank_of(joint))})


def _motor(view: View, link: Link) -> bool:
    return link.kind == "valves" and view.rig.valves[link.name].motor is not None


def _shuts(view: View, link: Link) -> bool:
    """Whether a link is a valve that closes when the power goes."""
    motor = view.rig.valves[link.name].motor if link.kind == "valves" else None
    return motor is not None and motor.without_power in _CLOSES_BY_ITSELF


def _power_loss(view: View) -> Iterator[Finding]:
    for name, valve in view.rig.valves.items():
        if valve.motor is None:
            continue
        place = view.places.key("valves", name, "motor")
        if valve.motor.without_power is None:
            what = f"it is not said where '{name}' goes when the power goes"
            yield Finding("P308", place, what, "without_power: stays, spring closed, ...", on=name)
        elif valve.motor.without_power == "stored charge closed" and valve.motor.charge_time is None:
            what = f"it is not said how long '{name}' charges before it can close by itself again"
            yield Finding("P318", place, what, "charge_time: ...", on=name)
        yield from _rest(view, name, valve)


def _rest(view: View, name: str, valve: Valve) -> Iterator[Finding]:
    assert valve.motor is not None
    without = valve.motor.without_power
    if without is not None and without != "stays" and not without.endswith(valve.rests):
        place = view.places.key("valves", name, "rests")
        what = f"'{name}' rests {valve.rests} but is '{without}' without power"
        yield Finding("P323", place, what, "the same position for both", on=name)


# --- water that cannot leave ---------------------------------------------------------------------


def _trapped(view: View) -> Iterator[Finding]:
    """Sections between closed parts where nothing gives when the water grows with warmth or frost."""
    for links in trapped(view.ways):
        heaters = [link.name for link in links if link.kind == "heaters"]
        pipes = [link.name for link in links if link.kind == "pipes"]
        for name in heaters:
            what = f"hot water of '{name}' has nowhere to grow"
            expected = "an accumulator, or a relief valve on the heater"
            yield Finding("P320", view.places.key("heaters", name), what, expected, on=name)
        if pipes and not heaters:
            what = f"water in {', '.join(pipes)} is shut in when all around it is closed"
            expected = "a drain, or an accumulator, and a way of emptying it before frost"
            yield Finding("P309", view.places.key("pipes", pipes[0]), what, expected, on=pipes[0])


# --- lines over a crest --------------------------------------------------------------------------


def _crests(view: View) -> Iterator[Finding]:
    """Crests that are not the highest point of their line."""
    for at, line in enumerate(view.rig.lines):
        if line.crest is None:
            continue
        for end in (line.start, line.end):
            height = place_of(view.rig, end).z
            if line.crest.z <= height:
                what = f"the crest is at {line.crest.z:g} m, and '{end}' at {height:g} m is no lower"
                place = view.places.value("lines", at, "crest")
                yield Finding("P326", place, what, "a place above both ends of the line; none without one", on=end)
