"""What a scan brings at least and at most, however late it and the one before it are."""

from __future__ import annotations

from itertools import chain, combinations

from tests.shipped import marram
from ullage.plant.bands import Bands
from ullage.plant.harmed import ML
from ullage.quantities import Span


def test_what_is_certain_is_so_in_the_shortest_scan_too() -> None:
    """A tank that is said to lose more for certain than it does would be proved not to run over."""
    examined = marram()
    assert examined.rig is not None
    assert examined.program is not None
    bands, certain = Bands(examined.rig, examined.program), 0
    assert bands.scan_least < examined.program.scan_ms / 1000.0 < bands.scan
    for tank, edges in bands.edges.items():
        strip = len(edges) - 2  # above the overflow
        gates = sorted(bands.bounds.gates_of(tank))
        for passing in map(frozenset, chain.from_iterable(combinations(gates, n) for n in range(2))):
            low, high = bands.rate(tank, passing, strip)
            net = bands.bounds.net(tank, passing, Span(edges[strip] / ML, edges[strip + 1] / ML))
            certain += net.most < 0.0
            for seconds in (bands.scan_least, bands.scan):
                assert low <= net.least * seconds * ML
                assert high >= net.most * seconds * ML
    assert certain > 0, "some tank must lose water for certain"
