"""The solver on random states: it settles, keeps the balance of water, and is the same in both ways of running."""

from __future__ import annotations

import numpy as np
import pytest

from tests.share import share
from tests.unit.hydraulics.random_states import Case, drawn, marram, mesh, outcomes
from ullage.hydraulics.friction import colebrook
from ullage.hydraulics.network import FORWARD, ITERATION_LIMIT, as_arrays, condition_of, work_of
from ullage.hydraulics.plumbing import Link
from ullage.hydraulics.solve import solve
from ullage.hydraulics.tables import tables
from ullage.kernels import compiled


@pytest.mark.parametrize("case", [marram(), mesh()], ids=lambda case: case.name)
def test_every_random_state_settles_and_keeps_its_balance(case: Case) -> None:
    """A state that the solver cannot answer would stop a simulation, or let water appear from nowhere."""
    iterations, residual = outcomes(case, share(1_000_000, 50_000), seed=1)
    assert (iterations > 0).all()
    assert iterations.max() <= ITERATION_LIMIT
    assert residual.max() < 1e-8


@pytest.mark.parametrize("case", [marram(), mesh()], ids=lambda case: case.name)
def test_plain_and_compiled_answers_are_equal(case: Case) -> None:
    """A check in plain Python must not promise flows that the compiled simulation does not keep."""
    count = share(2_000, 100)
    resistances, throttles, heads, clear, leak, opening, speed = drawn(case, count, seed=7)
    for i in range(count):
        network = case.network._replace(
            resistance=(np.array(case.network.resistance) * resistances[i]).tolist(),
            throttle_resistance=(np.array(case.network.throttle_resistance) * throttles[i]).tolist(),
        )
        condition = condition_of(network)._replace(
            opening=opening[i].tolist(), speed=speed[i].tolist(), clear=clear[i].tolist(), leak=leak[i].tolist()
        )
        head = [*network.elevation[: network.free], *heads[i].tolist()]
        flow = [0.0] * len(network.start)
        head_there, flow_there = np.array(head), np.array(flow)
        steps = solve(network, condition, head, flow, work_of(network))
        tables = as_arrays(network), as_arrays(condition)
        assert compiled(solve)(*tables, head_there, flow_there, as_arrays(work_of(network))) == steps
        assert np.allclose(flow_there, flow, rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("case", [marram(), mesh()], ids=lambda case: case.name)
def test_answer_does_not_depend_on_where_the_search_starts(case: Case) -> None:
    """All losses rise with the flow, so there is one answer; an answer that depends on the last one is a wrong one.

    A running pump was once taken for shut because its flow had fallen below zero on the way, and a valve that
    seeped at a litre an hour because the search began at rest. What is left is 6 mL a minute at hundredths of a
    millimetre of head.
    """
    count = share(20_000, 1_000)
    resistances, throttles, heads, clear, leak, opening, speed = drawn(case, count, seed=11)
    network, condition = as_arrays(case.network), as_arrays(condition_of(case.network))
    fixed, loose = np.array(case.network.resistance), np.array(case.network.throttle_resistance)
    work, twin, draw = as_arrays(work_of(case.network)), compiled(solve), np.random.default_rng(5)
    apart = []
    for i in range(count):
        network.resistance[:], network.throttle_resistance[:] = fixed * resistances[i], loose * throttles[i]
        condition.clear[:], condition.leak[:] = clear[i], leak[i]
        condition.opening[:], condition.speed[:] = opening[i], speed[i]
        flows = []
        for start in (np.zeros(len(fixed)), draw.uniform(-1e-3, 1e-3, len(fixed))):
            head = np.array([*case.network.elevation[: network.free], *heads[i]])
            assert twin(network, condition, head, start, work) > 0
            flows.append(start)
        apart.append(np.abs(flows[0] - flows[1]).max() - 1e-5 * np.abs(flows[0]).max())
    assert max(apart) < 1e-7


@pytest.mark.parametrize("fall", [0.1, 1.0, 20.0])
@pytest.mark.parametrize("resistance", [1e6, 1e9, 1e12, 1e14])
def test_a_seeping_valve_seeps(fall: float, resistance: float) -> None:
    """A valve that lets 27 litres a day through empties the tank while the account says that nothing runs."""
    network = tables([Link("valve", 0, 1, resistances=[("seat", resistance)])], 0, [fall, 0.0], [], colebrook, 1e-6)
    flow = [0.0]
    assert solve(network, condition_of(network), [fall, 0.0], flow, work_of(network)) > 0
    assert flow[0] == pytest.approx((fall / resistance) ** 0.5, rel=1e-3)


def test_a_running_pump_lifts_though_its_flow_was_below_zero() -> None:
    """A pump taken for shut while it runs leaves the taps dry on paper, and overfills the tank it feeds in truth."""
    pump = Link("pump", 0, 1, way=FORWARD, resistances=[("valves", 1e6)], pump="pump")
    network = tables([pump], 0, [0.0, 7.5], [[(0.0, 24.0), (1e-3, 0.0)]], colebrook, 1e-9)
    condition = condition_of(network)
    condition.speed[0] = 1.0
    answers = []
    for start in (0.0, 1e-3, -1e-12, -1e-3):
        flow = [start]
        assert solve(network, condition, [0.0, 7.5], flow, work_of(network)) > 0
        answers.append(flow[0])
    expected = (-24e3 + (24e3**2 + 4e6 * 16.5) ** 0.5) / 2e6
    assert answers == pytest.approx([expected] * 4, rel=1e-6), "24 - 24,000 q = 7.5 + 1e6 q^2"
    flow = [-1e-3]
    assert solve(network, condition, [0.0, 25.0], flow, work_of(network)) > 0
    assert flow == [0.0], "against more than its shutoff head it gives nothing, and nothing comes back"
