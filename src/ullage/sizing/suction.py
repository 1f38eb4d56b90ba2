"""Where water stands under suction: at points and crests that lie high, and before pumps.

Liquid water cannot be under less than its vapour pressure: there it boils, a siphon parts and
a pump rattles. The solver knows no such bound, so flows that would need it are not to be had.
"""

from __future__ import annotations

from ullage.hydraulics.network import NEVER_WET
from ullage.rig.model import Rig
from ullage.rig.text import Path
from ullage.sizing.flows import Flows
from ullage.sizing.losses import losses


def gauge_pressures(rig: Rig, flows: Flows) -> dict[Path, float]:
    """Gauge pressure on level ground [Pa] at every point, crest and inlet of a pump, by its path in the file.

    Points and pumps that are shut off from everything have no pressure that could be known, and are left out.

    The file does not say where in its line a crest lies, nor where a pump sits: a crest is reckoned before any
    loss, a pump as high as the beginning of its line. In truth it is less.
    """
    laid = flows.plumbing
    pascals = 1.0 / laid.head_of(1.0)
    found: dict[Path, float] = {}
    for name in rig.points:
        node = laid.nodes["point", name]
        if flows.known[node]:
            found["points", name] = laid.pressure_at(node, flows.head[node])
    for index, line in enumerate(rig.lines):
        link, flow = laid.links[index], flows.flow[index]
        if line.crest is not None and flow != 0.0:
            source = flows.head[link.start if flow > 0.0 else link.end]
            found["lines", index, "crest"] = (source - line.crest.z) * pascals
        if link.pump and flows.known[link.start]:
            lost = losses(laid, index, flow)
            before = (line.start, *line.through[: line.through.index(link.pump)])
            height = laid.network.elevation[link.start] if link.start_face == NEVER_WET else link.start_sill
            left = flows.head[link.start] - sum(lost.get(part, 0.0) for part in before)
            found["pumps", link.pump] = (left - height) * pascals
    return found
