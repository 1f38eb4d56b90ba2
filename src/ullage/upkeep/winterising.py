"""In which order a rig is opened before frost, so that what comes down finds its way out open.

Waste goes first, to have room. Then every tap is opened, which lets off the pressure and lets air in; and
then cocks and valves from the lowest to the highest: a tank that another one runs into has its own way
out open before.
"""

from __future__ import annotations

from dataclasses import dataclass

from ullage.rig.view import View
from ullage.rig.ways import Ways
from ullage.upkeep.draining import place_of_drain, tank_runs_to
from ullage.upkeep.profile import profile_of


@dataclass(frozen=True, slots=True)
class Opened:
    """Something that a person opens, or lets a sequence open.

    Attributes
    ----------
    name, kind : str
        The part and its group: ``fixtures``, ``drains`` or ``valves``.
    height : float
        Above the ground [m].
    sequence : str
        The first one that opens it ("" where none does: then it is opened by hand, or at its board).
    springs : bool
        Whether it closes by itself once nothing holds it open.
    waste : bool
        Whether it lets waste out.
    """

    name: str
    kind: str
    height: float
    sequence: str = ""
    springs: bool = False
    waste: bool = False


@dataclass(frozen=True, slots=True)
class Winter:
    """What is done before frost.

    Attributes
    ----------
    pumped : tuple of str
        Tanks of drinking water that do not empty by gravity: their pump empties them first.
    waste : tuple of str
        Tanks of waste.
    taps, ways : tuple of Opened
        What is opened, in order: taps from the highest, then cocks and valves from the lowest.
    pumps : tuple of str
        Pumps, which keep water in their chambers.
    """

    pumped: tuple[str, ...]
    waste: tuple[str, ...]
    taps: tuple[Opened, ...]
    ways: tuple[Opened, ...]
    pumps: tuple[str, ...]


def winter_of(view: View) -> Winter:
    """What is done before frost, in order.

    Parameters
    ----------
    view : View
        A rig that is not refused.
    """
    rig = view.rig
    taps = [Opened(name, "fixtures", fixture.at.z) for name, fixture in rig.fixtures.items()]
    ways = [*_cocks(view.ways), *_valves(view)]
    return Winter(
        pumped=tuple(
            name
            for name, tank in rig.tanks.items()
            if tank.holds == "potable" and tank_runs_to(view.ways, name) is None
        ),
        waste=tuple(name for name, tank in rig.tanks.items() if tank.holds == "waste"),
        taps=tuple(sorted(taps, key=lambda tap: -tap.height)),
        ways=tuple(sorted(ways, key=lambda opened: opened.height)),
        pumps=tuple(rig.pumps),
    )


def _cocks(ways: Ways) -> list[Opened]:
    heights = profile_of(ways).heights
    return [Opened(name, "drains", heights[place_of_drain(ways, drain.at)]) for name, drain in ways.rig.drains.items()]


def _valves(view: View) -> list[Opened]:
    heights, opens = profile_of(view.ways).heights, _openers(view)
    found = []
    for name, valve in view.rig.valves.items():
        motor = valve.motor
        springs = motor is not None and motor.without_power in ("spring closed", "stored charge closed")
        link = view.ways.of_part[name]
        tank = view.ways.tank_of(view.rig.lines[link.line].start)
        waste = tank is not None and view.rig.tanks[tank].holds == "waste"
        found.append(Opened(name, "valves", heights[link.start], opens.get(name, ""), springs, waste))
    return found


def _openers(view: View) -> dict[str, str]:
    """The first sequence that opens each valve."""
    table: dict[str, str] = {}
    for sequence in view.rig.sequences:
        for _, output, word in view.demands(sequence):
            if word == "open":
                table.setdefault(output, sequence)
    return table
