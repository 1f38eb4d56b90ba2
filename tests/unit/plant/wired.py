"""Marram's own sources, boards and sequences: read one by one as plain Python, or played in the closed loop."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from statistics import pstdev
from typing import Any

import numpy as np

from tests.shipped import marram
from ullage.control import layout as law
from ullage.control.program import Program
from ullage.control.timers import NEVER_MS
from ullage.control.truth import quality_of
from ullage.plant import layout as at
from ullage.plant import senders
from ullage.plant.codes import RING
from ullage.plant.events import advance, change
from ullage.plant.faults import HOSE_BURST, KINDS, Fault, befalls, read_fault
from ullage.plant.harm import inflict
from ullage.plant.layout import of
from ullage.plant.works import with_burst, works_of
from ullage.plant.world import World, world_of
from ullage.rig.model import Rig
from ullage.simulate.run import Run, simulate
from ullage.simulate.scenario import read_scenario

FILL = """
scenario: A fill
hours: 0.5
handset: flat
happenings:
  - {at: 10 s, hose: shore, pressure: 2 bar}
  - {at: 1 min, start: fill, with: {target: 75 %}}
"""


def rig_and_program() -> tuple[Rig, Program]:
    """Marram and what it compiles to."""
    rig, program = marram().rig, marram().program
    assert rig is not None
    assert program is not None
    return rig, program


def on_first_part(kind_code: int, amount: float, start_ms: int = 0, end_ms: int = NEVER_MS) -> Fault:
    """A fault of a kind on the first part of Marram that can have it."""
    rig, kind = rig_and_program()[0], KINDS[kind_code]
    parts = [part for part in getattr(rig, kind.of) if befalls(rig, kind, part)] if kind.of else [""]
    return Fault(kind_code, parts[0], parts[1] if kind.other else "", amount, start_ms, end_ms)


class Wired:
    """Marram at rest, its signals wired up, with faults.

    Parameters
    ----------
    faults : str or Fault
    resolution : float, optional
        Of the sender ``belly_level``, in place of its own.
    broken_reads : int, optional
        What ``belly_float`` reads with a broken wire, in place of its own.
    """

    def __init__(self, *faults: str | Fault, resolution: float | None = None, broken_reads: int | None = None) -> None:
        rig, program = rig_and_program()
        self.program = program
        wrong = [read_fault(rig, fault) if isinstance(fault, str) else fault for fault in faults]
        for pipe in dict.fromkeys(fault.part for fault in wrong if fault.kind == HOSE_BURST):
            rig = with_burst(rig, pipe)
        self.works = works_of(rig, program.names.outputs)
        self.world: World = world_of(self.works, program, 1, wrong)
        if resolution is not None:
            self.put(at.RESOLUTION, self.signal("belly_level"), resolution)
        if broken_reads is not None:
            self.put(at.BROKEN_READS, self.signal("belly_float"), broken_reads)
        self.wrong(0)

    def wrong(self, ms: int) -> None:
        """Let the faults of a time begin and end, and the plant settle to them."""
        pipes, n, r, records = self.world
        change(pipes, n, r, records, 0.0)
        inflict(n, r, records, ms)
        advance(pipes, n, r, records, 0.0, 0.0)

    def signal(self, name: str) -> int:
        """Row of a signal."""
        return self.program.signal(name)

    def signals(self, source: int) -> list[str]:
        """Names of the signals that come from a kind of source."""
        names = [signal.name for signal in self.program.names.signals]
        return [name for row, name in enumerate(names) if of(self.world.n, at.SOURCE, row) == source]

    def put(self, column: int, row: int, value: float) -> None:
        """Write an entry of a column."""
        place: Any = self.world.n if column < at.TIME else self.world.r
        place[self.world.n[column] + row] = value

    def pour(self, tank: str, volume: float) -> None:
        """Put more water into a tank [m3]."""
        row = list(self.works.rig.tanks).index(tank)
        for column in (at.VOLUME, at.VOLUME_END):
            self.put(column, row, self.world.r[self.world.n[column] + row] + volume)
        self.wrong(0)

    def poured(self, tank: str, volume: float) -> Wired:
        """The same with more water in a tank [m3]."""
        self.pour(tank, volume)
        return self

    def flow(self, part: str, flow: float) -> None:
        """Let a flow stand in the line of a part [m3/s]."""
        for column in (at.FLOW, at.FLOW_END):
            self.put(column, self.works.plumbing.part_link[part], flow)

    def set_opening(self, valve: str, opening: float) -> None:
        """Put a valve somewhere."""
        self.put(at.OPENING, list(self.works.rig.valves).index(valve), opening)

    # --- reading -------------------------------------------------------------------------

    def read(self, name: str, times: Iterable[int]) -> list[int]:
        """Take readings of a signal at some times [ms], and send them."""
        _, n, r, records = self.world
        found = []
        for ms in times:
            inflict(n, r, records, ms)
            senders.read(n, r, self.signal(name), ms)
            found.append(of(n, at.RAW, self.signal(name)))
        return found

    def level(self, name: str, ms: int) -> int:
        """One reading of a signal."""
        return self.read(name, [ms])[0]

    def spread(self, name: str, count: int, every_ms: int = 2_000) -> float:
        """Standard deviation of many readings of a signal."""
        return pstdev(self.read(name, range(0, every_ms * count, every_ms)))

    def heard_ms(self, name: str, now_ms: int) -> int:
        """When the newest reading at the controller was taken [ms]."""
        senders.hear(self.world.n, self.signal(name), now_ms)
        return of(self.world.n, at.HEARD_MS, self.signal(name))

    def quality(self, name: str, now_ms: int) -> int:
        """What the law makes of the reading in hand."""
        row, t = self.signal(name), self.program.column
        image = [0] * t[law.IMAGE_SIZE]
        image[t[law.SEEN_AGE_MS] + row] = now_ms - self.heard_ms(name, now_ms)
        image[t[law.SEEN_RAW] + row] = of(self.world.n, at.HEARD_RAW, row)
        return quality_of(t, image, row)

    def arrivals(self, name: str) -> list[int]:
        """When each copy of the latest readings that were sent arrives [ms], -1 when it is lost."""
        row = self.signal(name)
        count = of(self.world.n, at.RING_COUNT, row)
        return [of(self.world.n, at.RING_ARRIVAL_MS, row * RING + k % RING) for k in range(max(count - RING, 0), count)]

    # --- the whole -----------------------------------------------------------------------

    def columns(self) -> dict[str, tuple[float, ...]]:
        """All columns of the plant by name, those of its list of faults left out."""
        n, r, _ = self.world.n, self.world.r, None
        names = sorted((place, name) for name, place in vars(at).items() if name.isupper() and isinstance(place, int))
        places = [(place, name) for place, name in names if at.HAPPENINGS < place < at.HEAD_SIZE]
        found = {}
        for (place, name), (after, _) in zip(places, [*places[1:], (at.HEAD_SIZE, "")], strict=True):
            whole: Any = n if place < at.TIME else r
            end = len(whole) if after in (at.TIME, at.HEAD_SIZE) else n[after]
            if not name.startswith("FAULT_"):
                found[name.lower()] = tuple(whole[n[place] : end])
        return found


class Played:
    """A fill of Marram with its own sequences, as it was played."""

    def __init__(self, run: Run) -> None:
        self.run = run

    def rows(self, kind: int, value: int, after: int = 0) -> list[int]:
        """Times [ms] of the records of a kind and value from a time on."""
        log = self.run.records
        return [int(t) for t in log[(log[:, 1] == kind) & (log[:, 3] == value) & (log[:, 0] >= after), 0]]

    def at(self, name: str, second: float) -> float:
        """A sample of the run."""
        return float(np.interp(second, self.run.series["time"], self.run.series[name]))

    def opening(self, valve: str, second: float) -> float:
        """Opening of a valve at a time [s]."""
        return self.at(f"opening.{valve}", second)

    def end(self, tank: str) -> float:
        """What a tank holds at the end [m3]."""
        return self.run.outcome.tanks[tank].end


@cache
def played(*faults: str) -> Played:
    """Play a fill with some faults."""
    rig, program = rig_and_program()
    law_of = marram().law
    assert law_of is not None
    scenario, findings = read_scenario(FILL, "fill.yaml", rig, law_of)
    assert scenario is not None, findings
    wrong = [read_fault(rig, fault) for fault in faults]
    return Played(simulate(rig, program, scenario, 1, faults=wrong, sample_ms=1000))
