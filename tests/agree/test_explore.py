"""The explorer beside a plain list of all that small plans can come to, and beside itself run in other ways."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable
from itertools import pairwise, product

import pytest

from tests.agree.small_plans import Point, followers, listed, pieces_of, small_plan
from tests.agree.uncompiled import uncompiled
from tests.share import share
from tests.unit.prove.drawn_plans import drawn_plan
from tests.unit.prove.test_checker import points
from ullage.prove import nodes, search
from ullage.prove.certificate import tables_of
from ullage.prove.checker import READY, Checker, Refused
from ullage.prove.plan import Actor, ByPiece, Level, Plan
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
    for seed in range(share(10_000, 500)):
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


def test_a_list_and_the_explorer_agree_on_a_wired_pump() -> None:
    """A float that cuts the pump holds the water off whatever the law does; turned round it lets the tank run over."""
    for wire, end in (((0, 0, 1), End.CLOSED), ((0, 0, 0), End.CLOSED), (None, End.HARMED), ((0, 0, 2), End.HARMED)):
        plan = filled(wire)
        assert Search(plan).run() is end
        assert listed(plan)[1] is (end is End.HARMED)


def filled(wire: tuple[int, int, int] | None) -> Plan:
    """A pump that may run at any time and fills a tank from 2 mL by 1 mL in a scan; the harm begins at 7 mL."""
    pump = Actor("pump", (0, 1), (((0, 1),) * 3,) * 2, (0,), (0, 1), wire)
    tank = Level("tank", (0, 3, 5, 7), 9, (0,) * 4, (0,), lambda kinds, strip: (0, kinds[0]), (2, 2))
    return Plan((), (pump,), (tank,), (), (ByPiece(0, (1, 1, 1, 4)),), 0, watched=False)


def test_the_checker_comes_to_all_that_a_list_comes_to() -> None:
    """A checker that tries less than can be accepts a certificate with a hole."""
    for seed in range(share(5_000, 300)):
        plan = small_plan(seed)
        found, harmed = listed(plan)
        checked, also = points(plan)
        assert also or not harmed, f"the checker overlooks the harm of plan {seed}"
        if not also:
            of_checker = {(flags, states, volumes) for (flags, states, _), volumes in checked}
            assert {(int(begun), states, volumes) for begun, states, volumes in found} <= of_checker, f"plan {seed}"


def test_the_checker_refuses_what_is_harmed_within_a_scan() -> None:
    """A tank that runs over and is emptied in the same scan has run over."""
    drain = Actor("drain", (1,), (((0,),) * 3,), (0,), (0,))
    tank = Level("tank", (0, 6), 9, (0, 0), (0,), lambda kinds, strip: (-6, -6), (6, 6))
    plan = Plan((), (drain,), (tank,), (), (ByPiece(0, (1, 4)),), 0, watched=False)
    checker = Checker(json.loads(json.dumps(tables_of(plan))))
    checker.add_rate(0, (1,), 0, -6, -6)
    checker.add_box((READY, (0,), (1,)), ((6, 6),))
    checker.add_box((READY, (0,), (0,)), ((0, 0),))
    with pytest.raises(Refused, match="the harm may be"):
        checker.follow_all()
    assert Search(plan).run() is End.HARMED
    assert listed(plan)[1]


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
    steps = Counter[str]()
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
                keys = {(int(point.begun), point.states, pieces_of(plan, point.volumes)) for point in then}
                steps["follows" if (after.flags, after.states, after.pieces) in keys else "does not"] += 1
    assert steps["follows"] > 100
    # Two deciders that read one row may read it otherwise: what is tried then is more than can be.
    assert steps["does not"] < 0.01 * steps["follows"]


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
