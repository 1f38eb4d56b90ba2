"""Certificates are checked by a way of their own: plans drawn by chance, counted out point by point."""

from __future__ import annotations

import json
from collections import Counter
from itertools import product

import pytest

from tests.share import share
from tests.unit.prove.drawn_plans import drawn_plan
from ullage.prove.certificate import Claim, NotClosed, certificate_of, tables_of
from ullage.prove.checker import READY, TRUE, Box, Checker, Key, check
from ullage.prove.plan import Plan
from ullage.prove.search import End, Search

CLAIM = Claim("drawn", "", "never the top", "", (), "sequences")


def points(plan: Plan) -> tuple[set[tuple[Key, tuple[int, ...]]], bool]:
    """Every point that a plan can come to, one by one with the checker's scan, and whether the harm may be."""
    checker = Checker(json.loads(json.dumps(tables_of(plan))))
    for at, level in enumerate(plan.levels):
        for kinds in product(*(sorted({0, *plan.actors[gate].kinds}) for gate in level.near)):
            for strip in set(level.strips):
                checker.add_rate(at, kinds, strip, *level.rate(kinds, strip))
    spans = [range(level.start[0], level.start[1] + 1) for level in plan.levels]
    starts = product(product(*(one.starts for one in plan.automata())), product(*spans))
    flags = 0 if plan.watched else READY
    todo = [((flags, states, _pieces(plan, volumes)), volumes) for states, volumes in starts]
    found = set(todo)
    while todo:
        (flags, states, pieces), volumes = todo.pop()
        box: Box = tuple((volume, volume) for volume in volumes)
        after = checker.flow(states, pieces, box)
        during = tuple((min(v, low), max(v, high)) for v, (low, high) in zip(volumes, after, strict=True))
        if any(TRUE in checker.values(states, where)[plan.harm] for where in checker.pieces(during)):
            return found, True
        follow = [((0, begun, pieces), volumes) for begun in checker.anew(states)]
        for point in product(*(range(low, high + 1) for low, high in after)):
            where = _pieces(plan, point)
            follow += [((then, to, where), point) for then, to in checker.scan(flags, states, where)]
        todo += [one for one in dict.fromkeys(follow) if one not in found]
        found.update(follow)
    return found, False


def _pieces(plan: Plan, volumes: tuple[int, ...]) -> tuple[int, ...]:
    levels = zip(plan.levels, volumes, strict=True)
    return tuple(sum(low <= volume for low in level.pieces) - 1 for level, volume in levels)


def test_what_closes_is_accepted_and_holds_every_point_that_can_be() -> None:
    """A box that the explorer forgets is a proof that is none: the tank runs over, and nobody looked."""
    ends: Counter[str] = Counter()
    for seed in range(share(5000, 400)):
        plan = drawn_plan(seed)
        found, harmed = points(plan)
        search = Search(plan)
        end = search.run()
        ends[f"{end.name} {harmed}"] += 1
        assert not (harmed and end is End.CLOSED), f"the explorer overlooks the harm of plan {seed}"
        if end is not End.CLOSED:
            with pytest.raises(NotClosed):
                list(certificate_of(search, CLAIM))
            continue
        lines = list(certificate_of(search, CLAIM))
        checked = check(lines)
        assert checked.boxes == search.progress().nodes
        if all(gate.first == tuple(range(len(gate.kinds))) for gate in plan.actors):
            boxes = {(flags, tuple(s), tuple(p)): box for flags, s, p, box in map(json.loads, lines[3:])}
            for key, volumes in found:
                low_high = zip(volumes, boxes[key], strict=True)
                assert all(low <= volume <= high for volume, (low, high) in low_high), f"plan {seed}: {key} {volumes}"
    print(ends)
    assert min(ends["CLOSED False"], ends["HARMED True"]) > 50, "the drawn plans must end in both ways"
