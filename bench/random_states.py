"""A million random states of a net, 40 % of the links closed: how many do not settle, and in how many iterations.

Run: ``python -m bench.random_states``, or ``./run bench random_states``.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from bench.measure import at_most
from tests.unit.hydraulics.random_states import marram, mesh, outcomes

COUNT = 1_000_000


def main() -> int:
    """Measure and print; 1 when a state does not settle."""
    met = True
    for case in (marram(), mesh()):
        outcomes(case, 10, 0)
        began = time.perf_counter()
        iterations, residual = outcomes(case, COUNT, 1)
        took = time.perf_counter() - began
        shares = np.percentile(iterations, [50, 99, 99.99])
        print(
            f"{case.name}: {COUNT:,} states, {case.network.free} unknown heads, {len(case.network.start)} links, "
            f"{took / COUNT * 1e6:.2f} us each with drawing; iterations {shares[0]:.0f} at half, "
            f"{shares[1]:.0f} at 99 %, {shares[2]:.0f} at 99.99 %, "
            f"{iterations.max()} at most; imbalance {residual.max():.1e} m3/s at most"
        )
        met &= at_most(f"{case.name}, states not settled", float((iterations < 0).sum()), 0.0, "states")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
