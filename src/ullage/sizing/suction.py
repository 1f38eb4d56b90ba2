"""Where water stands under suction: at points that lie high, and before pumps.

Liquid water cannot be under less than its vapour pressure: there it boils, a siphon parts and
a pump rattles. The solver knows no such bound, so flows that would need it are not to be had.
"""

from __future__ import annotations

from ullage.hydraulics.network import NEVER_WET
from ullage.rig.model import Rig
from ullage.sizing.flows import Flows
from ullage.sizing.losses import losses


def gauge_pressures(rig: Rig, flows: Flows) -> dict[str, float]:
    """Gauge pressure at every point, and at the inlet of every pump, by name [Pa].

    A pump's inlet is taken as high as the beginning of its line, since the file does not say where
    the pump sits: higher up it is less.
    """
    laid = flows.plumbing
    found = {
        name: laid.pressure_at(node, flows.head[node]) for (kind, name), node in laid.nodes.items() if kind == "point"
    }
    pascals = 1.0 / laid.head_of(1.0)
    for index, line in enumerate(rig.lines):
        link, lost = laid.links[index], losses(laid, index, flows.flow[index])
        if link.pump:
            before = (line.start, *line.through[: line.through.index(link.pump)])
            height = laid.network.elevation[link.start] if link.start_face == NEVER_WET else link.start_sill
            left = flows.head[link.start] - sum(lost.get(part, 0.0) for part in before)
            found[link.pump] = (left - height) * pascals
    return found
