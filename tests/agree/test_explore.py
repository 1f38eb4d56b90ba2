"""The explorer beside a plain list of all that small plans can come to, and beside itself run in other ways."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import pairwise, product

import pytest

from tests.agree.small_plans import Point, followers, listed, pieces_of, small_plan
from tests.agree.uncompiled import uncompiled
from tests.share import share
from tests.unit.prove.drawn_plans import drawn_plan
from ullage.prove import nodes, search
from ullage.prove.plan import Plan
from ullage.prove.search import End, Reached, Search

CLOSES, EXACT = 0.9, 0.5
"""Part of the plans without harm that the explorer must close, and part of those where it must find no other states."""


def held(plan: Plan, boxes: dict[tuple[int, ...], Reached], point: Point) -> bool:
    """Whether some node holds a point, with each gate as it is or in the state that outdoes it."""
    count, pieces = len(plan.deciders), pieces_of(plan, point.volumes)
    gates = zip(plan.actors, point.states[count:], strict=True)
    for states in product(*({state, gate.first[state]} for gate, state in gates)):
        node = boxes.get((int(point.begun), *point.states[:count], *states, *pieces))
        if node is not None and all(low <= v <= high for v, (low, high) in zip(point.volumes, node.box, strict=True)):
            return True
    return False


def boxes_of(found: Search) -> dict[tuple[int, ...], Reached]:
    """All nodes by flags, states and pieces."""
    reached = map(found.node, range(found.progress().nodes))
    return {(node.flags, *node.states, *node.pieces): node for node in reached}


@pytest.mark.parametrize("make", [small_plan, drawn_plan])
def test_the_explorer_holds_all_that_a_list_comes_to(make: Callable[[int], Plan]) -> None:
    """A state that the explorer overlooks is a tank that runs over under a proof."""
    ends, points = Counter[str](), 0
    for seed in range(share(20_000, 500)):
        plan = make(seed)
        found, harmed = listed(plan)
        explorer = Search(plan)
        end = explorer.run()
        assert not (harmed and end is End.CLOSED), f"the explorer overlooks the harm of plan {seed}"
        ends["harmed" if harmed else "clear"] += 1
        if end is not End.CLOSED:
            continue
        ends["closed"] += 1
        boxes = boxes_of(explorer)
        for point in found:
            assert held(plan, boxes, point), f"plan {seed}: no node holds {point}"
        points += len(found)
        keys = {(int(point.begun), *point.states, *pieces_of(plan, point.volumes)) for point in found}
        ends["exact"] += keys >= set(boxes)
    print(make.__name__, ends, points)
    assert min(ends["harmed"], ends["clear"]) > 0.2 * sum(ends[one] for one in ("harmed", "clear"))
    assert ends["closed"] >= CLOSES * ends["clear"]
    assert ends["exact"] >= EXACT * ends["closed"]


def shown(plan: Plan) -> tuple[End, list[Reached], list[Reached]]:
    """How a search ends, all its nodes in the order in which they were found, and the way to the harm."""
    found = Search(plan)
    end = found.run()
    return end, list(map(found.node, range(found.progress().nodes))), found.way() if end is End.HARMED else []


@pytest.mark.parametrize("make", [small_plan, drawn_plan])
def test_machine_code_and_plain_python_find_the_same_nodes(
    make: Callable[[int], Plan], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the two differ one of them proves something else than what was written."""
    plans = [make(seed) for seed in range(share(2_000, 150))]
    compiled = list(map(shown, plans))
    monkeypatch.setattr(search, "compiled", uncompiled)
    assert list(map(shown, plans)) == compiled


@pytest.mark.parametrize("make", [small_plan, drawn_plan])
def test_room_that_grows_loses_nothing(make: Callable[[int], Plan], monkeypatch: pytest.MonkeyPatch) -> None:
    """A node that is lost when the room is doubled is never followed."""
    monkeypatch.setattr(search, "ROOM", 2)
    monkeypatch.setattr(search, "SHARE", 3)
    for seed in range(share(5_000, 200)):
        plan = make(seed)
        found, harmed = listed(plan)
        explorer = Search(plan)
        closed = explorer.run() is End.CLOSED
        assert not (harmed and closed), f"the explorer overlooks the harm of plan {seed}"
        boxes = boxes_of(explorer)
        assert not closed or all(held(plan, boxes, point) for point in found), f"plan {seed}"


def test_each_node_on_the_way_to_a_harm_follows_from_the_one_before() -> None:
    """A way whose steps do not follow from each other sends a person to look for what cannot happen."""
    steps = 0
    for seed in range(share(5_000, 600)):
        plan = small_plan(seed)
        end, _, way = shown(plan)
        if end is End.HARMED:
            assert way[0].states in set(product(*(one.starts for one in plan.automata())))
            assert way[0].flags == int(not plan.watched)
            for before, after in pairwise(way):
                volumes = product(*(range(low, high + 1) for low, high in before.box))
                points = (Point(bool(before.flags), before.states, some) for some in volumes)
                then = {one for point in points for one in followers(plan, point)}
                assert (after.flags, after.states, after.pieces) in {
                    (int(point.begun), point.states, pieces_of(plan, point.volumes)) for point in then
                }, f"plan {seed}: {before} {after}"
                steps += 1
    assert steps > 100


def test_a_slowly_growing_box_is_widened_at_last(monkeypatch: pytest.MonkeyPatch) -> None:
    """A box that grows by a millilitre at a time keeps a person waiting for ever; widened it must still hold all."""
    monkeypatch.setattr(nodes, "WIDEN_AFTER", 0)
    monkeypatch.setattr(search, "compiled", uncompiled)
    for seed in range(share(2_000, 150)):
        plan = small_plan(seed)
        found, _ = listed(plan)
        explorer = Search(plan)
        if explorer.run() is End.CLOSED:
            boxes = boxes_of(explorer)
            assert all(held(plan, boxes, point) for point in found)
