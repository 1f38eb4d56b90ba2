"""Textbook hybrid systems as plans for the explorer, and as exact runs in fractions beside them.

A plan moves in ticks: volumes by the rates of one tick, then the deciders by what is so at its
end, then what they drive. A delay of n ticks is n states, so a tick that divides every time of a
model hits each event. Models with open bounds (`<`) are scaled so that a tick fits between two
bounds that differ; then they reach what the dense ones reach, since their times are differences
that whole numbers can take (Henzinger, Manna and Pnueli, ICALP 1992, digitization).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

from ullage.prove import plan as p
from ullage.prove.certificate import Claim, certificate_of
from ullage.prove.charts import Move
from ullage.prove.checker import check
from ullage.prove.plan import Actor, Decider, Level, Output, Plan, Row
from ullage.prove.search import End, Search

NO, EITHER, YES = 1, 5, 4
"""What a row may be: false, false or true, true."""

ASK_OFF, ASK_ON = 0, 1


CHECKED_LIMIT = 2000
"""Certificates of more boxes are not checked here: that is plain Python."""

Needs = list[tuple[int, int]]
"""Rows with what each must be."""

Ways = list[tuple[str, Needs]]
"""States to go to, with what each way needs."""


def verdict(plan: Plan) -> End:
    """How the explorer ends; what it proves in few states is accepted by the independent checker too."""
    search = Search(plan)
    end = search.run()
    if end is End.CLOSED and search.progress().nodes <= CHECKED_LIMIT:
        check(certificate_of(search, Claim("textbook", "", "", "", (), "")))
    return end


def ticks(time: Fraction, tick: Fraction) -> int:
    """A time as a whole number of ticks."""
    assert (time / tick).denominator == 1, f"{time} is no whole number of ticks of {tick}"
    return int(time / tick)


def decider(
    name: str,
    states: Sequence[str],
    moves: Callable[[str], Ways],
    starts: Sequence[str],
    wishes: dict[str, int] | None = None,
) -> Decider:
    """An automaton over named states; ``moves`` gives states to go to, each with rows and what they must be."""
    place = {state: n for n, state in enumerate(states)}
    return Decider(
        name=name,
        states=tuple(states),
        moves=tuple(tuple(Move(tuple(needs), place[to]) for to, needs in moves(state)) for state in states),
        wishes=tuple(((0, wishes[state]),) if wishes and state in wishes else () for state in states),
        drives=p.SEQUENCE,
        turned=tuple(range(len(states))),
        starts=tuple(place[start] for start in starts),
    )


def actor(
    name: str, kinds: Sequence[int], moves: Sequence[tuple[Sequence[int], Sequence[int]]], starts: Sequence[int]
) -> Actor:
    """A part that follows what is asked of it: states after it was asked off, and on."""
    ways = tuple((tuple(off), tuple(on), tuple(off)) for off, on in moves)
    return Actor(name, tuple(kinds), ways, tuple(starts), tuple(range(len(kinds))))


def level(
    name: str,
    cuts: Iterable[int],
    most: int,
    start: tuple[int, int],
    rate: Callable[[tuple[int, ...], int, int], tuple[int, int]],
    near: tuple[int, ...] = (0,),
) -> Level:
    """A volume whose every piece is a strip; ``rate`` is asked with its first and last volume."""
    pieces = tuple(sorted({0, *cuts}))
    ends = [(low, above - 1) for low, above in zip(pieces, (*pieces[1:], most + 1), strict=True)]
    return Level(
        name, pieces, most, tuple(range(len(pieces))), near, lambda kinds, strip: rate(kinds, *ends[strip]), start
    )


def by_volume(place: int, one: Level, said: Callable[[int, int], int]) -> Row:
    """A row by first and last volume of a piece."""
    ends = zip(one.pieces, (*(low - 1 for low in one.pieces[1:]), one.most), strict=True)
    return p.ByPiece(place, tuple(said(low, high) for low, high in ends))


def by_state(place: int, one: Decider, true: Callable[[str], bool]) -> Row:
    """A row that is true in some states of a decider."""
    return p.ByState(place, tuple(YES if true(state) else NO for state in one.states))


def plan_of(
    deciders: Sequence[Decider],
    actors: Sequence[Actor],
    levels: Sequence[Level],
    rows: Sequence[Row],
    outputs: Sequence[Output] = (),
) -> Plan:
    """A plan whose last row is the harm, and whose law begins at once."""
    return Plan(
        tuple(deciders), tuple(actors), tuple(levels), tuple(outputs), tuple(rows), len(rows) - 1, watched=False
    )
