"""The steady flow in the whole network at one moment.

Global gradient method (Todini & Pilati 1988): each step linearises the loss of every link
about its flow, solves for the heads and takes the flows from them. There is no switching of
states: the wrong way of a one-way link is a very large linear resistance, so that every loss
rises with the flow and the solution is unique. A step that leads past the least content is shortened,
which no state of a million then fails (damping by fixed factors left some that went round in circles).
The matrix is factored as L D L^T by lists of indices that were made once (`elimination`).
"""

from __future__ import annotations

from math import sqrt

from ullage.hydraulics.friction import friction
from ullage.hydraulics.network import ITERATION_LIMIT, Condition, Integers, Network, Reals, Work
from ullage.hydraulics.passages import set_passages
from ullage.kernels import kernel

SHUT = 1e12
"""Linear resistance of a one-way link the wrong way [s/m2]: 100 m of head push 1e-10 m3/s through it."""

PUSHED = 1e-16
"""Flow through what is taken for shut that shows a push [m3/s]: 0.1 mm of head."""

SEEP = 1e-14
"""Conductance that ties each unknown head to its node's height [m2/s], so that an isolated node has an answer."""

STILL = 1e-9
"""Below this flow [m3/s] a link's loss is a straight line, so that none is flat at rest."""

START = 1e-4
"""Flow [m3/s] at which that line meets the curve: a link that wakes starts from here, not from far beyond."""

WAKING = 0.1
"""Where the fixed losses at that flow are more than this [m], the line meets the curve at less: a valve that
seeps at 10 cm of head must wake too, else it would be taken for shut and its litres a day for none."""

LEAST_SLOPE = 0.1
"""Slope of a link with no loss of its own [s/m2]: 0.1 mm at 1 L/s."""

RIM_START = 5e-4
"""Head over a rim [m] below which its loss goes on as a straight line."""

STANDING = 1e-3
"""A pump at less than this speed stands."""

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
    count = set_passages(network, condition, head, flow, work)
    starts, ends = network.start, network.end
    for iteration in range(1, ITERATION_LIMIT + 1):
        _linearise(network, condition, head, flow, work, count, START if iteration <= PATIENCE else STILL)
        if iteration > PATIENCE:
            _step_back(network, condition, head, flow, work, count)
        _factor(network.free, network.column_first, network.row, network.target, work.matrix, work.side, head)
        change, total = _advance(
            starts, ends, head, work.pull, work.conductance, work.open_link, count, flow, work.step
        )
        settled = change <= network.accuracy * total + SETTLED
        if settled and not _wakes(flow, work, count):
            _still_the_shut(flow, work, count)
            return iteration
    return -1


@kernel
def _wakes(flow: Reals, work: Work, count: int) -> int:
    """Whether a link that was taken for shut is pushed the way that is open, as when a still tank begins to breathe."""
    for k in range(count):
        link = work.open_link[k]
        if work.conductance[link] * SHUT < 2.0:
            way = work.forward[link] if flow[link] > 0.0 else work.backward[link]
            if way >= 0.0 and abs(flow[link]) > PUSHED:
                return 1
    return 0


@kernel
def _linearise(
    network: Network, condition: Condition, head: Reals, flow: Reals, work: Work, count: int, start: float
) -> None:
    """Put every open link's straight line, loss and slope at its flow, into the linear system.

    That of a link at rest meets its curve at the flow ``start``. Beyond `PATIENCE` this is `STILL` itself, so
    that the loss rises without a step: with one, a flow near it could go up and down for ever.
    """
    forward, backward, weir, curve = work.forward, work.backward, network.weir, network.curve
    first, scales, units = network.section_first, network.section_scale, network.section_head
    index, bend, cells = network.section_table, network.bend, network.cells
    for slot in range(len(work.matrix)):
        work.matrix[slot] = 0.0
    for node in range(network.free):
        work.matrix[node], work.side[node] = SEEP, SEEP * network.elevation[node]
    for k in range(count):
        link = work.open_link[k]
        q = flow[link]
        size = abs(q)
        quadratic = forward[link] if q >= 0.0 else backward[link]
        at = size
        if size < STILL:
            at = start if quadratic * start * start <= WAKING else max(STILL, sqrt(WAKING / quadratic))
        loss, slope = quadratic * at * at, 2.0 * quadratic * at
        if quadratic < 0.0:
            loss, slope = SHUT * at, SHUT
        else:
            for part in range(first[link], first[link + 1]):
                value, rise = friction(scales[part] * at, index[part], bend, cells)
                loss += units[part] * value
                slope += units[part] * scales[part] * rise
            if weir[link] > 0.0:
                loss, slope = _rim(at, weir[link], loss, slope)
        if size < STILL:
            slope = loss / at
            loss = slope * size
        if q < 0.0:
            loss = -loss
        if curve[link]:
            loss, slope = _lifted(network, condition, curve[link] - 1, q, loss, slope)
        if slope < LEAST_SLOPE:
            slope = LEAST_SLOPE
        ease = 1.0 / slope
        pull = q - (loss + work.drop[link]) * ease
        work.conductance[link], work.pull[link] = ease, pull
        _add(network, head, work, link, ease, pull)


@kernel
def _add(network: Network, head: Reals, work: Work, link: int, ease: float, pull: float) -> None:
    """Add one straight line, ``q = pull + ease * (fall of head)``, to the matrix and the right-hand side."""
    start, end = network.start[link], network.end[link]
    work.matrix[network.start_slot[link]] += ease
    work.matrix[network.end_slot[link]] += ease
    work.matrix[network.pair_slot[link]] -= ease
    if start < network.free:
        work.side[start] += ease * head[end] - pull if end >= network.free else -pull
    if end < network.free:
        work.side[end] += ease * head[start] + pull if start >= network.free else pull


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
def _lifted(
    network: Network, condition: Condition, pump: int, q: float, loss: float, slope: float
) -> tuple[float, float]:
    """Loss and slope of a link at flow q with the lift of its pump taken off.

    The curve is straight between its points and goes on straight beyond the last. At another
    speed it follows the affinity laws. A pump that stands passes water forward (its valves are
    check valves) against the fall of its own curve. One that runs holds its shutoff head against
    water that would come back: without it, one whose flow fell below zero on the way to the answer
    would be taken for shut although it lifts.
    """
    flows, heads = network.pump_flow, network.pump_head
    first, last = network.pump_first[pump], network.pump_first[pump + 1] - 1
    speed = condition.speed[pump]
    if q < 0.0:
        return (loss - heads[first] * speed * speed if speed > STANDING else loss), slope
    ratio = speed if speed > STANDING else 1.0
    at = q / ratio
    point = first
    while point < last - 1 and at > flows[point + 1]:
        point += 1
    steep = (heads[point] - heads[point + 1]) / (flows[point + 1] - flows[point])
    lift = heads[point] - steep * (at - flows[point])
    if speed <= STANDING:
        lift -= heads[first]
    return loss - lift * ratio * ratio, slope + steep * ratio


@kernel
def _factor(
    free: int, columns: Integers, row: Integers, target: Integers, matrix: Reals, side: Reals, head: Reals
) -> None:
    """Solve the linear system for the unknown heads by L D L^T along the prepared lists."""
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
def _advance(
    starts: Integers,
    ends: Integers,
    head: Reals,
    pull: Reals,
    conductance: Reals,
    open_link: Integers,
    count: int,
    flow: Reals,
    steps: Reals,
) -> tuple[float, float]:
    """Take the flows from the new heads; return the sums of their changes and of their sizes [m3/s]."""
    change, total = 0.0, 0.0
    for k in range(count):
        link = open_link[k]
        fresh = pull[link] + conductance[link] * (head[starts[link]] - head[ends[link]])
        step = fresh - flow[link]
        flow[link], steps[link] = fresh, step
        change += abs(step)
        total += abs(fresh)
    return change, total


@kernel
def _step_back(network: Network, condition: Condition, head: Reals, flow: Reals, work: Work, count: int) -> None:
    """Go back along the last step to where the content of the network is least.

    The flows are those of least content (the sum of the integrals of all losses, a convex
    function; Collins et al. 1978). A step that leads past the least, because a one-way link
    turned round on the way, could lead back again for ever; halving finds the least, from its
    far side, so that the link does turn round.
    """
    if _rise(network, head, flow, work, count) <= 0.0:
        return
    low, at, high = 0.0, 1.0, 1.0
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        _move(flow, work, count, middle - at)
        _linearise(network, condition, head, flow, work, count, STILL)
        at = middle
        if _rise(network, head, flow, work, count) > 0.0:
            high = middle
        else:
            low = middle
    _move(flow, work, count, high - at)
    _linearise(network, condition, head, flow, work, count, STILL)


@kernel
def _rise(network: Network, head: Reals, flow: Reals, work: Work, count: int) -> float:
    """Slope of the content along the last step, at the flows that `work` is linearised about."""
    starts, ends, pull, conductance, steps = network.start, network.end, work.pull, work.conductance, work.step
    rise = 0.0
    for k in range(count):
        link = work.open_link[k]
        loss = (flow[link] - pull[link]) / conductance[link]
        rise += steps[link] * (loss - head[starts[link]] + head[ends[link]])
    return rise


@kernel
def _move(flow: Reals, work: Work, count: int, share: float) -> None:
    """Add a share of the last step to the flows."""
    for k in range(count):
        link = work.open_link[k]
        flow[link] += share * work.step[link]


@kernel
def _still_the_shut(flow: Reals, work: Work, count: int) -> None:
    """What seeps the wrong way through a one-way link is nothing: set it to zero."""
    for k in range(count):
        link = work.open_link[k]
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
