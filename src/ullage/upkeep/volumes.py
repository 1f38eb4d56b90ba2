"""How much drinking water each tank, with the lines and heaters that it feeds, holds when all is full."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ullage.hydraulics.water import ATMOSPHERE
from ullage.rig.model import Accumulator, Pipe, Rig
from ullage.rig.shapes import capacity, volume
from ullage.rig.ways import Link, Ways, one_way


@dataclass(frozen=True, slots=True)
class Wetted:
    """A tank of drinking water and what it feeds.

    Attributes
    ----------
    tank : str
    holds : float
        Up to its overflow [m3].
    heel : float
        What stays below its lowest opening [m3].
    lines, heaters, accumulators : float
        Volumes of what it feeds before any other tank does, in the order of the file [m3]; housings of
        filters count to the lines.
    """

    tank: str
    holds: float
    heel: float
    lines: float
    heaters: float
    accumulators: float

    @property
    def behind(self) -> float:
        """All that it feeds [m3]."""
        return self.lines + self.heaters + self.accumulators

    @property
    def all(self) -> float:
        """Tank and all that it feeds [m3]."""
        return self.holds + self.behind


def bore_volume(pipe: Pipe) -> float:
    """What a pipe holds [m3]. 1 m of 13 mm bore: 132.7 mL."""
    return 0.25 * pi * pipe.bore**2 * pipe.length


def cushion_volume(accumulator: Accumulator, pressure: float) -> float:
    """Water in an accumulator at a gauge pressure [m3], by Boyle's law.

    1 L with 1.2 bar of precharge at 2.8 bar: 1 L (1 - 2.213 bar / 3.813 bar) = 420 mL.
    """
    gas = (accumulator.precharge + ATMOSPHERE) / (max(pressure, accumulator.precharge) + ATMOSPHERE)
    return accumulator.volume * (1.0 - gas)


def heel(rig: Rig, tank: str) -> float:
    """What a tank cannot let go, below its lowest opening, on level ground [m3]; all of it without an opening."""
    part = rig.tanks[tank]
    mouths = [mouth.at for mouth in part.openings.values()]
    return volume(part.shape, min(mouths)) if mouths else capacity(part)


def wetted(ways: Ways) -> tuple[Wetted, ...]:
    """Each tank of drinking water with what it feeds, in the order of the file.

    A part counts to the first tank that it is led to from; what is led from none, such as the pipe
    of a fill behind its check valve, to the first that its water can run back into.
    """
    rig, owner = ways.rig, dict[str, str]()
    potable = [tank for tank, part in rig.tanks.items() if part.holds == "potable"]
    for passes in (_onward, one_way):
        for tank in potable:
            joints = ways.reach(ways.openings(tank), passes)
            for link in ways.links:
                if link.name and link.start in joints and link.end in joints:
                    owner.setdefault(link.name, tank)
            for name, vessel in rig.accumulators.items():
                if vessel.at in joints:
                    owner.setdefault(name, tank)
    return tuple(_of(rig, tank, {name for name, of in owner.items() if of == tank}) for tank in potable)


def _onward(link: Link, forwards: bool) -> bool:
    return forwards


def _of(rig: Rig, tank: str, mine: set[str]) -> Wetted:
    pressure = _most_pressure(rig)
    housings = sum(part.holds or 0.0 for part in rig.filters.values() if part.at in mine)
    return Wetted(
        tank=tank,
        holds=capacity(rig.tanks[tank]),
        heel=heel(rig, tank),
        lines=sum(bore_volume(pipe) for name, pipe in rig.pipes.items() if name in mine) + housings,
        heaters=sum(heater.volume for name, heater in rig.heaters.items() if name in mine),
        accumulators=sum(cushion_volume(v, pressure) for name, v in rig.accumulators.items() if name in mine),
    )


def _most_pressure(rig: Rig) -> float:
    """The greatest pressure at which pumps stop by themselves [Pa]; that of their closed outlet without a switch."""
    stops = (pump.switch.cut_out if pump.switch else pump.curve[0].pressure for pump in rig.pumps.values())
    return max(stops, default=0.0)
