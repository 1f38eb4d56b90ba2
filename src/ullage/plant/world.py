"""A plant at its start: every column that changes, in health and at rest."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Any, NamedTuple

from ullage.control.codes import FLAT
from ullage.control.program import Program
from ullage.control.record import log_for
from ullage.control.timers import NEVER_MS
from ullage.hydraulics import network as hydraulic
from ullage.hydraulics.network import condition_of, work_of
from ullage.plant.codes import LOOP_SIZE, NO_EVENT, RING
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
    """Columns of the plant proper that change: tanks as the rig says, all else still, closed and healthy."""
    c = works.counts
    zeros = dict.fromkeys(("rate", "rate_end", "tried", "rate_half", "rate_late"), c["vessels"])
    zeros |= dict.fromkeys(("flow", "flow_end", "flow_half", "flow_late", "through", "gain", "back"), c["rows"])
    zeros |= dict.fromkeys(
        ("rests_until", "turned", "dried", "speed", "air", "air_since", "air_pace", "dry_since"), c["pumps"]
    )
    zeros |= dict.fromkeys(("since", "turn", "seep"), c["valves"]) | {"pour": c["tanks"], "leak": c["links"]}
    zeros |= dict.fromkeys(("tap", "burst"), c["fixtures"])
    reals = {name: [0.0] * length for name, length in zeros.items()}
    filled = [tank.starts_with * shapes.capacity(tank) for tank in works.rig.tanks.values()] + [0.0] * c["cushions"]
    reals |= {name: list(filled) for name in ("volume", "volume_end", "low", "high")}
    reals |= {name: list(works.plumbing.rest) for name in ("head", "head_end")}
    necks = {works.plumbing.throttles[name] for name in works.rig.accumulators}
    reals["throttle"] = [float(throttle in necks) for throttle in range(c["throttles"])]
    reals["opening"] = [float(relay) for relay in works.integers["valve_relay"]]
    reals |= {"arrives": [inf] * c["valves"], "full_at": list(works.reals["charge_time"]), "slow": [1.0] * c["valves"]}
    reals |= {"time": [0.0, 0.0, 1.0, 1.0], "clear": [1.0] * c["links"]}
    reals |= {"pressure_instead": [-1.0] * c["ports"], "width": [1.0] * c["ports"], "width_laid": [1.0] * c["ports"]}
    idle = dict.fromkeys(
        ("turning", "dry", "airbound", "harmed", "pump_welded", "pump_failed", "running_on"), c["pumps"]
    )
    idle |= dict.fromkeys(("valve_stuck", "mute", "valve_welded"), c["valves"])
    idle |= {"wet": 2 * c["tanks"], "leaking": c["links"]}
    idle |= dict.fromkeys(("stand", "moving", "unsettled", "power_lost", "brown_out", "controller_gone"), 1)
    integers = {name: [0] * length for name, length in idle.items()}
    integers |= {
        "contacts": [1] * c["pumps"],
        "event": [NO_EVENT, -1],
        "powered": [1],
        "power_seen": [1],
        "attitude": [FLAT],
    }
    integers["crossed"] = list(range(c["valves"]))
    integers["primed"] = [int(crest <= NO_CREST) for crest in works.reals["crest"][: c["links"]]]
    return integers, reals


def listening(works: Works) -> tuple[dict[str, list[int]], dict[str, list[float]]]:
    """Columns of sources, boards and outputs that change: nothing read, heard or driven yet."""
    c, safe = works.counts, list(works.integers["output_safe"])
    signals, boards, outputs = c["signals"], c["boards"], c["outputs"]
    zeros = dict.fromkeys(("raw", "sent_raw", "heard_raw", "dozes", "ring_count", "stuck", "dead", "steady"), signals)
    zeros |= dict.fromkeys(("lost", "late_ms", "again_ms"), boards)
    zeros |= {"ring_ms": signals * RING, "ring_raw": signals * RING, "call_demand": outputs * RING, "lapsed": outputs}
    integers = {name: [0] * length for name, length in zeros.items()}
    integers |= {name: [-1] * signals for name in ("read_ms", "sent_ms", "heard_ms", "forced")}
    integers |= {"swapped": list(range(signals)), "ring_arrival_ms": [-1] * signals * RING}
    integers |= {"called": [-1] * boards, "obeyed": [-1] * boards, "call_arrival_ms": [-1] * boards * RING}
    integers |= {"waits": [1] * boards, "lapse_ms": [NEVER_MS] * boards, "demand": safe, "driven": list(safe)}
    reals = {"lagged": [-1.0] * signals, "offset_fault": [0.0] * signals, "noise_fault": [0.0] * signals}
    reals |= {"stirred": [-1e9] * c["tanks"], "moved_until": [-1e9] * c["tanks"]}
    return integers, reals


def fault_columns(works: Works, program: Program | None, faults: Sequence[Fault]) -> None:
    """Add the faults of a run; one that acts twice or only for a while becomes the rows it needs."""
    rows = [row for fault in faults for row in _rows(works, program, fault)]
    works.counts["faults"] = len(rows)
    for place, column in enumerate(("fault_kind", "fault_part", "fault_other", "fault_start_ms", "fault_end_ms")):
        works.integers[column] = [int(row[place]) for row in rows]
    works.integers["fault_on"] = [0] * len(rows)
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
    if field in ("senders", "floats", "meters"):
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
    """
    add_wiring(works, program, seed)
    fault_columns(works, program, faults)
    works.counts["happenings"] = len(happenings)
    for place, column in enumerate(("happening_ms", "happening", "happening_part")):
        works.integers[column] = [int(row[place]) for row in happenings]
    works.integers["next_happening"] = [0]
    works.integers["loop"] = [0] * LOOP_SIZE
    works.reals["happening_amount"] = [float(row[3]) for row in happenings]
    still, heard = resting(works), listening(works)
    n, r = pack(works.counts, still[0] | heard[0] | works.integers, still[1] | heard[1] | works.reals)
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
