"""Where water is shut in: sections of lines in which nothing gives when it grows with warmth or frost."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.rig.ways import Link, Ways

CLOSES = ("valves", "checks", "pumps")
"""Kinds of parts that can shut a line."""


def trapped(ways: Ways) -> Iterator[list[Link]]:
    """The links of each section whose water has nowhere to go when all that can shut is shut."""
    for joints, links in ways.sections(lambda link: link.kind in CLOSES):
        if not _gives(ways, joints, links):
            yield links


def _gives(ways: Ways, joints: set[str], links: list[Link]) -> bool:
    rig = ways.rig
    if any(joint in rig.ports or ways.tank_of(joint) for joint in joints):
        return True
    if any(accumulator.at in joints for accumulator in rig.accumulators.values()):
        return True
    if any(link.kind == "heaters" and rig.heaters[link.name].relief is not None for link in links):
        return True
    return any(
        link.end in joints and rig.pumps[link.name].relief is not None for link in ways.links if link.kind == "pumps"
    )
