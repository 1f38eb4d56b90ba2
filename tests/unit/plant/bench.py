"""A small plant on the bench: a rig without a controller, its valves and pumps driven by hand, faults and all.

Everything runs as plain Python on lists, which is the exact reference of the machine code; or as machine code.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Sequence
from typing import Any

from ullage.control.record import LOG_HEAD, WIDTH
from ullage.kernels import compiled
from ullage.plant import happenings as h
from ullage.plant import layout as at
from ullage.plant.events import advance, change
from ullage.plant.faults import HOSE_BURST, Fault, read_fault
from ullage.plant.flow import flow_at, head_at, volume_at
from ullage.plant.happenings import befalls_plant, next_happening_ms
from ullage.plant.harm import inflict, next_edge_ms
from ullage.plant.layout import of
from ullage.plant.motors import opening_at
from ullage.plant.works import Works, with_burst, works_of
from ullage.plant.world import World, as_arrays, world_of
from ullage.quantities import read
from ullage.rig.model import Rig

Act = tuple[str, str, str, float]
"""When, what is done, to which part, how much: ``("1 min", "drive", "inlet", 1)``."""

DEEDS = {
    "tap": (h.H_TAP, "fixtures"),
    "hose": (h.H_HOSE, "ports"),
    "unhook": (h.H_UNHOOK, "ports"),
    "turn": (h.H_TURN, "valves"),
    "drive": (h.H_DRIVE, "valves"),
    "pump": (h.H_PUMP, "pumps"),
}
"""What can be done, to which parts: a hose is given its pressure [Pa], all else 0..1."""


class Bench:
    """A plant that is played by hand.

    Parameters
    ----------
    rig : dict
        As the rig file says it.
    acts : iterable of Act
    faults : iterable of str or Fault
    machine : bool
        As machine code.
    """

    def __init__(
        self,
        rig: dict[str, Any],
        acts: Iterable[Act] = (),
        faults: Iterable[str | Fault] = (),
        machine: bool = False,
    ) -> None:
        self.rig = Rig.model_validate({"rig": "bench", **rig})
        wrong = [read_fault(self.rig, fault) if isinstance(fault, str) else fault for fault in faults]
        staged = self.rig
        for pipe in dict.fromkeys(fault.part for fault in wrong if fault.kind == HOSE_BURST):
            staged = with_burst(staged, pipe)
        self.works: Works = works_of(staged, (*self.rig.valves, *self.rig.pumps))
        done = sorted((self._row(*act) for act in acts), key=lambda row: row[0])
        world = world_of(self.works, None, 1, wrong, done)
        self.world: World = as_arrays(world) if machine else world
        self.ways = {deed: compiled(deed) if machine else deed for deed in (advance, change, inflict, befalls_plant)}
        self.now_ms = -1

    @property
    def now_s(self) -> float:
        """Time [s]."""
        return max(self.now_ms, 0) / 1000.0

    def _row(self, when: str, deed: str, part: str, amount: float) -> tuple[int, int, int, float]:
        kind, field = DEEDS[deed]
        amount = self.works.plumbing.head_of(amount) if deed == "hose" else amount
        return round(1000.0 * read(when, "time")), kind, list(getattr(self.works.rig, field)).index(part), amount

    def play(self, until: str) -> Bench:
        """Play on to a time, and do what is due at it."""
        pipes, n, r, records = self.world
        go, alter, befall, act = (self.ways[deed] for deed in (advance, change, inflict, befalls_plant))
        end_ms = round(1000.0 * read(until, "time"))
        while self.now_ms < end_ms:
            edge = next_edge_ms(n, self.now_ms)
            self.now_ms = min(edge, next_happening_ms(n), end_ms)
            now = self.now_s
            go(pipes, n, r, records, now, now)
            records[0] = self.now_ms
            if edge == self.now_ms:
                alter(pipes, n, r, records, now)
                befall(n, r, records, self.now_ms)
            while next_happening_ms(n) <= self.now_ms:
                row = of(n, at.NEXT_HAPPENING, 0)
                n[n[at.NEXT_HAPPENING]] += 1
                alter(pipes, n, r, records, now)
                act(n, r, records, row)
        go(pipes, n, r, records, self.now_s, self.now_s + 1e-3)
        return self

    # --- what can be seen ----------------------------------------------------------------

    def volume(self, tank: str) -> float:
        """What a tank holds now [m3]."""
        return volume_at(self.world.n, self.world.r, list(self.works.rig.tanks).index(tank), self.now_s)

    def flow(self, part: str) -> float:
        """Flow of the line that a part sits in [m3/s]."""
        return flow_at(self.world.n, self.world.r, self.works.plumbing.part_link[part], self.now_s)

    def head(self, kind: str, name: str) -> float:
        """Head of a node [m]."""
        return head_at(self.world.n, self.world.r, self.works.plumbing.nodes[kind, name], self.now_s)

    def opening(self, valve: str) -> float:
        """Opening of a valve [0..1]."""
        return opening_at(self.world.n, self.world.r, list(self.rig.valves).index(valve), self.now_s)

    def entry(self, column: int, row: int = 0) -> float:
        """An entry of a column."""
        source: Sequence[float] = self.world.n if column < at.TIME else self.world.r
        return source[self.world.n[column] + row]

    def records(self, kind: int) -> list[tuple[int, int, int, int]]:
        """Time [ms], row, value, detail of the records of a kind."""
        log = self.world.records
        rows = [log[LOG_HEAD + WIDTH * i : LOG_HEAD + WIDTH * (i + 1)] for i in range(log[1])]
        return [(row[0], row[2], row[3], row[4]) for row in rows if row[1] == kind]


def changed(rig: dict[str, Any], **parts: dict[str, Any]) -> dict[str, Any]:
    """A rig with some of its parts changed: ``changed(RIG, pumps={"pump": {"relief": "3 bar"}})``."""
    made = copy.deepcopy(rig)
    for kind, named in parts.items():
        for name, fields in named.items():
            made.setdefault(kind, {}).setdefault(name, {}).update(fields)
    return made
