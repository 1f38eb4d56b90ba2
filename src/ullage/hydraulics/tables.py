"""From links to the flat tables of the solver."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from ullage.hydraulics.elimination import pattern_of
from ullage.hydraulics.friction import Law, table
from ullage.hydraulics.network import Network
from ullage.hydraulics.plumbing import Link

Curve = list[tuple[float, float]]
"""Points of a pump: flow [m3/s], head [m]."""


def tables(
    links: list[Link], free: int, heights: list[float], curves: list[Curve], law: Law, accuracy: float
) -> Network:
    """Write the tables of a network.

    Parameters
    ----------
    links : list of Link
        Their ends are node indices; those below ``free`` have unknown heads.
    free : int
    heights : (N,) [m]
        Of the nodes.
    curves : one per link that has a pump, in order of the links
    law : Law
        Turbulent friction.
    accuracy : float
    """
    merged = [_merged(link) for link in links]
    ratios = sorted({ratio for sections in merged for ratio, _, _ in sections})
    frictions = [table(ratio, law) for ratio in ratios]
    pairs = [(link.start, link.end) for link in links if link.start < free and link.end < free]
    pattern = pattern_of(free, pairs)
    spare = free + len(pattern.row)

    def column(value: Callable[[Link], float]) -> list[float]:
        return [float(value(link)) for link in links]

    def whole(value: Callable[[Link], int]) -> list[int]:
        return [value(link) for link in links]

    return Network(
        free=free,
        elevation=heights,
        start=whole(lambda k: k.start),
        end=whole(lambda k: k.end),
        way=whole(lambda k: k.way),
        resistance=column(lambda k: sum(r for _, r in k.resistances)),
        weir=column(lambda k: k.weir),
        start_face=whole(lambda k: k.start_face),
        end_face=whole(lambda k: k.end_face),
        start_sill=column(lambda k: k.start_sill),
        end_sill=column(lambda k: k.end_sill),
        start_mouth=column(lambda k: k.start_mouth),
        end_mouth=column(lambda k: k.end_mouth),
        breath=whole(lambda k: k.breath),
        section_first=_firsts(len(sections) for sections in merged),
        section_scale=[scale for sections in merged for _, scale, _ in sections],
        section_head=[head for sections in merged for _, _, head in sections],
        section_table=[ratios.index(ratio) for sections in merged for ratio, _, _ in sections],
        bend=[c for bend, _ in frictions for c in bend],
        cells=[c for _, cells in frictions for c in cells],
        throttle_first=_firsts(len(link.throttles) for link in links),
        throttle_kind=[kind for link in links for _, kind, _ in link.throttles],
        throttle_resistance=[r for link in links for _, _, r in link.throttles],
        curve=[sum(1 for k in links[: i + 1] if k.pump) if link.pump else 0 for i, link in enumerate(links)],
        pump_first=_firsts(len(curve) for curve in curves),
        pump_flow=[q for curve in curves for q, _ in curve],
        pump_head=[h for curve in curves for _, h in curve],
        start_slot=whole(lambda k: k.start if k.start < free else spare),
        end_slot=whole(lambda k: k.end if k.end < free else spare),
        pair_slot=whole(
            lambda k: pattern.slot(k.start, k.end) if max(k.start, k.end) < free and k.start != k.end else spare
        ),
        column_first=pattern.column_first,
        row=pattern.row,
        target=pattern.target,
        accuracy=accuracy,
    )


def _merged(link: Link) -> list[tuple[float, float, float]]:
    """Friction sections of a link, those of one bore and roughness added up."""
    sums: dict[tuple[float, float], float] = {}
    for _, ratio, scale, head in link.sections:
        sums[ratio, scale] = sums.get((ratio, scale), 0.0) + head
    return [(ratio, scale, head) for (ratio, scale), head in sums.items()]


def _firsts(counts: Iterable[int]) -> list[int]:
    """Where each part starts, and one past the end of the last."""
    firsts = [0]
    for count in counts:
        firsts.append(firsts[-1] + count)
    return firsts
