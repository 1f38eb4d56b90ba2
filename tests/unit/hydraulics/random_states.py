"""Random states of two nets, solved one after another in machine code.

Each state draws anew: every resistance over three decades (a factor of 10^-1.5 .. 10^1.5),
40 % of the links closed, valves and taps at any opening, pumps on or off, tanks at
any level, supplies from 0 to 5 bar, an outfall that may be drowned, leaks of check valves.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numba import njit

from ullage.hydraulics.build import build
from ullage.hydraulics.friction import colebrook, section
from ullage.hydraulics.network import BACKWARD, FORWARD, Network, as_arrays, condition_of, work_of
from ullage.hydraulics.plumbing import Link
from ullage.hydraulics.solve import solve
from ullage.hydraulics.tables import tables
from ullage.kernels import compiled
from ullage.rig.read import read_rig

MARRAM = Path(__file__).parents[3] / "examples" / "rigs" / "marram.yaml"
CLOSED = 0.4
DECADES = 3.0
BATCH = 20_000


@dataclass(frozen=True, slots=True)
class Case:
    """A net and the range of each given head [m]."""

    name: str
    network: Network
    least: list[float]
    most: list[float]


def marram() -> Case:
    """The net of the demo rig."""
    rig, _, _ = read_rig(MARRAM.read_bytes(), MARRAM.name)
    assert rig is not None
    plumbing = build(rig)
    free, rest = plumbing.network.free, plumbing.rest
    least, most = list(rest), list(rest)
    for (kind, name), node in plumbing.nodes.items():
        if kind == "face":
            top = plumbing.rest[plumbing.nodes["brim", name]]
            least[node], most[node] = plumbing.network.elevation[node], top
        elif kind == "accumulator" or (kind == "port" and rig.ports[name].kind == "supply"):
            least[node], most[node] = plumbing.network.elevation[node], plumbing.network.elevation[node] + 50.0
        elif kind == "port":
            most[node] += 1.0
    return Case("marram", plumbing.network, least[free:], most[free:])


def mesh(side: int = 5) -> Case:
    """A square mesh of pipes with four given heads, every third link one way and two pumps: made of loops."""
    links: list[Link] = []
    count = side * side
    pairs = [(i, i + 1) for i in range(count) if (i + 1) % side] + [(i, i + side) for i in range(count - side)]
    pairs += [(count, 0), (count + 1, side - 1), (count - side, count + 2), (count - 1, count + 3)]
    for i, (start, end) in enumerate(pairs):
        link = Link(f"l{i}", start, end, way=FORWARD if i % 3 == 0 else FORWARD | BACKWARD)
        bore = 0.01 + 0.002 * (i % 5)
        link.sections.append(("pipe", 1.5e-6 / bore, *section(bore, 1.0 + i % 4, 1.14e-6)))
        link.resistances.append(("parts", 3e6 * (1 + i % 7)))
        if i in (12, 30):
            link.pump, link.way = f"p{i}", FORWARD
        links.append(link)
    curve = [(0.0, 30.0), (1e-4, 22.0), (2e-4, 0.0)]
    network = tables(links, count, [0.1 * (i % 3) for i in range(count + 4)], [curve, curve], colebrook, 1e-6)
    return Case("mesh", network, [0.0] * 4, [50.0, 20.0, 5.0, 5.0])


@njit  # type: ignore[untyped-decorator]
def _run(solver, network, condition, work, head, flow, whole, drawn, iterations, residual):  # type: ignore[no-untyped-def]
    fixed, loose = whole
    resistances, throttles, heads, clear, leak, opening, speed = drawn
    balance = np.zeros(len(head))
    for state in range(len(iterations)):
        network.resistance[:] = fixed * resistances[state]
        network.throttle_resistance[:] = loose * throttles[state]
        condition.clear[:], condition.leak[:] = clear[state], leak[state]
        condition.opening[:], condition.speed[:] = opening[state], speed[state]
        head[network.free :] = heads[state]
        iterations[state] = solver(network, condition, head, flow, work)
        balance[:] = 0.0
        for link in range(len(flow)):
            balance[network.start[link]] -= flow[link]
            balance[network.end[link]] += flow[link]
        for node in range(network.free):
            residual[state] = max(residual[state], abs(balance[node]))


def drawn(case: Case, count: int, seed: int) -> tuple[Any, ...]:
    """Factors of fixed and loose resistances, given heads, clear, leak, opening, speed of ``count`` states."""
    draw = np.random.default_rng(seed)
    links, loose = len(case.network.start), case.network.throttle_first[-1]
    pumps = len(case.network.pump_first) - 1

    def factors(width: int) -> Any:
        return 10.0 ** draw.uniform(-DECADES / 2, DECADES / 2, (count, width))

    return (
        factors(links),
        factors(loose),
        draw.uniform(case.least, case.most, (count, len(case.least))),
        (draw.random((count, links)) >= CLOSED).astype(float),
        np.where(draw.random((count, links)) < 0.05, draw.random((count, links)), 0.0),
        np.where(draw.random((count, loose)) < 0.3, draw.random((count, loose)), 1.0),
        (draw.random((count, pumps)) < 0.5).astype(float),
    )


def outcomes(case: Case, count: int, seed: int) -> tuple[Any, Any]:
    """Iterations (-1: not settled) and worst imbalance of any node [m3/s] of each state, each begun from the last."""
    network, condition = as_arrays(case.network), as_arrays(condition_of(case.network))
    whole = np.array(case.network.resistance), np.array(case.network.throttle_resistance)
    work, twin = as_arrays(work_of(case.network)), compiled(solve)
    head = np.array([*case.network.elevation[: case.network.free], *case.least])
    flow = np.zeros(len(case.network.start))
    iterations, residual = np.zeros(count, dtype=np.int64), np.zeros(count)
    for batch, first in enumerate(range(0, count, BATCH)):
        part = slice(first, min(first + BATCH, count))
        states = drawn(case, part.stop - first, 1000 * seed + batch)
        _run(twin, network, condition, work, head, flow, whole, states, iterations[part], residual[part])
    return iterations, residual
