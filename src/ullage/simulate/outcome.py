"""What came of a run in figures: litres by tank, port and tap, minutes by pump, water where it must not be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import pi
from typing import Any

from ullage.control.record import LOG_HEAD, WIDTH
from ullage.plant import layout as at
from ullage.plant.codes import CHARGE
from ullage.plant.words import P_PUMP
from ullage.plant.works import Works, burst_name
from ullage.plant.world import World
from ullage.rig.model import Rig
from ullage.rig.shapes import capacity


@dataclass(frozen=True, slots=True)
class TankOutcome:
    """Volumes of a tank [m3]: at start and end, least and most, left by the overflow, run over indoors, poured in."""

    start: float
    end: float
    least: float
    most: float
    overflowed: float
    overflows_to: str
    ran_over: float
    poured: float


@dataclass(frozen=True, slots=True)
class PumpOutcome:
    """A pump: seconds turning, seconds without water, air drawn [m3], times it started."""

    turned: float
    dry: float
    air: float
    starts: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """All figures of a run; volumes in m3.

    Attributes
    ----------
    tanks : dict of TankOutcome
    pumps : dict of PumpOutcome
    ports : dict of (in, out)
        What came in from a supply and what left there; what left at a discharge and came back.
    fixtures : dict
        What each tap gave.
    indoors : float
        Water that ran where people live.
    outdoors : float
        Water that left by overflows, outdoors.
    lost_by_bursts : float
        Water that left by burst pipes, wherever they are.
    trapped : dict
        Water held between closed valves at the end, by line.
    imbalance : float
        Water that came in less water that left less what vessels gained: nothing but rounding.
    unsettled : int
        Times that the flow solver gave up.
    charge_used : float
        Drawn from the battery [C].
    """

    tanks: dict[str, TankOutcome]
    pumps: dict[str, PumpOutcome]
    ports: dict[str, tuple[float, float]]
    fixtures: dict[str, float]
    indoors: float
    outdoors: float
    lost_by_bursts: float
    trapped: dict[str, float]
    imbalance: float
    unsettled: int
    charge_used: float


def outcome_of(works: Works, world: World) -> Outcome:
    """Add up a run.

    Parameters
    ----------
    works : Works
        The plant's tables.
    world : World
        The plant at the end of the run.
    """
    return _Sum(works, world).outcome()


class _Sum:
    """The ledger of a plant at the end of a run."""

    def __init__(self, works: Works, world: World) -> None:
        self.works, self.n, self.r = works, world.n, world.r
        self.records = world.records

    def column(self, place: int, length: int) -> list[float]:
        """A column of floats."""
        first = int(self.n[place])
        return [float(number) for number in self.r[first : first + length]]

    def outcome(self) -> Outcome:
        """All figures."""
        works, rig, count = self.works, self.works.rig, self.works.counts
        through, back = self.column(at.THROUGH, count["rows"]), self.column(at.BACK, count["rows"])
        tanks = dict(self.tanks(through))
        bursts = {burst_name(name): pipe for name, pipe in rig.pipes.items()}
        fixtures = {name: through[works.plumbing.part_link[name]] for name in rig.fixtures}
        lost = {name: fixtures.pop(name) for name in list(fixtures) if name in bursts}
        inside = sum(lost[name] for name in lost if not bursts[name].outdoors)
        ports = {}
        for name in rig.ports:
            link = works.plumbing.part_link[name]
            starts = works.plumbing.network.start[link] == works.plumbing.nodes["port", name]
            forward, backward = through[link] + back[link], back[link]
            ports[name] = (forward, backward) if starts else (backward, forward)
        over = [(tank.overflowed, tank.overflows_to) for tank in tanks.values()]
        return Outcome(
            tanks=tanks,
            pumps=dict(self.pumps()),
            ports=ports,
            fixtures=fixtures,
            indoors=inside
            + sum(volume for volume, to in over if to == "indoors")
            + sum(tank.ran_over for tank in tanks.values()),
            outdoors=sum(volume for volume, to in over if to == "outdoors"),
            lost_by_bursts=sum(lost.values()),
            trapped=trapped(works.given, dict(zip(rig.valves, self.column(at.OPENING, count["valves"]), strict=True))),
            imbalance=self.imbalance(through),
            unsettled=int(self.n[self.n[at.UNSETTLED]]),
            charge_used=rig.power.capacity - self.column(at.SUPPLY, 7)[CHARGE],
        )

    def tanks(self, through: list[float]) -> Iterator[tuple[str, TankOutcome]]:
        """Figures of each tank."""
        works, count = self.works, self.works.counts
        ends, least, most = (self.column(place, count["vessels"]) for place in (at.VOLUME, at.LOW, at.HIGH))
        for t, (name, tank) in enumerate(works.rig.tanks.items()):
            link = works.integers["overflow"][t]
            poured, over = count["links"] + t, count["links"] + count["tanks"] + t
            yield (
                name,
                TankOutcome(
                    start=tank.starts_with * capacity(tank),
                    end=ends[t],
                    least=least[t],
                    most=most[t],
                    overflowed=through[link] if link >= 0 else 0.0,
                    overflows_to=tank.overflow.to if tank.overflow else "",
                    ran_over=through[over],
                    poured=through[poured],
                ),
            )

    def pumps(self) -> Iterator[tuple[str, PumpOutcome]]:
        """Figures of each pump; of air it draws what it would pump against no pressure."""
        count = self.works.counts["pumps"]
        turned, dried, free = (self.column(place, count) for place in (at.TURNED, at.DRIED, at.PUMP_FREE))
        log: Any = self.records
        rows = log[LOG_HEAD : LOG_HEAD + WIDTH * int(log[1])].reshape(-1, WIDTH)
        for name, row in self.works.plumbing.pumps.items():
            starts = int(((rows[:, 1] == P_PUMP) & (rows[:, 2] == row) & (rows[:, 3] == 1)).sum())
            yield name, PumpOutcome(turned[row], dried[row], dried[row] * free[row], starts)

    def imbalance(self, through: list[float]) -> float:
        """What the ledger and the vessels do not agree on [m3]."""
        works, count = self.works, self.works.counts
        ends = self.column(at.VOLUME, count["vessels"])
        starts = [tank.starts_with * capacity(tank) for tank in works.rig.tanks.values()] + [0.0] * count["cushions"]
        moved = 0.0
        for row in range(count["rows"]):
            moved += through[row] * (works.integers["led_to"][row] >= 0)
            moved -= through[row] * (works.integers["drawn_from"][row] >= 0)
        return sum(ends) - sum(starts) - moved


def trapped(rig: Rig, openings: dict[str, float]) -> dict[str, float]:
    """Water between closed valves, pumps, checks and taps of each line [m3], which frost would burst.

    Parameters
    ----------
    rig : Rig
    openings : dict
        Opening of each valve [0..1].

    Notes
    -----
    Only what is shut in within one line is counted; a section that reaches a point, a tank or a
    port is taken to have a way out.
    """
    found = {}
    for line in rig.lines:
        shut, held, between = False, 0.0, 0.0
        for part in (*line.through, line.end):
            closes = part in rig.valves and openings[part] <= 0.0
            if closes or part in rig.checks or part in rig.pumps or part in rig.fixtures:
                held += between if shut and (closes or part in rig.fixtures) else 0.0
                shut, between = True, 0.0
            elif part in rig.pipes:
                between += 0.25 * pi * rig.pipes[part].bore ** 2 * rig.pipes[part].length
            elif part in rig.heaters:
                between += rig.heaters[part].volume
        if held > 0.0:
            found[f"{line.start} to {line.end}"] = held
    return found
