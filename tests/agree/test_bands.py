"""The decisive test of the proof: what the simulated plant and the law do, the finite plant and every plan allow.

A proof says that no state of its plan does the harm. That is true of the water only if whatever
the water, the valves and the law can do is a step of the plan. So runs are drawn on every shipped
rig, in health and under faults of the catalogue, with an operator who does anything at any time,
and each scan of them is held against what the proof allows of it.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.agree.concrete import RIGS, SCANS, drawn_run, law_of, shipped, timeless
from tests.agree.following import Following
from tests.agree.inclusion import complaints
from tests.share import share
from ullage.prove.harms import Harm, NotFollowed
from ullage.prove.prover import LAYERS, Prover
from ullage.verdict.properties import properties_of


@cache
def prover_of(name: str) -> Prover:
    """A prover of a rig."""
    return Prover(*shipped(name))


@cache
def harms_of(name: str) -> list[Harm]:
    """All that is asked of a rig and followed by a proof."""
    prover, found = prover_of(name), list[Harm]()
    for asked in properties_of(prover.rig, law_of(name)):
        try:
            found += prover.harms(asked.statement)
        except NotFollowed:
            continue
    return found


@pytest.mark.parametrize("name", RIGS)
def test_no_scan_does_what_the_finite_plant_does_not_allow(name: str) -> None:
    """A flow that the proof takes for smaller than it is, or a valve for shut that is not, floods a home."""
    for seed in range(share(150_000, 3_000) // SCANS):
        said = list(complaints(drawn_run(name, seed, wrong=seed % 4 > 0)))
        assert not said, said[:5]


@pytest.mark.parametrize("name", RIGS)
def test_no_run_leaves_the_plans_of_its_proofs(name: str) -> None:
    """A proof that leaves out one way in which things can go says PROVED of what then happens."""
    harms, plans = harms_of(name), len(harms_of(name)) * len(LAYERS)
    assert plans >= 24
    for seed in range(share(100_000, 1_440) // SCANS):
        # All plans in turn; in the share of them that few runs can take, those far apart.
        plan = seed * 47 % plans
        run = drawn_run(name, seed, wrong=seed % 2 > 0)
        question = prover_of(name).question(harms[plan // len(LAYERS)], plan % len(LAYERS), timeless(run.faults))
        said = list(Following(question, run).complaints())
        assert not said, (question.scope.harm, plan % len(LAYERS), said)
