"""A plant at its start: every column that changes, in health and at rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from ullage.control.program import Program
from ullage.control.record import log_for
from ullage.hydraulics import network as hydraulic
from ullage.hydraulics.network import condition_of, work_of
from ullage.plant.codes import NO_EVENT
from ullage.plant.faults import (
    CHECK_LEAKING,
    CUT_BETWEEN_MS,
    CUT_MS,
    JERRYCAN,
    KINDS,
    OUTFALL_BACK_PRESSURE,
    POUR_RATE,
    POWER_CUT_TWICE,
    POWER_LOST,
    PUMP_LEAKING_BACK,
    REGULATOR_FAILED,
    Fault,
)
from ullage.plant.layout import Integers, Reals, pack
from ullage.plant.pipes import Pipes
from ullage.plant.prime import NO_CREST
from ullage.plant.wiring import add_wiring
from ullage.plant.works import Works, barriers, burst_name
from ullage.rig import shapes

RECORDS_LIMIT = 200_000
"""Records of one run; what does not fit is counted and said."""


class World(NamedTuple):
    """One plant at one moment: what its kernels take, in that order.

    Attributes
    ----------
    pipes : Pipes
    n, r : columns of `ullage.plant.layout`
    records : column of `ullage.control.record`
    """

    pipes: Pipes
    n: Integers
    r: Reals
    records: Integers


def resting(works: Works) -> tuple[dict[str, list[int]], dict[str, list[float]]]:
    """Columns that change and whose beginning the rig decides; all others begin as `layout.TABLE` says."""
    c, safe = works.counts, works.integers["output_safe"]
    filled = [tank.starts_with * shapes.capacity(tank) for tank in works.rig.tanks.values()] + [0.0] * c["cushions"]
    necks = {works.plumbing.throttles[name] for name in works.rig.accumulators}
    integers = {
        "event": [NO_EVENT, -1],
        "crossed": list(range(c["valves"])),
        "swapped": list(range(c["signals"])),
        "primed": [int(crest <= NO_CREST) for crest in works.reals["crest"][: c["links"]]],
        "demand": list(safe),
        "driven": list(safe),
        "float_wet": [
            int(filled[tank] >= rises)
            for tank, rises in zip(works.integers["float_tank"], works.reals["rises_at"], strict=False)
        ],
    }
    reals = {
        "time": [0.0, 0.0, 1.0, 1.0],
        "throttle": [float(throttle in necks) for throttle in range(c["throttles"])],
        "opening": [float(relay) for relay in works.integers["valve_relay"]],
        "full_at": list(works.reals["charge_time"]),
    }
    reals |= {name: list(filled) for name in ("volume", "volume_end", "low", "high")}
    reals |= {name: list(works.plumbing.rest) for name in ("head", "head_end")}
    return integers, reals


def fault_columns(works: Works, program: Program | None, faults: Sequence[Fault]) -> None:
    """Add the faults of a run; one that acts twice or only for a while becomes the rows it needs."""
    rows = [row for fault in faults for row in _rows(works, program, fault)]
    works.counts["faults"] = len(rows)
    for place, column in enumerate(("fault_kind", "fault_part", "fault_other", "fault_start_ms", "fault_end_ms")):
        works.integers[column] = [int(row[place]) for row in rows]
    works.reals["fault_amount"] = [row[5] for row in rows]


def _rows(works: Works, program: Program | None, fault: Fault) -> list[tuple[int, int, int, int, int, float]]:
    start, end, amount = fault.start_ms, fault.end_ms, fault.amount
    row = fault_part(works, program, fault.kind, fault.part)
    other = fault_part(works, program, fault.kind, fault.other) if fault.other else -1
    if fault.kind in (PUMP_LEAKING_BACK, CHECK_LEAKING):
        line = next(line for line in works.rig.lines if fault.part in line.through)
        other = barriers(works.rig, line)[fault.part]
    if fault.kind in (REGULATOR_FAILED, OUTFALL_BACK_PRESSURE):
        amount = works.plumbing.head_of(amount)
    if fault.kind == JERRYCAN:
        end = min(end, start + round(1000.0 * amount / POUR_RATE))
    if fault.kind == POWER_CUT_TWICE:
        again = start + CUT_MS + CUT_BETWEEN_MS
        first = (POWER_LOST, row, other, start, min(start + CUT_MS, end), amount)
        return [first, (POWER_LOST, row, other, again, end, amount)]
    return [(fault.kind, row, other, start, end, amount)]


def fault_part(works: Works, program: Program | None, kind: int, part: str) -> int:
    """Row that a fault of a kind at a part writes to."""
    laid, field = works.plumbing, KINDS[kind].of
    if field in ("senders", "meters"):
        assert program is not None, "only a rig with a Program has signals"
        return program.signal(part)
    if field == "pumps":
        return laid.pumps[part]
    if field == "checks":
        return laid.part_link[part]
    if field == "pipes":
        return list(works.rig.fixtures).index(burst_name(part))
    return list(getattr(works.rig, field)).index(part) if field else 0


def world_of(
    works: Works,
    program: Program | None = None,
    seed: int = 0,
    faults: Sequence[Fault] = (),
    happenings: Sequence[tuple[int, int, int, float]] = (),
    records: int = RECORDS_LIMIT,
    errors: Mapping[str, float] | None = None,
) -> World:
    """A plant at its start, as lists.

    Parameters
    ----------
    works : Works
        The plant's tables; its columns of signals, boards and faults are written here.
    program : Program, optional
        The law that it is wired to.
    seed : int
        Seed of all chance.
    faults : sequence of Fault
        What goes wrong.
    happenings : sequence of (ms, kind, part, amount)
        What is done to the plant from outside, in order of time; see `ullage.plant.happenings`.
    records : int
        Room for so many records.
    errors : mapping, optional
        What named senders, meters and probes err by, in parts of what they declare [-1..1].
    """
    add_wiring(works, program, seed, errors)
    fault_columns(works, program, faults)
    works.counts["happenings"] = len(happenings)
    for place, column in enumerate(("happening_ms", "happening", "happening_part")):
        works.integers[column] = [int(row[place]) for row in happenings]
    works.reals["happening_amount"] = [float(row[3]) for row in happenings]
    integers, reals = resting(works)
    n, r = pack(works.counts, integers | works.integers, reals | works.reals)
    network = works.plumbing.network
    head, flow = list(works.plumbing.rest), [0.0] * len(network.start)
    pipes = Pipes(network, condition_of(network), work_of(network), head, flow)
    return World(pipes, n, r, log_for(records))


def as_arrays(world: World) -> World:
    """The same world with every list made an array of its own, for compiled kernels."""
    import numpy as np

    pipes = world.pipes
    head: Any = np.array(pipes.head)
    flow: Any = np.array(pipes.flow)
    n: Any = np.array(world.n, dtype=np.int64)
    r: Any = np.array(world.r, dtype=np.float64)
    records: Any = np.array(world.records, dtype=np.int64)
    arrays = hydraulic.as_arrays
    return World(Pipes(arrays(pipes.network), arrays(pipes.condition), arrays(pipes.work), head, flow), n, r, records)
