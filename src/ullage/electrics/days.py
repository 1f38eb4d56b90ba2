"""What a rig takes from its battery on a usual day, and for how long the battery gives it."""

from __future__ import annotations

from dataclasses import dataclass

from ullage.electrics.batteries import exponent_of, run_time
from ullage.electrics.circuits import Circuit
from ullage.rig.model import Rig

DAY = 86400.0
"""[s]"""

USABLE = 0.5
"""Part of a battery that is let go where the file does not say: half, as for lead (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Day:
    """A usual day of a battery.

    Attributes
    ----------
    loads : tuple of (str, float)
        Charge that each part takes [C], the largest first.
    unknown : tuple of str
        Fields of the rig file that would tell the others.
    lasts : float
        Time after which the usable part of the full battery is gone, nothing charging it [s].
    """

    loads: tuple[tuple[str, float], ...]
    unknown: tuple[str, ...]
    lasts: float

    @property
    def charge(self) -> float:
        """All that is known of it [C]."""
        return sum(charge for _, charge in self.loads)


def usual_day(rig: Rig, circuits: tuple[Circuit, ...]) -> Day:
    """A usual day of the battery.

    Each part takes its own current for as long as it draws it. The battery is emptied by the
    mean of the day: what is drawn in bursts takes a little more out of a lead battery than that.
    3.5 A for 8 h and 1.5 A for 4 h: 34 Ah.
    """
    known, unknown = [], []
    for circuit in circuits:
        if circuit.own is None or circuit.daily is None:
            unknown.append(f"{circuit.field}.{'draws' if circuit.own is None else 'daily'}")
        else:
            known.append((circuit.name, circuit.own * circuit.daily))
    power, mean = rig.power, sum(charge for _, charge in known) / DAY
    whole = run_time(power.capacity, power.rated_over, exponent_of(power), mean)
    share = USABLE if power.usable is None else power.usable
    return Day(tuple(sorted(known, key=lambda load: -load[1])), tuple(unknown), share * whole)
