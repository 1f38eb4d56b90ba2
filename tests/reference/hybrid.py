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
from ullage.prove.charts import Move
from ullage.prove.plan import Actor, Decider, Level, Output, Plan, Row
from ullage.prove.search import End, Search

NO, EITHER, YES = 1, 5, 4
"""What a row may be: false, false or true, true."""

ASK_OFF, ASK_ON = 0, 1


def verdict(plan: Plan) -> End:
    """How the explorer ends."""
    return Search(plan).run()


def ticks(time: Fraction, tick: Fraction) -> int:
    """A time as a whole number of ticks."""
    assert (time / tick).denominator == 1, f"{time} is no whole number of ticks of {tick}"
    return int(time / tick)


def decider(
    name: str,
    states: Sequence[str],
    moves: Callable[[str], Iterable[tuple[str, Sequence[tuple[int, int]]]]],
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


def actor(name: str, kinds: Sequence[int], moves: Sequence[tuple[Sequence[int], Sequence[int]]], starts: Sequence[int]) -> Actor:
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
    return Plan(tuple(deciders), tuple(actors), tuple(levels), tuple(outputs), tuple(rows), len(rows) - 1, watched=False)


# --- HYB-01: the water-level monitor ----------------------------------------------------------------

FINE = 1000
"""Steps of a level in one of its units."""

BELOW = 3
"""Levels are counted from so many units below nought."""


def level_monitor(
    tick: Fraction, delay: Fraction, low: Fraction, high: Fraction, safe: tuple[Fraction, Fraction], dense: bool
) -> Plan:
    """A level that rises by 1 with the pump on and falls by 2 with it off; commands take effect late.

    Parameters
    ----------
    tick : Fraction
        Period of the monitor [s]; where ``dense``, it must divide the time of every event.
    delay, low, high
        Of commands [s]; of the thresholds.
    safe : (Fraction, Fraction)
        Least and greatest level that may be.
    dense : bool
        Whether the run begins in step with the monitor, so that it sees each threshold when it is passed.
    """

    def at(height: Fraction) -> int:
        return ticks(height + BELOW, Fraction(1, FINE))

    rise, fall = ticks(tick, Fraction(1, FINE)), ticks(2 * tick, Fraction(1, FINE))
    late = ticks(delay, tick)
    # On, off, then the ticks left to off, then those left to on.
    going_off, going_on = range(2, 2 + late), range(2 + late, 2 + 2 * late)
    moves = [((going_off[-1],), (0,)), ((1,), (going_on[-1],))]
    moves += [((1 if n == going_off[0] else n - 1,),) * 2 for n in going_off]
    moves += [((0 if n == going_on[0] else n - 1,),) * 2 for n in going_on]
    pump = actor("pump", [1, 0, *(1 for _ in going_off), *(0 for _ in going_on)], moves, [0])
    # In the dense form each place that the level comes to has a piece of its own, so nothing is widened.
    cuts = {at(low) + 1, at(high), at(safe[0]), at(safe[1]) + 1, *(range(0, at(Fraction(16)), rise) if dense else ())}
    first = at(Fraction(1))
    water = level(
        "water", cuts, at(Fraction(16)), (first, first if dense else first + rise - 1),
        lambda kinds, low, high: (rise, rise) if kinds[0] else (-fall, -fall),
    )
    rows = [
        by_volume(0, water, lambda least, most: YES if least >= at(high) else NO),
        by_volume(0, water, lambda least, most: YES if most <= at(low) else NO),
        by_volume(0, water, lambda least, most: YES if most < at(safe[0]) or least > at(safe[1]) else NO),
    ]

    def follow(state: str) -> list[tuple[str, list[tuple[int, int]]]]:
        row, other = (0, "off") if state == "on" else (1, "on")
        return [(other, [(row, YES)]), (state, [(row, NO)])]

    monitor = decider("monitor", ("on", "off"), follow, ["on"], {"on": ASK_ON, "off": ASK_OFF})
    return plan_of([monitor], [pump], [water], rows, [Output("pump", 0, ASK_OFF)])


def level_monitor_run(
    delay: Fraction, low: Fraction, high: Fraction, period: Fraction | None, phase: Fraction = Fraction(0)
) -> tuple[Fraction, Fraction]:
    """Least and greatest level of one run, event by event; ``period`` None: thresholds are seen when they are passed."""
    y, time, slope = Fraction(1), Fraction(0), 1
    seen = [y]
    for _ in range(40):
        mark = high if slope > 0 else low
        passed = time + (mark - y) / slope
        if period is not None:  # the first look at or after it
            looks = -((phase - passed) // period)
            passed = phase + looks * period
        y, time = y + slope * (passed + delay - time), passed + delay
        slope = -2 if slope > 0 else 1
        seen.append(y)
    return min(seen), max(seen)
