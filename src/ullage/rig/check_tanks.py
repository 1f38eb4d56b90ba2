"""Findings on tanks: can they breathe, spill and be seen into."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.findings import Finding
from ullage.rig.model import Tank
from ullage.rig.names import parts
from ullage.rig.sensing import top
from ullage.rig.shapes import height, spills_at
from ullage.rig.view import View
from ullage.rig.ways import Link, one_way

BRIM_SLACK = 1.02
"""A sender may claim this much more span than its tank is high."""


def tank_findings(view: View) -> Iterator[Finding]:
    """All findings on tanks and on what senses them."""
    for name, tank in view.rig.tanks.items():
        yield from _breathing(view, name, tank)
        yield from _heights(view, name, tank)
        yield from _taps(view, name, tank)
    yield from _unseen(view)
    yield from _senders(view)
    yield from _floats(view)


def _breathing(view: View, name: str, tank: Tank) -> Iterator[Finding]:
    place = view.places.key("tanks", name)
    if tank.vent is None:
        yield Finding("P301", place, f"tank '{name}' has no vent", "vent: {bore: ..., length: ...}", on=name)
    if tank.overflow is None:
        yield Finding("P302", place, f"tank '{name}' has no overflow", "overflow: {bore: ..., at: ...}", on=name)
    elif tank.overflow.to == "indoors":
        place = view.places.value("tanks", name, "overflow", "to")
        yield Finding("P303", place, f"the overflow of '{name}' runs indoors", "outdoors", on=name)


def _heights(view: View, name: str, tank: Tank) -> Iterator[Finding]:
    brim = height(tank.shape)
    if tank.overflow is not None and tank.overflow.at >= brim:
        place = view.places.value("tanks", name, "overflow", "at")
        what = f"the overflow of '{name}' sits at {_mm(tank.overflow.at)}, the brim is at {_mm(brim)}"
        yield Finding("P304", place, what, "an overflow below the brim", on=name)
    for opening, content in tank.openings.items():
        if content.at > brim:
            place = view.places.value("tanks", name, "openings", opening, "at")
            what = f"'{name}.{opening}' sits at {_mm(content.at)}, the brim is at {_mm(brim)}"
            yield Finding("P304", place, what, "an opening in the wall of the tank", on=name)


def _taps(view: View, name: str, tank: Tank) -> Iterator[Finding]:
    """Taps that drain into a tank and that nothing which watches the tank can shut off."""
    watched = {sensed for kind in ("senders", "floats") for _, sensed, part in parts(view.rig, kind) if part.on == name}
    stops = {valve for valve in view.rig.valves if view.watched_by(valve, "closed") & watched}
    stops |= {pump for pump in view.rig.pumps if view.watched_by(pump, "off") & watched}
    sources = [port for port, part in view.rig.ports.items() if part.kind == "supply"]
    sources += [opening for tank in view.rig.tanks for opening in view.ways.wet(tank)]

    def flows(link: Link, forwards: bool) -> bool:
        return one_way(link, forwards) and link.name not in stops

    wet = view.ways.reach(sources, flows)
    open_taps = [tap for tap, fixture in view.rig.fixtures.items() if fixture.drains_to == name and tap in wet]
    if open_taps:
        place = view.places.key("tanks", name)
        what = f"{', '.join(open_taps)} can fill '{name}' and nothing that watches it shuts them off"
        yield Finding("P316", place, what, "an interlock on its level that closes a valve or stops the pump", on=name)


def _unseen(view: View) -> Iterator[Finding]:
    """Tanks that a sequence fills or empties without a sender."""
    seen = {sender.on for sender in view.rig.senders.values()}
    told: set[str] = set()
    for output in sorted(view.moved):
        link = view.ways.of_part.get(output)
        if link is None:
            continue
        around = view.ways.reach({link.start, link.end}, lambda link, _: link.kind not in ("valves", "pumps"))
        for tank in sorted({tank for joint in around if (tank := view.ways.tank_of(joint))} - seen - told):
            told.add(tank)
            what = f"'{output}' moves the water of '{tank}', which has no level sender"
            yield Finding("P312", view.places.key("tanks", tank), what, f"a sender on {tank}", on=tank)


def _senders(view: View) -> Iterator[Finding]:
    for name, sender in view.rig.senders.items():
        tank = view.rig.tanks[sender.on]
        brim = height(tank.shape)
        full = top(sender, tank.shape)
        place = view.places.key("senders", name)
        if full > brim * BRIM_SLACK or not 0.0 <= sender.zero_at < min(full, brim):
            what = f"'{name}' spans {_mm(sender.zero_at)} to {_mm(full)}, '{sender.on}' is {_mm(brim)} high"
            yield Finding("P313", place, what, f"a span within 0 mm and {_mm(brim)}", on=name)
        elif tank.overflow is not None and full < tank.overflow.at:
            what = f"'{name}' ends at {_mm(full)}, below the overflow of '{sender.on}' at {_mm(tank.overflow.at)}"
            yield Finding("P322", place, what, "a span that reaches the overflow", on=name)


def _floats(view: View) -> Iterator[Finding]:
    for name, switch in view.rig.floats.items():
        tank = view.rig.tanks[switch.on]
        limit = spills_at(tank)
        if switch.at >= limit:
            what = f"'{name}' sits at {_mm(switch.at)}, '{switch.on}' runs over at {_mm(limit)}"
            place = view.places.value("floats", name, "at")
            yield Finding("P321", place, what, "a float below the overflow", on=name)


def _mm(length: float) -> str:
    return f"{1000 * length:.0f} mm"
