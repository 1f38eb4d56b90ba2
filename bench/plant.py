"""Marram's plant alone, adaptive with its events: days of taps that are opened and closed, in a batch over threads.

No law, no senders: the pump is driven all the time, its pressure switch and accumulator work, and the
taps are opened as in the demo's day, day after day, from tanks that hold the day's water and waste (a
waste tank that runs over at every tap makes half as many events again and takes twice as long). Runs on
one thread and on two are taken in turn.
On a machine that does something else besides, wall time cannot show what two cores would do, so the
processor's time of a day is compared too: where that is the same on two threads as on one, nothing
is shared or waited for, and two free cores do twice as much.

Run: ``python -m bench.plant``, or ``./run bench plant``.
"""

from __future__ import annotations

import os
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from statistics import median
from typing import Any

from numba import njit

from bench.measure import at_least
from ullage.control.check import examine
from ullage.kernels import compiled
from ullage.plant import layout as at
from ullage.plant.events import advance, change
from ullage.plant.happenings import H_PUMP, H_TAP, befalls_plant
from ullage.plant.works import works_of
from ullage.plant.world import World, as_arrays, world_of
from ullage.simulate.scenario import read_scenario

EXAMPLES = Path(__file__).parent.parent / "examples"
DAYS, DAY_MS = 30, 86_400_000
THREADS, TURNS, BATCH = 2, 7, 4
GOAL, GOAL_SCALING = 50e6, 1.9
STARTS = {"belly": 0.85, "loft": 0.62, "gray": 0.05}
"""What the tanks hold at the start of each day: filled and emptied, so that the day's water fits."""


def worlds(count: int) -> list[World]:
    """So many plants, each with its taps to be opened through a month."""
    path = EXAMPLES / "rigs" / "marram.yaml"
    examined = examine(path.read_bytes(), path.name)
    rig, law = examined.rig, examined.law
    assert rig is not None
    assert law is not None
    scenario, _ = read_scenario((EXAMPLES / "scenarios" / "day.yaml").read_bytes(), "day", rig, law)
    assert scenario is not None
    taps = [h for h in scenario.happenings if h.kind == H_TAP]
    tanks = {name: tank.model_copy(update={"starts_with": STARTS[name]}) for name, tank in rig.tanks.items()}
    rig = rig.model_copy(update={"tanks": tanks})
    names = list(rig.fixtures)
    rows = [(day * DAY_MS + h.ms, H_TAP, names.index(h.part), h.amount) for day in range(DAYS) for h in taps]
    rows += [(day * DAY_MS, H_PUMP, 0, 1.0) for day in range(DAYS)]
    rows.sort()
    return [as_arrays(world_of(works_of(rig, []), None, happenings=rows, records=10)) for _ in range(count)]


def month() -> Any:
    """A compiled month: what is known to happen, and the plant between; the vessels as full as at first each day."""
    go_on, alter, befall = compiled(advance), compiled(change), compiled(befalls_plant)
    rows, times, day_ms = at.HAPPENINGS, at.HAPPENING_MS, DAY_MS
    volume, end, vessels = at.VOLUME, at.VOLUME_END, at.VESSELS

    @njit(nogil=True)  # type: ignore[untyped-decorator]
    def run(pipes, n, r, records, first):  # type: ignore[no-untyped-def]
        for row in range(n[rows]):
            ms = n[n[times] + row]
            go_on(pipes, n, r, records, ms / 1000.0, ms / 1000.0)
            alter(pipes, n, r, records, ms / 1000.0)
            if ms % day_ms == 0:
                for vessel in range(n[vessels]):
                    r[n[volume] + vessel] = r[n[end] + vessel] = first[vessel]
            befall(n, r, records, row)

    return run


def measured(run: Any, batch: list[World], threads: int) -> tuple[float, float]:
    """Simulated seconds per second of wall time, and per second of one processor."""
    firsts = [world.r[world.n[at.VOLUME] : world.n[at.VOLUME] + world.n[at.VESSELS]].copy() for world in batch]  # type: ignore[attr-defined]
    wall, spent = time.perf_counter(), time.process_time()
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(lambda world, first: run(*world, first), batch, firsts))
    seconds = len(batch) * DAYS * DAY_MS / 1000.0
    return seconds / (time.perf_counter() - wall), seconds / (time.process_time() - spent)


def main() -> int:
    """Print the speeds; 1 when a goal is missed."""
    run = month()
    measured(run, worlds(1), 1)
    turns: list[tuple[tuple[float, float], tuple[float, float]]] = []
    for _ in range(TURNS):
        turns.append((measured(run, worlds(BATCH), 1), measured(run, worlds(BATCH), THREADS)))
    one, two = ([turn[i] for turn in turns] for i in (0, 1))
    world = worlds(1)[0]
    run(*world, world.r[world.n[at.VOLUME] : world.n[at.VOLUME] + world.n[at.VESSELS]].copy())  # type: ignore[attr-defined]
    print(f"{BATCH} plants, a month each; load of the machine {os.getloadavg()[0]:.1f}")
    print(
        f"events noted in a simulated day: {world.records[1] / DAYS:.0f}; flows that did not settle: "
        f"{world.n[world.n[at.UNSETTLED]]}"
    )
    per_core = median(cpu for _, cpu in one)
    walls = median(b[0] / a[0] for a, b in turns)
    cpus = THREADS * median(b[1] / a[1] for a, b in turns)
    print(
        f"one thread: {median(w for w, _ in one) / 1e6:.1f} million s/s of wall time, {per_core / 1e6:.1f} of processor"
    )
    print(f"two threads: {median(w for w, _ in two) / 1e6:.1f} million s/s of wall time")
    met = at_least("plant alone, simulated seconds per second of one core", per_core, GOAL, "s/s")
    met &= at_least("two threads over one, wall time", walls, GOAL_SCALING)
    at_least("two threads over one, by the processor's time", cpus, GOAL_SCALING)
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
