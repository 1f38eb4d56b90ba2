"""The factorisation along prepared lists, against numpy's dense solution of the same equations."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.share import share
from ullage.hydraulics.elimination import least_degree_order, pattern_of
from ullage.hydraulics.friction import colebrook
from ullage.hydraulics.network import condition_of, work_of
from ullage.hydraulics.plumbing import Link
from ullage.hydraulics.solve import _factor, solve
from ullage.hydraulics.tables import tables

PAIRS = st.integers(1, 14).flatmap(
    lambda count: st.tuples(
        st.just(count), st.lists(st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)), max_size=40)
    )
)


def solved(count: int, pairs: list[tuple[int, int]], values: list[float], side: list[float]) -> list[float]:
    """Unknowns of ``A x = side`` where each pair joins two unknowns with a conductance, by the product's factor."""
    pattern = pattern_of(count, pairs)
    matrix = [1.0] * count + [0.0] * len(pattern.row)
    for (a, b), value in zip(pairs, values, strict=True):
        if a != b:
            matrix[a] += value
            matrix[b] += value
            matrix[pattern.slot(a, b)] -= value
    head = [0.0] * count
    _factor(count, pattern.column_first, pattern.row, pattern.target, matrix, list(side), head)
    return head


def dense(count: int, pairs: list[tuple[int, int]], values: list[float], side: list[float]) -> np.ndarray:
    """The same by numpy."""
    matrix = np.eye(count)
    for (a, b), value in zip(pairs, values, strict=True):
        if a != b:
            matrix[a, a] += value
            matrix[b, b] += value
            matrix[a, b] -= value
            matrix[b, a] -= value
    return np.asarray(np.linalg.solve(matrix, side))


@given(PAIRS, st.randoms(use_true_random=False))
def test_factor_solves_what_numpy_solves(net: tuple[int, list[tuple[int, int]]], chance: st.DataObject) -> None:
    """One update of the factorisation left out gives heads that look right and are not."""
    count, pairs = net
    values = [10.0 ** chance.uniform(-3, 3) for _ in pairs]
    side = [chance.uniform(-10, 10) for _ in range(count)]
    order = least_degree_order(count, pairs)
    place = {node: i for i, node in enumerate(order)}
    renamed = [(place[a], place[b]) for a, b in pairs]
    for joined in (pairs, renamed):
        assert solved(count, joined, values, side) == pytest.approx(
            dense(count, joined, values, side), rel=1e-8, abs=1e-8
        )


@given(PAIRS)
def test_order_takes_every_node_once(net: tuple[int, list[tuple[int, int]]]) -> None:
    """A node left out of the order has no head at all."""
    count, pairs = net
    assert sorted(least_degree_order(count, pairs)) == list(range(count))


def test_order_keeps_a_tree_free_of_fill() -> None:
    """Tinney and Walker 1967: a net without loops needs no more entries than it has pipes, in their order."""
    draw = np.random.default_rng(3)
    for _ in range(share(500, 50)):
        count = int(draw.integers(2, 60))
        pairs = [(int(draw.integers(k)), k) for k in range(1, count)]
        place = {node: i for i, node in enumerate(least_degree_order(count, pairs))}
        renamed = [(place[a], place[b]) for a, b in pairs]
        assert len(pattern_of(count, renamed).row) == count - 1


def test_a_ring_fills_in_once_per_node() -> None:
    """A star through its hub fills everything when the hub goes first: the order is what makes a step quick."""
    hub = [(0, k) for k in range(1, 9)]
    assert len(pattern_of(9, hub).row) == 8 * 9 // 2, "hub first: all neighbours are joined to each other"
    order = least_degree_order(9, hub)
    assert order[:7] == [1, 2, 3, 4, 5, 6, 7]
    place = {node: i for i, node in enumerate(order)}
    assert len(pattern_of(9, [(place[a], place[b]) for a, b in hub]).row) == 8


@pytest.mark.parametrize("seed", range(5))
def test_linear_network_against_dense_solution(seed: int) -> None:
    """Laminar pipes obey straight lines (Poiseuille): the whole solver must meet one dense solution of them."""
    draw = np.random.default_rng(seed)
    free, given_heads = 12, [3.0, 1.0]
    pairs = [(k, int(draw.integers(k)) if k else free) for k in range(free)]
    pairs += [(int(a), int(b)) for a, b in draw.integers(0, free, (10, 2)) if a != b] + [(free - 1, free + 1)]
    resistances = 10.0 ** draw.uniform(3, 6, len(pairs))
    # Below Re 2000 the table's loss is 0.032 x: with x = q * scale tiny, h = unit * 0.032 * scale * q.
    links = [
        Link(f"l{i}", a, b, sections=[("", 1e-3, 1e-3, r / (0.032 * 1e-3))])
        for i, ((a, b), r) in enumerate(zip(pairs, resistances, strict=True))
    ]
    network = tables(links, free, [0.0] * free + given_heads, [], colebrook, 1e-12)
    head, flow = [0.0] * free + given_heads, [0.0] * len(links)
    assert solve(network, condition_of(network), head, flow, work_of(network)) > 0
    matrix, side = np.zeros((free, free)), np.zeros(free)
    for (a, b), r in zip(pairs, resistances, strict=True):
        for node, other in ((a, b), (b, a)):
            if node < free:
                matrix[node, node] += 1 / r
                if other < free:
                    matrix[node, other] -= 1 / r
                else:
                    side[node] += given_heads[other - free] / r
    assert head[:free] == pytest.approx(np.linalg.solve(matrix, side), rel=1e-5)
