"""What can pass each link, which way, against what loss: from the condition of the plant.

A link through which nothing can pass either way is left out of the solution altogether. A link
that is open one way only stays in, since the solver has to find out which way the water wants.
"""

from __future__ import annotations

from ullage.hydraulics.fittings import passing
from ullage.hydraulics.network import BACKWARD, FORWARD, NEVER_WET, Condition, Network, Reals, Work
from ullage.kernels import kernel

MOUTH = 0.124
"""``1.5 * 8 / (pi^2 g)`` [s2/m]: entrance and exit loss of a mouth of bore D is ``MOUTH / D^4``."""

LEAST_COVERED = 1e-3
"""A mouth under water is never less covered than this part of its bore."""

PLUGGED = 1e-6
"""Less of a passage, or of a throttle's Kv, than this passes nothing."""

BRIMFUL = -1e-9
"""A tank is brimful this little above its brim (minus: below) [m]."""


@kernel
def set_passages(network: Network, condition: Condition, head: Reals, flow: Reals, work: Work) -> int:
    """Set the losses, drops and list of open links in `work`, and stop the flow of all others.

    Parameters
    ----------
    network, condition, head, flow, work
        As of `solve`; of the heads only the given ones are read.

    Returns
    -------
    int
        Count of open links.
    """
    count = 0
    for link in range(len(flow)):
        work.forward[link], work.backward[link], work.drop[link] = -1.0, -1.0, 0.0
        loss = _throttled(network, condition, link)
        ways = _ways(network, condition, head, link) if loss >= 0.0 else 0
        if ways == 0:
            flow[link] = 0.0
            continue
        work.open_link[count] = link
        count += 1
        if ways & FORWARD:
            work.forward[link] = loss
        if ways & BACKWARD:
            leak = condition.leak[link]
            work.backward[link] = loss if network.way[link] & BACKWARD else loss / (leak * leak)
        if network.start_face[link] != NEVER_WET or network.end_face[link] != NEVER_WET:
            _set_ends(network, head, work, link)
    return count


@kernel
def _ways(network: Network, condition: Condition, head: Reals, link: int) -> int:
    """Bits of the ways in which water can pass a link that is not shut."""
    ways = network.way[link]
    if ways == FORWARD and condition.leak[link] > 0.0:
        ways = FORWARD | BACKWARD
    ways &= condition.way[link]
    face = network.start_face[link]
    if face != NEVER_WET:
        deep = head[face] - network.start_sill[link]
        if network.breath[link]:
            ways = ways & BACKWARD if deep >= BRIMFUL else ways
        elif deep <= 0.0:
            ways &= BACKWARD
    face = network.end_face[link]
    if face != NEVER_WET and head[face] <= network.end_sill[link]:
        ways &= FORWARD
    return ways


@kernel
def _set_ends(network: Network, head: Reals, work: Work, link: int) -> None:
    """Enter what the openings of an open link do: water falls from a dry one, a part covered one throttles."""
    face = network.start_face[link]
    if face != NEVER_WET and not network.breath[link]:
        deep = head[face] - network.start_sill[link]
        if deep <= 0.0:
            work.drop[link] += deep
        elif deep < network.start_mouth[link] and work.forward[link] >= 0.0:
            work.forward[link] += _part_covered(deep, network.start_mouth[link])
    face = network.end_face[link]
    if face != NEVER_WET:
        deep = head[face] - network.end_sill[link]
        if deep <= 0.0:
            work.drop[link] -= deep
        elif deep < network.end_mouth[link] and work.backward[link] >= 0.0:
            work.backward[link] += _part_covered(deep, network.end_mouth[link])


@kernel
def _part_covered(deep: float, bore: float) -> float:
    """Further loss of a mouth of which only ``deep`` of its ``bore`` is under water [s2/m5]."""
    covered = max(deep / bore, LEAST_COVERED)
    return MOUTH / bore**4 * (1.0 / (covered * covered) - 1.0)


@kernel
def _throttled(network: Network, condition: Condition, link: int) -> float:
    """Quadratic loss of a link at its valves' openings [s2/m5], or -1 when it is shut."""
    clear = condition.clear[link]
    if clear <= PLUGGED:
        return -1.0
    loss = network.resistance[link]
    for throttle in range(network.throttle_first[link], network.throttle_first[link + 1]):
        part = network.throttle_resistance[throttle]
        opening = condition.opening[throttle]
        if opening <= 0.0:
            return -1.0
        if opening < 1.0:
            share = passing(network.throttle_kind[throttle], opening)
            if share <= PLUGGED:
                return -1.0
            part /= share * share
        loss += part
    return loss if clear >= 1.0 else loss / (clear * clear)
