"""What faults add to the bounds of the flows, and what is told of a corner that has no answer."""

from __future__ import annotations

from functools import cache

import pytest

from tests.shipped import marram
from ullage.plant import corners
from ullage.plant.bounds import Bounds
from ullage.plant.faults import read_fault
from ullage.plant.harmed import reach_of
from ullage.quantities import Span

HALF, BRIMFUL = Span(0.05, 0.06), Span(0.0535, 0.0539)
"""Contents [m3]: of belly, half full; of loft, above the opening that its riser leads to."""


@cache
def healthy() -> Bounds:
    """Marram's in health."""
    examined = marram()
    assert examined.rig is not None
    assert examined.program is not None
    return Bounds(examined.rig, examined.program.names.outputs)


@cache
def under(fault: str) -> Bounds:
    """Marram's under a fault."""
    rig = marram().rig
    assert rig is not None
    return Bounds(rig, healthy().works.plumbing.throttles, reach_of(rig, read_fault(rig, fault)), (healthy(),))


@pytest.mark.parametrize(
    ("fault", "tank", "passing", "gains"),
    [
        ("shore regulator failed 8 bar", "belly", {"shore_guard", "shore_in"}, True),
        ("shore wrong hose", "belly", {"shore_guard", "shore_in"}, True),
        ("water_pump leaking back 50 %", "loft", {"lift"}, False),
        ("belly vent blocked", "loft", {"shore_guard", "shore_in", "lift"}, True),
    ],
)
def test_what_a_fault_adds_to_the_flows_is_in_the_bounds(fault: str, tank: str, passing: set[str], gains: bool) -> None:
    """A supply whose regulator fails fills twice as fast."""
    content = HALF if gains else BRIMFUL
    usual = healthy().net(tank, frozenset(passing), content)
    found = under(fault).net(tank, frozenset(passing), content)
    assert (found.most - usual.most if gains else usual.least - found.least) > 1e-7


@pytest.mark.parametrize("fault", ["outfall back-pressure", "hose burst", "gray vent blocked", "shore wrong hose"])
def test_a_fault_may_come_at_any_time_or_not_at_all(fault: str) -> None:
    """Until it comes, what flows is what flows in health."""
    for tank in ("belly", "loft", "gray"):
        for passing in (frozenset[str](), healthy().gates_of(tank)):
            usual, found = (bounds.net(tank, passing, HALF) for bounds in (healthy(), under(fault)))
            assert found.least <= usual.least
            assert usual.most <= found.most


def test_a_corner_without_answer_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the solver gave up is not in the bounds, and a proof must not rest on them."""
    examined = marram()
    assert examined.rig is not None
    assert examined.program is not None
    bounds = Bounds(examined.rig, examined.program.names.outputs)
    bounds.net("belly", frozenset(), HALF)
    assert bounds.all_settled()
    monkeypatch.setattr(corners, "compiled", lambda kernel: lambda *columns: 1)
    bounds.net("loft", frozenset(), HALF)
    assert not bounds.all_settled()
    assert not Bounds(examined.rig, [], besides=(bounds,)).all_settled()
