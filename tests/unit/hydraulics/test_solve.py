"""The solver on random states: it settles, keeps the balance of water, and is the same in both ways of running."""

from __future__ import annotations

import numpy as np
import pytest

from tests.share import share
from tests.unit.hydraulics.random_states import Case, drawn, marram, mesh, outcomes
from ullage.hydraulics.network import ITERATION_LIMIT, as_arrays, condition_of, work_of
from ullage.hydraulics.solve import solve
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
