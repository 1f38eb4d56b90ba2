"""A law that starts anew, and one that is not ready yet: what goes on all the same, and what does not."""

from __future__ import annotations

import json

import pytest

from ullage.prove import plan as p
from ullage.prove.certificate import Claim, certificate_of
from ullage.prove.charts import Move
from ullage.prove.checker import Refused, check
from ullage.prove.plan import Actor, Decider, Level, Plan
from ullage.prove.search import End, Search

CLAIM = Claim("small", "", "never that", "", (), "sequences")

TRUE = 4

BEGUN = Decider("sequence", ("idle", "begun"), ((Move((), 1),), (Move((), 1),)), ((), ()), p.SEQUENCE, (0, 1), (0,))
"""A sequence that is idle at a start only."""


def counter(drives: int) -> Decider:
    """Counts two scans of row 0."""
    moves = tuple((Move(((0, TRUE),), min(n + 1, 2)),) for n in range(3))
    return Decider("counter", ("0", "1", "2"), moves, ((), (), ()), drives, (0, 1, 2), (0,))


def plan_of(other: Decider | Actor, masks: tuple[int, ...], watched: bool) -> Plan:
    """Harm: the sequence is idle and something else has come to a state, where a mask says so."""
    decider = isinstance(other, Decider)
    other_place = 1  # gates follow the deciders
    rows = (p.Known(TRUE), p.ByState(0, (TRUE, 1)), p.ByState(other_place, masks), p.Both(1, 2))
    return Plan(
        deciders=(BEGUN, other) if decider else (BEGUN,),
        actors=() if decider else (other,),
        levels=(Level("tank", (0,), 1, (0,), (), lambda kinds, strip: (0, 0), (0, 0)),),
        outputs=(),
        rows=rows,
        harm=3,
        watched=watched,
        restarts=not watched,
    )


LINK = Decider("link", ("there", "lost"), ((Move((), 1),), (Move((), 1),)), ((), ()), p.LINK, (0, 1), (0,))

POURS = Actor("pour", (0, 1, 0), (((1,), (1,), (0,)), ((2,), (2,), (1,)), ((2,), (2,), (2,))), (0,), (0, 1, 2))


@pytest.mark.parametrize(
    ("other", "masks"),
    [(counter(p.LASTS), (1, 1, TRUE)), (LINK, (1, TRUE)), (POURS, (1, TRUE, 1))],
    ids=["what lasts", "a lost link", "what is poured"],
)
def test_the_world_knows_nothing_of_a_start(other: Decider | Actor, masks: tuple[int, ...]) -> None:
    """A harm that lasts goes on lasting when the controller starts anew: a proof that begins to count again lies."""
    assert Search(plan_of(other, masks, watched=False)).run() is End.HARMED


def test_the_clocks_of_the_law_begin_anew_with_it() -> None:
    """A delay that outlives a start would be proved to have passed when it has not."""
    search = Search(plan_of(counter(p.CLOCK), (1, 1, TRUE), watched=False))
    assert search.run() is End.CLOSED
    check(certificate_of(search, CLAIM))


@pytest.mark.parametrize("drives", [p.CLOCK, p.LASTS])
def test_counters_count_while_the_law_is_not_ready(drives: int) -> None:
    """A delay has passed when it has, whether or not all readings were there when it began."""
    assert Search(plan_of(counter(drives), (1, 1, TRUE), watched=True)).run() is End.HARMED


def test_sequences_wait_while_the_law_is_not_ready() -> None:
    """What is not followed there would be proved of a law that acts before it has seen anything."""
    assert Search(plan_of(counter(p.SEQUENCE), (1, 1, TRUE), watched=True)).run() is End.CLOSED


def test_the_checker_asks_for_what_follows_a_start() -> None:
    """A set without what comes after a start is not closed, whoever made it."""
    search = Search(plan_of(counter(p.CLOCK), (1, 1, TRUE), watched=False))
    search.run()
    head, tables, rates, *boxes = map(json.loads, certificate_of(search, CLAIM))
    kept = [box for box in boxes if box[0] == 1]
    assert len(kept) < len(boxes)
    head["boxes"] = len(kept)
    with pytest.raises(Refused, match="does not hold"):
        check(map(json.dumps, (head, tables, rates, *kept)))
