"""Findings on battery, loads, handset and heat: figures that cannot be together."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.findings import Finding
from ullage.quantities import from_si
from ullage.rig.names import parts
from ullage.rig.supply import Power, Rating
from ullage.rig.view import View


def supply_findings(view: View) -> Iterator[Finding]:
    """All findings on what gives and takes electricity and heat."""
    yield from _battery(view)
    yield from _draws(view)
    yield from _handset(view)
    yield from _frost(view)
    yield from _heated(view)
    yield from _mixers(view)


def _battery(view: View) -> Iterator[Finding]:
    power = view.rig.power
    if power.least >= power.voltage:
        what = f"the boards stop below {power.least:g} V, and the rested battery has {power.voltage:g} V"
        yield Finding("B706", view.places.key("power"), what, "least < voltage", on="power")
    quicker = power.quicker
    if quicker is not None and not _fits(power, quicker):
        what = (
            f"the battery gives {from_si(power.capacity, 'Ah'):g} Ah within {from_si(power.rated_over, 'h'):g} h, "
            f"and {from_si(quicker.capacity, 'Ah'):g} Ah within {from_si(quicker.over, 'h'):g} h"
        )
        expected = "a shorter time, more current, and no more charge"
        yield Finding("B703", view.places.key("power", "quicker"), what, expected, on="power")


def _fits(power: Power, quicker: Rating) -> bool:
    """Whether a second rating is one of a battery that is emptied faster than for the first."""
    if not 0.0 < quicker.over < power.rated_over:
        return False
    faster = quicker.capacity / quicker.over > power.capacity / power.rated_over
    return faster and quicker.capacity <= power.capacity


def _draws(view: View) -> Iterator[Finding]:
    for name, load in view.rig.loads.items():
        if (load.draws is None) == (load.power is None):
            what = f"'{name}' states {'neither a current nor a power' if load.draws is None else 'both'}"
            yield Finding("B701", view.places.key("loads", name), what, "draws: 3 A, or power: 40 W", on=name)
    for kind, name, part in parts(view.rig, "pumps", "loads"):
        if part.inrush is not None and part.draws is not None and part.inrush < part.draws:
            what = f"'{name}' starts with {part.inrush:g} A and runs with {part.draws:g} A"
            yield Finding("B707", view.places.value(kind, name, "inrush"), what, "inrush >= draws", on=name)


def _handset(view: View) -> Iterator[Finding]:
    handset = view.rig.handset
    wakes = handset.wakes if handset is not None else {}
    for name, wake in wakes.items():
        if wake.every <= 0.0 or wake.lasts > wake.every:
            what = f"'{name}' lasts {wake.lasts:g} s and comes again every {wake.every:g} s"
            yield Finding("B702", view.places.key("handset", "wakes", name), what, "lasts <= every", on=name)
            return
    if sum(wake.lasts / wake.every for wake in wakes.values()) > 1.0:
        what = "all that the handset wakes for takes longer than there is time"
        yield Finding("B702", view.places.key("handset", "wakes"), what, "shorter or rarer wakings", on="handset")


def _frost(view: View) -> Iterator[Finding]:
    for name, pipe in view.rig.pipes.items():
        if not pipe.outdoors and (pipe.in_frost is not None or pipe.heated is not None):
            said = "in_frost" if pipe.in_frost is not None else "heated"
            what = f"'{name}' states what becomes of it in frost, and is not outdoors"
            yield Finding("B704", view.places.key("pipes", name, said), what, "outdoors: true", on=name)


def _heated(view: View) -> Iterator[Finding]:
    """Hot water that is no hotter than what runs in."""
    cold = view.rig.water.least
    for kind, key in (("heaters", "keeps"), ("fixtures", "mixed")):
        for _, name, part in parts(view.rig, kind):
            wished = getattr(part, key)
            if wished is not None and wished <= cold:
                what = f"'{name}' has {from_si(wished, 'degC'):.0f} degC, no more than the water that comes in"
                expected = f"more than {from_si(cold, 'degC'):.0f} degC"
                yield Finding("B708", view.places.value(kind, name, key), what, expected, on=name)


def _mixers(view: View) -> Iterator[Finding]:
    """Mixers that would have to make water hotter than any heater before them keeps it."""
    heated = {heater: view.ways.heated(heater) for heater in view.rig.heaters}
    for name, fixture in view.rig.fixtures.items():
        if fixture.mixed is None:
            continue
        keeps = [view.rig.heaters[heater].keeps for heater, taps in heated.items() if name in taps]
        hottest = max((kept for kept in keeps if kept is not None), default=0.0)
        if not keeps or (None not in keeps and hottest < fixture.mixed):
            has = f"is kept at {from_si(hottest, 'degC'):.0f} degC" if keeps else "comes from no heater"
            what = f"'{name}' gives {from_si(fixture.mixed, 'degC'):.0f} degC, and its water {has}"
            yield Finding("B705", view.places.value("fixtures", name, "mixed"), what, "keeps >= mixed", on=name)
