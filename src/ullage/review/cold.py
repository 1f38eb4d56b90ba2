"""The section on heat and frost: how pipes cool and freeze, and what hot water costs and can do.

The times are reckoned for every pipe as if it stood in the frost that the file states; only
pipes that frost reaches (``outdoors``) are judged. A pipe that stays in use and begins to freeze
within that time is looked at. It is STOP only where all of these hold: the file says that it stays
in use in frost; it has no heating tape that makes up for its loss (a weaker one is not counted); it
freezes through in that time; and the network shuts it in, between valves, check valves, pumps and
taps, with no tank, port, accumulator or relief valve in between. Then the ice has nowhere to go,
and the pipe bursts. A pipe with an open end may freeze as well, but the water gives way. Whether a
pipe that the file calls drained is drained in truth is a matter of the order of its valves, which
the upkeep works out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf, isinf

from ullage.quantities import from_si
from ullage.review.judgement import Judgement, graded
from ullage.review.matter import Cell, Column, Section, Table
from ullage.rig.climate import Frost
from ullage.rig.model import Fixture, Heater, Pipe, Rig
from ullage.rig.trapped import trapped
from ullage.rig.view import View
from ullage.sizing.cooling import FOAM, STILL_AIR, WALL, Chill, chill_of
from ullage.sizing.warming import Shower, burns_in, shower

KEEPS_GERMS_DOWN = 333.15
"""Hot water is kept at this or more [K]: 60 degC (row SAN-12, from memory)."""

GERMS_GROW = 298.15, 318.15
"""Between these [K] legionella grows: 25 to 45 degC (row SAN-11, at second hand)."""

SCALDS_SLOWLY, SCALDS_FAST = 322.15, 327.15
"""Water that burns skin through in 5 min and in 30 s [K]: 49 and 54 degC (row SAN-14, at second hand).

In five minutes a grown person steps aside; in half a minute a child may not."""

CAUTIONS = (
    "Legionella grows between 25 and 45 degC, best between 32 and 42; keep cold water below 25 degC, 20 is better "
    "(WHO 2007, at second hand).",
    "Keep hot water at 60 degC or more and let it come at 50 or more (UK HSE L8 practice, from memory); at 60 degC "
    "nine germs of ten die in 2 min, at 50 degC in 80 to 124 min, at 70 degC at once (at second hand).",
    "Water of 60 degC burns through the skin of an adult in 6 s, of children sooner (US CPSC, at second hand).",
    "A heater that burns fuel needs its own air, a flue and an alarm for carbon monoxide; gas and diesel heaters are "
    "fitted and tested by licensed people, as local codes ask.",
)

Feed = tuple[str, Fixture, str, Heater]
"""A fixture that gets hot water, and the heater that it comes from, each with its name."""


@dataclass(frozen=True, slots=True)
class _Cold:
    """A pipe with its line and what the frost does to it."""

    name: str
    pipe: Pipe
    line: str
    chill: Chill


def section(view: View) -> Section:
    """The section on heat and frost.

    Parameters
    ----------
    view : View
        A rig that is not refused.
    """
    rig, frost = view.rig, view.rig.frost
    pipes = [] if frost is None else list(_pipes(view, frost))
    feeds = list(_feeds(view))
    showers = {name: found for name, fixture, _, heater in feeds if (found := _shower(rig, fixture, heater))}
    judgements = [*_frost(view, frost, pipes), *_store(rig), *_skin(feeds), _stored_cold(rig), *_enough(feeds, showers)]
    tables = (*_pipe_table(frost, pipes), *_shower_table(feeds, showers))
    return Section("cold", "Heat and frost", tables, tuple(judgements), tuple(_assumed(frost, pipes)), CAUTIONS)


def _assumed(frost: Frost | None, pipes: list[_Cold]) -> Iterator[str]:
    """What stands in for what the file does not say."""
    if frost is None:
        return
    if frost.wind is None:
        yield f"No wind reaches the pipes: a film of still air with {STILL_AIR:g} W/m2K (frost.wind)."
    bare = [cold.name for cold in pipes if cold.pipe.wall is None]
    if bare:
        yield f"A wall of {from_si(WALL, 'mm'):g} mm (pipes.NAME.wall): {', '.join(bare)}."
    foam = [cold.name for cold in pipes if cold.pipe.insulation and cold.pipe.insulation.conductivity is None]
    if foam:
        yield f"Insulation of foam with {FOAM:g} W/mK (pipes.NAME.insulation.conductivity): {', '.join(foam)}."


def _time(seconds: float) -> str:
    if isinf(seconds):
        return "for ever"
    unit = "s" if seconds < 60.0 else "min" if seconds < 3600.0 else "h"
    return f"{from_si(seconds, unit):.{1 if unit == 'h' else 0}f} {unit}"


# --- frost -------------------------------------------------------------------------------------------


def _pipes(view: View, frost: Frost) -> Iterator[_Cold]:
    """The pipes in the order of the lines."""
    for line in view.rig.lines:
        for part in line.through:
            if part in view.rig.pipes:
                pipe = view.rig.pipes[part]
                yield _Cold(part, pipe, f"{line.start} to {line.end}", chill_of(view.rig, pipe, frost))


def _frost(view: View, frost: Frost | None, pipes: list[_Cold]) -> Iterator[Judgement]:
    outdoors = [name for name, pipe in view.rig.pipes.items() if pipe.outdoors]
    if frost is None:
        if outdoors:
            because = f"it is not stated what frost the rig has to stand; outdoors are {', '.join(outdoors)}"
            yield Judgement("C10", "frost", "LOOK", because, ("frost",))
        return
    shut_in = {link.name for links in trapped(view.ways) for link in links}
    for cold in pipes:
        if cold.pipe.outdoors:
            yield _in_frost(cold, frost, cold.name in shut_in)


def _in_frost(cold: _Cold, frost: Frost, shut_in: bool) -> Judgement:
    """What a frost comes to for one pipe outdoors."""
    pipe, chill, lasts = cold.pipe, cold.chill, frost.lasts
    times = (
        f"in {from_si(frost.air, 'degC'):.0f} degC its water is at 0 degC after {_time(chill.cools)} "
        f"and frozen through after {_time(chill.freezes)}; the frost lasts {_time(lasts)}"
    )
    if pipe.in_frost == "drained":
        return Judgement("C10", cold.name, "PASS", f"it is drained before; forgotten, {times}")
    if chill.cools >= lasts:
        return Judgement("C10", cold.name, "PASS", times)
    loses = f"at 0 degC it loses {chill.loses:.3g} W"
    if pipe.heated is not None:
        loses += f", and its heating tape has {pipe.heated:.3g} W"
        if pipe.heated >= chill.loses:
            return Judgement("C10", cold.name, "PASS", loses)
    if pipe.in_frost is None:
        because = f"it is not stated what becomes of it in frost; {times}; {loses}"
        return Judgement("C10", cold.name, "LOOK", because, (f"pipes.{cold.name}.in_frost",))
    if shut_in and chill.freezes <= lasts:
        because = f"it stays in use, and closed valves or taps shut its water in; {times}; {loses}"
        return Judgement("C11", cold.name, "STOP", because)
    return Judgement("C10", cold.name, "LOOK", f"it stays in use; {times}; {loses}")


def _pipe_table(frost: Frost | None, pipes: list[_Cold]) -> Iterator[Table]:
    if frost is None or not pipes:
        return
    columns = (
        Column("Pipe"), Column("Line"), Column("Where"), Column("Insulation", "length"),
        Column("Water at 0 degC", "time"), Column("Frozen through", "time"), Column("Loses at 0 degC", "power"),
        Column("In frost"),
    )  # fmt: skip
    rows = tuple(_row(cold) for cold in pipes)
    blown = f"a wind of {frost.wind:g} m/s" if frost.wind else "still air"
    note = (
        f"In air of {from_si(frost.air, 'degC'):.0f} degC and {blown}, from the coldest water that the rig takes. "
        "Indoors this is so only where nobody heats and the cold gets in."
    )
    yield Table("How pipes freeze", columns, rows, note)


def _row(cold: _Cold) -> tuple[Cell, ...]:
    pipe, chill = cold.pipe, cold.chill
    where, thickness = "outdoors" if pipe.outdoors else "indoors", pipe.insulation.thickness if pipe.insulation else 0.0
    done = "heated" if pipe.heated is not None else pipe.in_frost or ("not stated" if pipe.outdoors else "")
    cools, freezes = (None if isinf(time) else time for time in (chill.cools, chill.freezes))
    return (cold.name, cold.line, where, thickness, cools, freezes, chill.loses, done)


# --- hot water ---------------------------------------------------------------------------------------


def _feeds(view: View) -> Iterator[Feed]:
    """Fixtures that water reaches through a heater; of several the one whose heat is not known, else the hottest."""
    rig, seen = view.rig, set[str]()
    for name, heater in sorted(rig.heaters.items(), key=lambda item: -(item[1].keeps or inf)):
        for tap in view.ways.heated(name):
            if tap not in seen:
                seen.add(tap)
                yield tap, rig.fixtures[tap], name, heater


def _shower(rig: Rig, fixture: Fixture, heater: Heater) -> Shower | None:
    """One use of a fixture; None where it is not stated how long, how warm, or what the store has."""
    if fixture.lasts is None or fixture.mixed is None or heater.keeps is None:
        return None
    return shower(heater, heater.keeps, rig.water.least, fixture.flow, fixture.mixed, fixture.lasts)


def _store(rig: Rig) -> Iterator[Judgement]:
    for name, heater in rig.heaters.items():
        if heater.keeps is None:
            because = "it is not stated how warm it keeps its water"
            yield Judgement("C20", name, "LOOK", because, (f"heaters.{name}.keeps",))
            continue
        because = f"it keeps its water at {from_si(heater.keeps, 'degC'):.0f} degC"
        if GERMS_GROW[0] <= heater.keeps <= GERMS_GROW[1]:
            because += ", where legionella grows"
        yield Judgement("C20", name, "PASS" if heater.keeps >= KEEPS_GERMS_DOWN else "LOOK", because)


def _skin(feeds: list[Feed]) -> Iterator[Judgement]:
    """What comes out of each tap with hot water. Where a person mixes it is never worse than LOOK."""
    for tap, fixture, name, heater in feeds:
        given = fixture.mixed if fixture.mixed is not None else heater.keeps
        if given is None:
            missing = (f"fixtures.{tap}.mixed", f"heaters.{name}.keeps")
            yield Judgement("C21", tap, "LOOK", "it is not stated how hot its water is", missing)
            continue
        burns = burns_in(given)
        because = f"its water has {from_si(given, 'degC'):.0f} degC" + (
            "" if isinf(burns) else f", which burns through an adult's skin in {_time(burns)}"
        )
        if fixture.mixed is not None:
            yield Judgement("C21", tap, graded(given, _under(SCALDS_SLOWLY), _under(SCALDS_FAST)), because)
        else:
            because = f"{because}; no mixer is stated, so a person mixes"
            yield Judgement("C21", tap, graded(given, _under(SCALDS_SLOWLY)), because)


def _under(limit: float) -> float:
    """Just under a limit that is itself too much [K]; a hundredth of a kelvin is below what a mixer holds."""
    return limit - 0.01


def _stored_cold(rig: Rig) -> Judgement:
    because = f"the rig's water gets up to {from_si(rig.water.most, 'degC'):.0f} degC"
    return Judgement("C22", "water", graded(rig.water.most, GERMS_GROW[0]), because)


def _enough(feeds: list[Feed], showers: dict[str, Shower]) -> Iterator[Judgement]:
    stated = [feed for feed in feeds if feed[1].lasts is not None]
    if feeds and not stated:
        missing = tuple(f"fixtures.{tap}.lasts" for tap, *_ in feeds)
        yield Judgement("C30", "hot water", "LOOK", "it is not stated how long any use of hot water takes", missing)
    for tap, fixture, name, heater in stated:
        use = showers.get(tap)
        if use is None:
            lacks = {f"fixtures.{tap}.mixed": fixture.mixed, f"heaters.{name}.keeps": heater.keeps}
            missing = tuple(field for field, value in lacks.items() if value is None)
            yield Judgement("C30", tap, "LOOK", "it is not stated how hot its water is", missing)
            continue
        because = (
            f"{from_si(use.volume, 'L'):.1f} L take {from_si(use.hot, 'L'):.1f} L from the store, "
            f"which gives {from_si(use.store, 'L'):.1f} L before it runs cold"
        )
        yield Judgement("C30", tap, graded(use.hot, use.store), because)


def _shower_table(feeds: list[Feed], showers: dict[str, Shower]) -> Iterator[Table]:
    if not showers:
        return
    columns = (
        Column("One use of"), Column("Warm water", "volume"), Column("From the store", "volume"),
        Column("Heat", "energy"), Column("Fuel", "volume"), Column("Store hot again after", "time"), Column("Of"),
    )  # fmt: skip
    burnt = {tap: heater.fuel or "not stated" for tap, _, _, heater in feeds}
    rows = tuple(
        (tap, use.volume, use.hot, use.heat, use.fuel, None if isinf(use.again) else use.again, burnt[tap])
        for tap, use in showers.items()
    )
    note = "With the coldest water that the rig takes, and the gross heat of the fuel; the net one is 2 to 10 % less."
    yield Table("Hot water", columns, rows, note)
