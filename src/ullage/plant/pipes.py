"""Flows, heads and rates of change of the plant at one moment."""

from __future__ import annotations

from typing import NamedTuple

from ullage.hydraulics.network import BACKWARD, FORWARD, Condition, Network, Work
from ullage.hydraulics.solve import solve
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.codes import ATMOSPHERE
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.motors import set_openings
from ullage.plant.tanks import surface_of

BOTH = FORWARD | BACKWARD
"""Water may pass both ways."""

FULLEST = 0.98
"""An accumulator's water takes at most this part of its volume; then its gas is as good as solid."""


class Pipes(NamedTuple):
    """The network with the solver's own columns: condition, scratch, heads (N,) [m] and flows (L,) [m3/s]."""

    network: Network
    condition: Condition
    work: Work
    head: Reals
    flow: Reals


@kernel
def cushion_head(n: Integers, r: Reals, row: int, content: float) -> float:
    """Head over its neck [m] at an accumulator that holds this much water [m3], by Boyle's law.

    1 L at 1.4 bar gauge, 0.2566 L of water let in from 1.7 to 2.8 bar: row VPN-15.
    """
    volume = real(n, r, at.CUSHION_VOLUME, row)
    gas = volume - min(max(content, 0.0), FULLEST * volume)
    return real(n, r, at.CUSHION_PRECHARGE, row) * volume / gas - real(n, r, at.WHOLE, ATMOSPHERE)


@kernel
def lay(pipes: Pipes, n: Integers, r: Reals) -> None:
    """Set all of the network that only a change can change: heights, pumps, what is blocked, ports, taps."""
    stand, links, nodes = of(n, at.STAND, 0), n[at.LINKS], n[at.NODES]
    network, condition = pipes.network, pipes.condition
    for link in range(links):
        network.start_sill[link] = real(n, r, at.START_SILL, stand * links + link)
        network.end_sill[link] = real(n, r, at.END_SILL, stand * links + link)
        condition.clear[link] = real(n, r, at.CLEAR, link)
        leaks = of(n, at.LEAKING, link) == of(n, at.BARRIERS, link)
        condition.leak[link] = real(n, r, at.LEAK, link) if leaks else 0.0
        condition.way[link] = BOTH if of(n, at.PRIMED, link) else 0
    for node in range(nodes):
        network.elevation[node] = real(n, r, at.ELEVATION, stand * nodes + node)
        if node >= network.free:
            r[n[at.HEAD] + node] = network.elevation[node]
    for pump in range(n[at.PUMPS]):
        condition.speed[pump] = real(n, r, at.SPEED, pump)
        if of(n, at.AIRBOUND, pump):
            condition.way[of(n, at.PUMP_LINK, pump)] &= BACKWARD
    for tap in range(n[at.FIXTURES]):
        r[n[at.THROTTLE] + of(n, at.FIXTURE_THROTTLE, tap)] = max(real(n, r, at.TAP, tap), real(n, r, at.BURST, tap))
    for port in range(n[at.PORTS]):
        if of(n, at.CONNECTED, port):
            pressure = max(real(n, r, at.PRESSURE, port), real(n, r, at.PRESSURE_INSTEAD, port))
            r[n[at.HEAD] + of(n, at.PORT_NODE, port)] += pressure
        else:
            condition.way[of(n, at.PORT_LINK, port)] &= BACKWARD
        _lay_hose(pipes, n, r, port)


@kernel
def _lay_hose(pipes: Pipes, n: Integers, r: Reals, port: int) -> None:
    """Make a port's hose as wide as it is: Reynolds number goes with 1/d, the table's loss with 1/d3."""
    section = of(n, at.HOSE, port)
    wanted, now = real(n, r, at.WIDTH, port), real(n, r, at.WIDTH_LAID, port)
    if section >= 0 and wanted != now:
        ratio = now / wanted
        pipes.network.section_scale[section] *= ratio
        pipes.network.section_head[section] *= ratio * ratio * ratio
        r[n[at.WIDTH_LAID] + port] = wanted


@kernel
def rates(pipes: Pipes, n: Integers, r: Reals, when: float, volume: int, head: int, flow: int, rate: int) -> None:
    """All flows, heads and rates of change at a time, for given volumes.

    Parameters
    ----------
    pipes : Pipes
    n, r : columns
        The plant.
    when : float
        Time [s], for the valves on their way.
    volume : int
        Where the volumes begin in ``r``.
    head, flow, rate : int
        Where the heads and flows begin, as the start of the search and for the answer; and the rates.
    """
    set_openings(n, r, when)
    for throttle in range(n[at.THROTTLES]):
        pipes.condition.opening[throttle] = real(n, r, at.THROTTLE, throttle)
    _set_heads(pipes, n, r, volume, head)
    for node in range(n[at.NODES]):
        pipes.head[node] = r[head + node]
    for link in range(n[at.LINKS]):
        pipes.flow[link] = r[flow + link]
    if solve(pipes.network, pipes.condition, pipes.head, pipes.flow, pipes.work) < 0:
        n[n[at.UNSETTLED]] += 1
    for node in range(n[at.NODES]):
        r[head + node] = pipes.head[node]
    for link in range(n[at.LINKS]):
        r[flow + link] = pipes.flow[link]
    _sum_up(n, r, volume, flow, rate)


@kernel
def _set_heads(pipes: Pipes, n: Integers, r: Reals, volume: int, head: int) -> None:
    """Levels of the tanks and pressures of the accumulators; an empty one only takes water."""
    tanks, stand = n[at.TANKS], of(n, at.STAND, 0)
    for tank in range(tanks):
        run = tank * n[at.STANDS] + stand
        r[head + of(n, at.FACE, tank)] = surface_of(n, r, run, r[volume + tank])
    for row in range(n[at.CUSHIONS]):
        content = r[volume + tanks + row]
        node = of(n, at.CUSHION_NODE, row)
        r[head + node] = pipes.network.elevation[node] + cushion_head(n, r, row, content)
        pipes.condition.way[of(n, at.CUSHION_NECK, row)] = FORWARD if content <= 0.0 else BOTH


@kernel
def _sum_up(n: Integers, r: Reals, volume: int, flow: int, rate: int) -> None:
    """Rates of the vessels from the ledger; what a brimful tank cannot hold runs over indoors."""
    tanks, links = n[at.TANKS], n[at.LINKS]
    for tank in range(tanks):
        r[flow + links + tank] = real(n, r, at.POUR, tank)
        r[flow + links + tanks + tank] = 0.0
    for vessel in range(n[at.VESSELS]):
        r[rate + vessel] = 0.0
    for row in range(links + tanks):
        origin, goal = of(n, at.DRAWN_FROM, row), of(n, at.LED_TO, row)
        if origin >= 0:
            r[rate + origin] -= r[flow + row]
        if goal >= 0:
            r[rate + goal] += r[flow + row]
    for tank in range(tanks):
        if r[volume + tank] >= real(n, r, at.CAPACITY, tank) and r[rate + tank] > 0.0:
            r[flow + links + tanks + tank] = r[rate + tank]
            r[rate + tank] = 0.0
