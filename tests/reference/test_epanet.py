"""The solver beside EPANET (owa-epanet 2.3) on the demo's net, with EPANET's friction and viscosity on both sides."""

from __future__ import annotations

import pytest

from tests.reference.epanet_net import Epanet, fluid_of_epanet
from tests.unit.hydraulics.random_states import MARRAM
from ullage.hydraulics.build import build
from ullage.hydraulics.network import condition_of, work_of
from ullage.hydraulics.plumbing import Plumbing
from ullage.hydraulics.solve import mark_known, solve
from ullage.rig.model import Vent
from ullage.rig.read import read_rig

HEAD_APART, FLOW_APART = 1e-4, 1e-5
"""Issue 2: heads within 1e-4 m, flows within 1e-5 of the largest."""

FILL = ("shore_guard", "shore_in")
STATES = {
    "fill": (FILL, 0.0),
    "fill, taps and rinse": ((*FILL, "galley", "shower", "rinse", "rose"), 1.0),
    "lift": (("lift",), 1.0),
    "return and dump": (("loft_return", "gray_dump"), 0.0),
    "all taps": (("galley", "basin", "shower"), 1.0),
}


def marram_with_wide_vents() -> Plumbing:
    """Marram with vents so wide that they lose nothing, since EPANET knows no air."""
    rig, _, _ = read_rig(MARRAM.read_bytes(), MARRAM.name)
    assert rig is not None
    wide = Vent.model_construct(bore=0.3, length=0.1)
    tanks = {name: tank.model_copy(update={"vent": wide}) for name, tank in rig.tanks.items()}
    return build(rig.model_copy(update={"tanks": tanks}), fluid_of_epanet(), accuracy=1e-10)


@pytest.mark.parametrize("state", STATES)
def test_heads_and_flows_are_those_of_epanet(state: str) -> None:
    """A solver that nobody else agrees with would size every pipe and prove every flow wrongly."""
    plumbing, (opened, speed) = marram_with_wide_vents(), STATES[state]
    network, condition = plumbing.network, condition_of(plumbing.network)
    for name in opened:
        condition.opening[plumbing.throttles[name]] = 1.0
    condition.speed[0] = speed
    head, flow, work = list(plumbing.rest), [0.0] * len(network.start), work_of(network)
    assert solve(network, condition, head, flow, work) > 0
    known = [0] * len(head)
    mark_known(network, flow, work, known)
    theirs = Epanet(plumbing, head, list(work.forward), list(work.backward), list(work.drop), condition.speed)
    answer = theirs.run()
    theirs.close()
    largest = max(abs(q) for q in flow)
    assert largest > 1e-5
    assert max(abs(flow[i] - q) for i, q in answer.flows.items()) < FLOW_APART * largest
    apart = [abs(head[node] - there) for node, there in answer.heads.items() if known[node]]
    assert max(apart, default=0.0) < HEAD_APART
