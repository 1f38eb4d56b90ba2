"""The steady flow in the whole network at one moment.

Global gradient method (Todini & Pilati 1988): each step linearises the loss of every link
about its flow, solves for the heads and takes the flows from them. There is no switching of
states: a closed link, or the wrong way of a one-way link, is a very large linear resistance.
The matrix is factored as L D L^T by lists of indices that were made once (`elimination`).
"""

from __future__ import annotations

from math import sqrt

from ullage.hydraulics.fittings import passing
from ullage.hydraulics.friction import friction
from ullage.hydraulics.network import (
    BACKWARD,
    FORWARD,
    ITERATION_LIMIT,
    NEVER_WET,
    Condition,
    Integers,
    Network,
    Reals,
    Work,
)
from ullage.kernels import kernel

SHUT = 1e12
"""Linear resistance of what is closed [s/m2]: 100 m of head push 1e-10 m3/s through it."""

STILL = 1e-7
"""Below this flow [m3/s] the quadratic losses go on as straight lines, so that none is flat."""

LEAST_SLOPE = 0.1
"""Slope of a link with no loss of its own [s/m2]: 0.1 mm at 1 L/s."""

MOUTH = 0.124
"""``1.5 * 8 / (pi^2 g)`` [s2/m]: entrance and exit loss of a mouth of bore D is ``MOUTH / D^4``."""

RIM_START = 5e-4
"""Head over a rim [m] below which its loss goes on as a straight line."""

SETTLED = 1e-9
"""Sum of flow changes [m3/s] that always counts as settled, so that still water is an answer."""


@kernel
def solve(network: Network, condition: Condition, head: Reals, flow: Reals, work: Work) -> int:
    """Find all flows and unknown heads.

    Parameters
    ----------
    network, condition : Network, Condition
        Lists in plain mode, arrays (`as_arrays`) in compiled mode.
    head : (N,) [m]
        Given heads in ``head[network.free:]``; the unknown ones are written to the rest.
    flow : (L,) [m3/s]
        The start of the search (a neighbouring answer, or zeros) and the answer.
    work : Work
        Scratch; afterwards ``work.forward`` and ``work.backward`` tell what can pass where.

    Returns
    -------
    int
        Iterations taken, or -1 when it did not settle within `ITERATION_LIMIT`.
    """
    set_passages(network, condition, head, work)
    for iteration in range(1, ITERATION_LIMIT + 1):
        _linearise(network, condition, head, flow, work)
        _factor(network, head, work)
        relax = 1.0
        if iteration > 40:
            relax = 0.3
        elif iteration > 12:
            relax = 0.6
        change, total = _advance(network, head, flow, work, relax)
        if change <= network.accuracy * total + SETTLED:
            _still_the_shut(network, flow, work)
            return iteration
    return -1


@kernel
def set_passages(network: Network, condition: Condition, head: Reals, work: Work) -> None:
    """Work out what can pass each link which way, and with what quadratic loss, from the condition."""
    for link in range(len(network.start)):
        ways, leak = network.way[link], condition.leak[link]
        leaks = leak > 0.0 and ways == FORWARD
        ways = (ways | BACKWARD if leaks else ways) & condition.way[link]
        loss = _throttled(network, condition, link)
        forward, backward, drop = loss, loss / (leak * leak) if leaks else loss, 0.0
        face = network.start_face[link]
        if face != NEVER_WET:
            deep = head[face] - network.start_sill[link]
            if network.breath[link]:
                ways = ways & BACKWARD if deep >= -1e-9 else ways
            elif deep <= 0.0:
                ways, drop = ways & BACKWARD, drop + deep
            elif deep < network.start_mouth[link]:
                forward += _part_covered(deep, network.start_mouth[link])
        face = network.end_face[link]
        if face != NEVER_WET:
            deep = head[face] - network.end_sill[link]
            if deep <= 0.0:
                ways, drop = ways & FORWARD, drop - deep
            elif deep < network.end_mouth[link]:
                backward += _part_covered(deep, network.end_mouth[link])
        passes = loss >= 0.0
        work.forward[link] = forward if passes and ways & FORWARD else -1.0
        work.backward[link] = backward if passes and ways & BACKWARD else -1.0
        work.drop[link] = drop


@kernel
def _part_covered(deep: float, bore: float) -> float:
    """Further loss of a mouth of which only ``deep`` of its ``bore`` is under water [s2/m5]."""
    covered = max(deep / bore, 1e-3)
    return MOUTH / bore**4 * (1.0 / (covered * covered) - 1.0)


@kernel
def _throttled(network: Network, condition: Condition, link: int) -> float:
    """Quadratic loss of a link at its valves' openings [s2/m5], or -1 when it is shut."""
    clear = condition.clear[link]
    if clear <= 1e-6:
        return -1.0
    loss = network.resistance[link]
    for throttle in range(network.throttle_first[link], network.throttle_first[link + 1]):
        part = network.throttle_resistance[throttle]
        opening = condition.opening[throttle]
        if opening < 1.0:
            share = passing(network.throttle_kind[throttle], opening)
            if share <= 1e-9:
                return -1.0
            part /= share * share
        loss += part
    return loss / (clear * clear)


@kernel
def _linearise(network: Network, condition: Condition, head: Reals, flow: Reals, work: Work) -> None:
    """Linearise every link about its flow and add it to the matrix and the right-hand side."""
    for slot in range(len(work.matrix)):
        work.matrix[slot] = 0.0
    for slot in range(len(work.side)):
        work.side[slot] = 0.0
    for link in range(len(network.start)):
        q = flow[link]
        quadratic = work.forward[link] if q >= 0.0 else work.backward[link]
        if quadratic < 0.0:
            loss, slope = SHUT * q, SHUT
        else:
            loss, slope = _loss(network, condition, link, q, quadratic)
        conductance = 1.0 / slope
        pull = q - conductance * (loss + work.drop[link])
        work.conductance[link], work.pull[link] = conductance, pull
        start, end = network.start[link], network.end[link]
        work.matrix[network.start_slot[link]] += conductance
        work.matrix[network.end_slot[link]] += conductance
        work.matrix[network.pair_slot[link]] -= conductance
        from_start, from_end = -pull, pull
        if start >= network.free:
            from_end += conductance * head[start]
        if end >= network.free:
            from_start += conductance * head[end]
        work.side[network.start_side[link]] += from_start
        work.side[network.end_side[link]] += from_end


@kernel
def _loss(
    network: Network, condition: Condition, link: int, q: float, quadratic: float
) -> tuple[float, float]:
    """Head lost from start to end at flow q [m], and its slope [s/m2]."""
    size = abs(q)
    if size > STILL:
        loss, slope = quadratic * size * size, 2.0 * quadratic * size
    else:
        loss, slope = quadratic * STILL * size, quadratic * STILL
    for part in range(network.section_first[link], network.section_first[link + 1]):
        scale, unit = network.section_scale[part], network.section_head[part]
        value, rise = friction(scale * size, network.section_table[part], network.bend, network.cells)
        loss += unit * value
        slope += unit * scale * rise
    if network.weir[link] > 0.0:
        loss, slope = _rim(size, network.weir[link], loss, slope)
    if q < 0.0:
        loss = -loss
    pump = network.link_pump[link]
    if pump >= 0:
        fall, steep = _fall(network, pump, q, condition.speed[pump])
        loss, slope = loss + fall, slope + steep
    return loss, max(slope, LEAST_SLOPE)


@kernel
def _rim(q: float, weir: float, loss: float, slope: float) -> tuple[float, float]:
    """Head over an overflow: that over its rim or that to push through its bore, whichever is more."""
    start = weir * RIM_START * sqrt(RIM_START)
    if q <= start:
        over, rise = RIM_START * q / start, RIM_START / start
    else:
        over = (q / weir) ** (2.0 / 3.0)
        rise = 2.0 / 3.0 * over / q
    if over > loss:
        return over, rise
    return loss, slope


@kernel
def _fall(network: Network, pump: int, q: float, speed: float) -> tuple[float, float]:
    """Minus the lift of a pump at flow q [m], and its slope [s/m2].

    The curve is straight between its points and goes on straight beyond the last. At another
    speed it follows the affinity laws. A pump that stands passes water forward (its valves are
    check valves) against the fall of its own curve.
    """
    first, last = network.pump_first[pump], network.pump_first[pump + 1] - 1
    turning = speed > 1e-3
    ratio = speed if turning else 1.0
    at = q / ratio
    point = first
    while point < last - 1 and at > network.pump_flow[point + 1]:
        point += 1
    run = network.pump_flow[point + 1] - network.pump_flow[point]
    steep = (network.pump_head[point] - network.pump_head[point + 1]) / run
    lift = network.pump_head[point] - steep * (at - network.pump_flow[point])
    if not turning:
        lift -= network.pump_head[first]
    return -lift * ratio * ratio, steep * ratio


@kernel
def _factor(network: Network, head: Reals, work: Work) -> None:
    """Solve the linear system for the unknown heads by L D L^T along the prepared lists."""
    free, columns, row = network.free, network.column_first, network.row
    matrix, side = work.matrix, work.side
    step = 0
    for column in range(free):
        inverse = 1.0 / matrix[column]
        mine = side[column]
        for p in range(columns[column], columns[column + 1]):
            factor = matrix[free + p] * inverse
            for q in range(p, columns[column + 1]):
                matrix[network.target[step]] -= factor * matrix[free + q]
                step += 1
            matrix[free + p] = factor
            side[row[p]] -= factor * mine
        side[column] = mine * inverse
    for column in range(free - 1, -1, -1):
        value = side[column]
        for p in range(columns[column], columns[column + 1]):
            value -= matrix[free + p] * head[row[p]]
        head[column] = value


@kernel
def _advance(network: Network, head: Reals, flow: Reals, work: Work, relax: float) -> tuple[float, float]:
    """Take the flows from the new heads; return the sums of their changes and of their sizes [m3/s]."""
    change, total = 0.0, 0.0
    for link in range(len(flow)):
        fresh = work.pull[link] + work.conductance[link] * (head[network.start[link]] - head[network.end[link]])
        step = fresh - flow[link]
        change += abs(step)
        flow[link] += relax * step
        total += abs(flow[link])
    return change, total


@kernel
def _still_the_shut(network: Network, flow: Reals, work: Work) -> None:
    """What seeps through the large resistances is none: set it to zero."""
    for link in range(len(flow)):
        way = work.forward[link] if flow[link] >= 0.0 else work.backward[link]
        if way < 0.0:
            flow[link] = 0.0


@kernel
def mark_known(network: Network, flow: Reals, work: Work, known: Integers) -> int:
    """Mark the nodes whose head the answer determines, and count the others.

    A node shut off from every given head, with valves closed or check valves holding, has
    no head that this solver could know; it must not be reported.

    Parameters
    ----------
    network, flow, work
        As left by `solve`.
    known : (N,)
        Set to 1 where the head is determined, else 0.
    """
    for node in range(len(known)):
        known[node] = 1 if node >= network.free else 0
    left, before = network.free, network.free + 1
    while left < before:
        before = left
        for link in range(len(flow)):
            both = work.forward[link] >= 0.0 and work.backward[link] >= 0.0
            start, end = network.start[link], network.end[link]
            if (both or flow[link] != 0.0) and known[start] != known[end]:
                known[start] = known[end] = 1
                left -= 1
    return left
