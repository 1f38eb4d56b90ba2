"""Random nets of many loops as EPANET files, with all that EPANET and the product both know.

They have the size of a village: through what is shut EPANET lets 1e-8 m3/s pass per 3 m of head (its linear
loss of 1e8 s/ft2), which is nothing there, but 1e-4 of the largest flow in a home.
"""

from __future__ import annotations

import numpy as np


def random_net(seed: int) -> str:
    """A net of pipes: a tree that hangs on a reservoir, and as many links again that close loops.

    Of the links that close loops some are check valves, some shut, some pumps (curves of five points, any
    speed); junctions have emitters or withdrawals; further reservoirs stand at other heights. Whatever is shut,
    the tree leaves every junction joined.
    """
    draw = np.random.default_rng(seed)
    count = int(draw.integers(10, 41))
    heights = draw.uniform(0.0, 10.0, count)
    kinds = draw.random(count)
    junctions = [
        f"J{k} {float(heights[k])!r} {draw.uniform(0.5, 5.0) if kinds[k] < 0.25 else 0.0!r}" for k in range(count)
    ]
    emitters = [f"J{k} {draw.uniform(0.3, 3.0)!r}" for k in range(count) if kinds[k] > 0.65]
    reservoirs = [f"R{k} {draw.uniform(12.0, 60.0)!r}" for k in range(int(draw.integers(1, 4)))]
    pipes, pumps, curves = [], [], []
    joins = [("J0", "R0"), *((f"J{k}", f"J{draw.integers(k)}") for k in range(1, count))]
    for k, (start, end) in enumerate(joins):
        pipes.append(f"T{k} {start} {end} {_pipe(draw)} OPEN")
    more = [(f"R{k}", f"J{draw.integers(count)}") for k in range(1, len(reservoirs))]
    while len(more) < count:
        start, end = draw.choice(count, 2, replace=False)
        more.append((f"J{start}", f"J{end}"))
    for k, (start, end) in enumerate(more):
        chance = draw.random()
        if chance < 0.1:
            flow, head = draw.uniform(20.0, 150.0), draw.uniform(5.0, 60.0)
            curves += [f"C{k} {q * flow!r} {h * head!r}" for q, h in SAGGING]
            pumps.append(f"M{k} {start} {end} HEAD C{k} SPEED {draw.uniform(0.6, 1.0)!r}")
        else:
            state = "CV" if chance < 0.3 else "CLOSED" if chance < 0.45 else "OPEN"
            pipes.append(f"M{k} {start} {end} {_pipe(draw)} {state}")
    parts = {
        "JUNCTIONS": junctions,
        "RESERVOIRS": reservoirs,
        "PIPES": pipes,
        "PUMPS": pumps,
        "CURVES": curves,
        "EMITTERS": emitters,
        "OPTIONS": ["UNITS LPS", "HEADLOSS D-W", "UNBALANCED CONTINUE 10"],
        "TIMES": ["DURATION 0"],
    }
    return "\n".join(f"[{head}]\n" + "\n".join(rows) for head, rows in parts.items()) + "\n[END]\n"


SAGGING = ((0.0, 1.0), (0.25, 0.97), (0.5, 0.85), (0.75, 0.6), (1.0, 0.0))
"""A pump's curve as parts of its greatest flow and head."""


def _pipe(draw: np.random.Generator) -> str:
    """Length [m], bore [mm], roughness [mm] and minor loss of a pipe."""
    bore = float(draw.choice([100.0, 125.0, 150.0, 200.0, 250.0, 300.0]))
    rough = float(draw.choice([0.0015, 0.045, 0.26]))
    return f"{draw.uniform(5.0, 150.0)!r} {bore!r} {rough!r} {draw.uniform(0.0, 10.0)!r}"
