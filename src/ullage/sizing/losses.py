"""What each part of a line loses at a flow, and so where along it the pressure falls."""

from __future__ import annotations

from ullage.hydraulics.friction import friction, table
from ullage.hydraulics.plumbing import Plumbing


def losses(plumbing: Plumbing, link: int, flow: float) -> dict[str, float]:
    """Head lost in each part of a link [m], with its valves open; rises with the size of the flow.

    12 L/min through 10 m of smooth hose of 12.5 mm: 2.82 m (row HYD-18).

    Parameters
    ----------
    plumbing : Plumbing
    link : int
        Which link.
    flow : float
        [m3/s]; its direction does not matter.
    """
    parts = plumbing.links[link]
    lost: dict[str, float] = {}
    for part, _, resistance in [*((part, 0, r) for part, r in parts.resistances), *parts.throttles]:
        lost[part] = lost.get(part, 0.0) + resistance * flow * flow
    for part, ratio, scale, unit in parts.sections:
        value, _ = friction(scale * abs(flow), 0, *table(ratio, plumbing.fluid.law))
        lost[part] = lost.get(part, 0.0) + unit * value
    return lost
