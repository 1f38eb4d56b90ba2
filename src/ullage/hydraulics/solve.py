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

STILL = 1e-9
"""Below this flow [m3/s] a link's loss is a straight line, so that none is flat at rest."""

START = 1e-4
"""Flow [m3/s] at which that line meets the curve: a link that wakes starts from here, not from far beyond."""

LEAST_SLOPE = 0.1
"""Slope of a link with no loss of its own [s/m2]: 0.1 mm at 1 L/s."""

MOUTH = 0.124
"""``1.5 * 8 / (pi^2 g)`` [s2/m]: entrance and exit loss of a mouth of bore D is ``MOUTH / D^4``."""

RIM_START = 5e-4
"""Head over a rim [m] below which its loss goes on as a straight line."""

PATIENCE = 8
"""From this iteration on every step is checked, and shortened when it went too far."""

HALVINGS = 40
"""A step is shortened to the least content by this many halvings at most."""

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
    _linearise(network, condition, flow, work)
    for iteration in range(1, ITERATION_LIMIT + 1):
        _assemble(network, head, work)
        _factor(network, head, work)
        change, total = _advance(network, head, flow, work)
        if change <= network.accuracy * total + SETTLED:
            _still_the_shut(flow, work)
            return iteration
        _linearise(network, condition, flow, work)
        if iteration >= PATIENCE:
            _step_back(network, condition, head, flow, work)
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
def _linearise(network: Network, condition: Condition, flow: Reals, work: Work) -> None:
    """Loss and slope of every link at its flow, as conductance and pull of its straight line."""
    forward, backward, drop, weir = work.forward, work.backward, work.drop, network.weir
    first, scales, units = network.section_first, network.section_scale, network.section_head
    index, bend, cells, link_pump = network.section_table, network.bend, network.cells, network.link_pump
    conductance, pull = work.conductance, work.pull
    for link in range(len(flow)):
        q = flow[link]
        size = abs(q)
        quadratic = forward[link] if q >= 0.0 else backward[link]
        if quadratic < 0.0:
            conductance[link], pull[link] = 1.0 / SHUT, -drop[link] / SHUT
            continue
        at = START if size < STILL else size
        loss, slope = quadratic * at * at, 2.0 * quadratic * at
        for part in range(first[link], first[link + 1]):
            value, rise = friction(scales[part] * at, index[part], bend, cells)
            loss += units[part] * value
            slope += units[part] * scales[part] * rise
        if weir[link] > 0.0:
            loss, slope = _rim(at, weir[link], loss, slope)
        if size < STILL:
            slope = loss / START
            loss = slope * size
        if q < 0.0:
            loss = -loss
        pump = link_pump[link]
        if pump >= 0:
            fall, steep = _fall(network.pump_first, network.pump_flow, network.pump_head, pump, q, condition.speed[pump])
            loss, slope = loss + fall, slope + steep
        if slope < LEAST_SLOPE:
            slope = LEAST_SLOPE
        conductance[link] = 1.0 / slope
        pull[link] = q - (loss + drop[link]) / slope


@kernel
def _assemble(network: Network, head: Reals, work: Work) -> None:
    """Add up the straight lines of all links to the matrix and the right-hand side."""
    free, starts, ends = network.free, network.start, network.end
    start_slot, end_slot, pair_slot = network.start_slot, network.end_slot, network.pair_slot
    start_side, end_side = network.start_side, network.end_side
    conductance, pulls, matrix, side = work.conductance, work.pull, work.matrix, work.side
    for slot in range(len(matrix)):
        matrix[slot] = 0.0
    for slot in range(len(side)):
        side[slot] = 0.0
    for link in range(len(starts)):
        ease, pull = conductance[link], pulls[link]
        start, end = starts[link], ends[link]
        matrix[start_slot[link]] += ease
        matrix[end_slot[link]] += ease
        matrix[pair_slot[link]] -= ease
        from_start, from_end = -pull, pull
        if start >= free:
            from_end += ease * head[start]
        if end >= free:
            from_start += ease * head[end]
        side[start_side[link]] += from_start
        side[end_side[link]] += from_end


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
def _fall(
    firsts: Integers, flows: Reals, heads: Reals, pump: int, q: float, speed: float
) -> tuple[float, float]:
    """Minus the lift of a pump at flow q [m], and its slope [s/m2].

    The curve is straight between its points and goes on straight beyond the last. At another
    speed it follows the affinity laws. A pump that stands passes water forward (its valves are
    check valves) against the fall of its own curve.
    """
    first, last = firsts[pump], firsts[pump + 1] - 1
    turning = speed > 1e-3
    ratio = speed if turning else 1.0
    at = q / ratio
    point = first
    while point < last - 1 and at > flows[point + 1]:
        point += 1
    run = flows[point + 1] - flows[point]
    steep = (heads[point] - heads[point + 1]) / run
    lift = heads[point] - steep * (at - flows[point])
    if not turning:
        lift -= heads[first]
    return -lift * ratio * ratio, steep * ratio


@kernel
def _factor(network: Network, head: Reals, work: Work) -> None:
    """Solve the linear system for the unknown heads by L D L^T along the prepared lists."""
    free, columns, row, target = network.free, network.column_first, network.row, network.target
    matrix, side = work.matrix, work.side
    step = 0
    for column in range(free):
        inverse = 1.0 / matrix[column]
        mine = side[column]
        for p in range(columns[column], columns[column + 1]):
            factor = matrix[free + p] * inverse
            for q in range(p, columns[column + 1]):
                matrix[target[step]] -= factor * matrix[free + q]
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
def _advance(network: Network, head: Reals, flow: Reals, work: Work) -> tuple[float, float]:
    """Take the flows from the new heads; return the sums of their changes and of their sizes [m3/s]."""
    starts, ends, pull, conductance, steps = network.start, network.end, work.pull, work.conductance, work.step
    change, total = 0.0, 0.0
    for link in range(len(flow)):
        fresh = pull[link] + conductance[link] * (head[starts[link]] - head[ends[link]])
        step = fresh - flow[link]
        flow[link], steps[link] = fresh, step
        change += abs(step)
        total += abs(fresh)
    return change, total


@kernel
def _step_back(network: Network, condition: Condition, head: Reals, flow: Reals, work: Work) -> None:
    """Go back along the last step to where the content of the network is least.

    The flows are those of least content (the sum of the integrals of all losses, a convex
    function; Collins et al. 1978). A step that leads past the least, because a one-way link
    turned round on the way, could lead back again for ever; halving finds the least, from its
    far side, so that the link does turn round.
    """
    if _rise(network, head, flow, work) <= 0.0:
        return
    low, at, high = 0.0, 1.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        _move(flow, work.step, middle - at)
        _linearise(network, condition, flow, work)
        at = middle
        if _rise(network, head, flow, work) > 0.0:
            high = middle
        else:
            low = middle
    _move(flow, work.step, high - at)
    _linearise(network, condition, flow, work)


@kernel
def _rise(network: Network, head: Reals, flow: Reals, work: Work) -> float:
    """Slope of the content along the last step, at the flows that `work` is linearised about."""
    starts, ends, pull, conductance, steps = network.start, network.end, work.pull, work.conductance, work.step
    rise = 0.0
    for link in range(len(flow)):
        loss = (flow[link] - pull[link]) / conductance[link]
        rise += steps[link] * (loss - head[starts[link]] + head[ends[link]])
    return rise


@kernel
def _move(flow: Reals, step: Reals, share: float) -> None:
    """Add a share of the step to the flows."""
    for link in range(len(flow)):
        flow[link] += share * step[link]


@kernel
def _still_the_shut(flow: Reals, work: Work) -> None:
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
