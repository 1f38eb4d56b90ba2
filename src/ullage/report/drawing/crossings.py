"""Where lines of a drawing cross."""

from __future__ import annotations

from itertools import pairwise

from ullage.report.drawing.scene import Run, Spot


def jumps(runs: list[Run]) -> list[list[Spot]]:
    """For each run the places at which its level stretches jump over upright stretches of others."""
    level: list[tuple[int, Spot, Spot]] = []
    upright: list[tuple[int, Spot, Spot]] = []
    for i, run in enumerate(runs):
        for a, b in pairwise(run.points):
            if a.y == b.y:
                level.append((i, a, b))
            elif a.x == b.x:
                upright.append((i, a, b))
    found: list[list[Spot]] = [[] for _ in runs]
    for i, a, b in level:
        for j, c, d in upright:
            if i != j and min(a.x, b.x) < c.x < max(a.x, b.x) and min(c.y, d.y) < a.y < max(c.y, d.y):
                spot = Spot(c.x, a.y)
                if spot not in found[i]:
                    found[i].append(spot)
    return found
