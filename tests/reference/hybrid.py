"""Textbook hybrid systems as plans for the explorer, and as exact runs in fractions beside them.

A plan moves in ticks: volumes by the rates of one tick, then the deciders by what is so at its
end, then what they drive. A delay of n ticks is n states, so a tick that divides every time of a
model hits each event. Models with open bounds (`<`) are scaled so that a tick fits between two
bounds that differ; then they reach what the dense ones reach, since their times are differences
that whole numbers can take (Henzinger, Manna and Pnueli, ICALP 1992, digitization).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal, getcontext
from fractions import Fraction
from fractions import Fraction as F
from math import ceil, floor

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
        "water",
        cuts,
        at(Fraction(16)),
        (first, first if dense else first + rise - 1),
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


# --- HYB-02: the leaking tank with a slow valve -------------------------------------------------------

MICRO = 1_000_000
"""Steps of the leaking tank's level in one of its units."""

LEAK, GAIN = F("0.02"), F("0.3")
"""x' = -LEAK x + GAIN a, for a valve that is a open."""


def leaking_tank(
    stroke: Fraction,
    opens: tuple[Fraction, Fraction],
    closes: tuple[Fraction, Fraction],
    safe: tuple[Fraction, Fraction],
    period: int = 1,
    tick: Fraction = F(1, 10),
) -> Plan:
    """A tank that leaks, filled through a valve that takes its time.

    While the valve rests a tick may end at any time before its end, so the plan covers a monitor that
    sees a threshold when it is passed, one that looks every ``period`` ticks, and all between.

    Parameters
    ----------
    stroke : Fraction
        From shut to open [s].
    opens, closes : (Fraction, Fraction)
        The valve must open at or below the first, and may at or below the second; must close at or
        above the second, and may at or above the first.
    safe : (Fraction, Fraction)
        Least and greatest level that may be.
    period : int
        Ticks between two looks of the monitor.
    tick : Fraction
        How fine the valve's way is taken [s].
    """
    steps = ticks(stroke, tick)
    # Shut, open, then the steps up and the steps down.
    up, down = range(2, 2 + steps), range(2 + steps, 2 + 2 * steps)
    kinds = [0, 1, *(2 + n for n in range(steps)), *(2 + n for n in range(steps))]
    moves: list[tuple[Sequence[int], Sequence[int]]] = [((0,), (up[0],)), ((down[-1],), (1,))]
    moves += [((down[n],), (up[n + 1] if n + 1 < steps else 1,)) for n in range(steps)]
    moves += [((down[n - 1] if n else 0,), (up[n],)) for n in range(steps)]
    valve = actor("valve", kinds, moves, [1])
    reach = GAIN * tick  # no tick carries the level further

    def rate(kind: tuple[int, ...], low: int, high: int) -> tuple[int, int]:
        least, most = F(low, MICRO) - reach, F(high, MICRO) + reach
        rests = kind[0] < 2
        ends = (F(kind[0]), F(kind[0])) if rests else (F(kind[0] - 2, steps), F(kind[0] - 1, steps))
        gain = (GAIN * ends[0] - LEAK * most) * tick * MICRO, (GAIN * ends[1] - LEAK * least) * tick * MICRO
        return floor(min(gain[0], 0) if rests else gain[0]), ceil(max(gain[1], 0) if rests else gain[1])

    def at(height: Fraction) -> int:
        return ticks(height, F(1, MICRO))

    cuts = {at(end) + more for ends, more in ((opens, 1), (closes, 0)) for end in ends}
    cuts |= {at(safe[0]), at(safe[1]) + 1, *range(0, 15 * MICRO, MICRO // 50)}
    water = level("water", cuts, 15 * MICRO, (at(F(6)), at(F(7))), rate)

    def closing(least: int, most: int) -> int:
        return YES if least >= at(closes[1]) else EITHER if least >= at(closes[0]) else NO

    def opening(least: int, most: int) -> int:
        return YES if most <= at(opens[0]) else EITHER if most <= at(opens[1]) else NO

    def outside(least: int, most: int) -> int:
        return YES if most < at(safe[0]) or least > at(safe[1]) else NO

    rows = [by_volume(0, water, said) for said in (closing, opening, outside)]
    states = [f"{word} {n}" for word in ("open", "shut") for n in range(period)]

    def follow(state: str) -> list[tuple[str, list[tuple[int, int]]]]:
        word, count = state.split()
        if int(count) + 1 < period:
            return [(f"{word} {int(count) + 1}", [])]
        row, other = (0, "shut") if word == "open" else (1, "open")
        return [(f"{other} 0", [(row, YES)]), (f"{word} 0", [(row, NO)])]

    wishes = {state: ASK_ON if state.startswith("open") else ASK_OFF for state in states}
    monitor = decider("monitor", states, follow, states[:period], wishes)
    return plan_of([monitor], [valve], [water], rows, [Output("valve", 0, ASK_OFF)])


def leaking_tank_run(stroke: float, opens: float, closes: float) -> tuple[Decimal, Decimal]:
    """Least and greatest level of the long run, by the closed form, each sample right to thirty figures.

    Within a stroke a = a0 + s t, so x = (x0 - p) exp(-LEAK t) + p + q t with q = GAIN s / LEAK and
    p = (GAIN a0 - q) / LEAK; at rest s = 0.
    """
    getcontext().prec = 40
    leak, gain, slope = Decimal("0.02"), Decimal("0.3"), 1 / Decimal(stroke)

    def after(x: Decimal, a: Decimal, s: Decimal, t: Decimal) -> Decimal:
        q = gain * s / leak
        p = (gain * a - q) / leak
        return (x - p) * (-leak * t).exp() + p + q * t

    x, seen = Decimal(7), list[Decimal]()
    for leg in range(8):
        rising = leg % 2 == 0
        a, mark = (Decimal(1), Decimal(str(closes))) if rising else (Decimal(0), Decimal(str(opens)))
        rest = gain * a / leak
        x = after(x, a, Decimal(0), ((x - rest) / (mark - rest)).ln() / leak)
        s = -slope if rising else slope
        steps = [Decimal(stroke) * n / 400 for n in range(401)]
        leg_seen = [after(x, a, s, t) for t in steps]
        seen += leg_seen if leg >= 2 else []
        x = leg_seen[-1]
    return min(seen), max(seen)


# --- HYB-04: Fischer's mutual exclusion ---------------------------------------------------------------


def fischer(write: tuple[int, int], wait: tuple[int, int]) -> Plan:
    """Two processes that write their number, wait, and look whether it still stands.

    Parameters
    ----------
    write, wait : (int, int)
        The write comes after more than the first and less than the second tick from the look that
        found the lock free, the second look after more than the first and less than the second from the write.
    """
    writes = range(write[0] + 1, write[1])
    waits = range(wait[0] + 1, wait[1])
    sets = [f"set {n}" for n in range(writes[-1] - 1)]
    holds = [f"wait {n}" for n in range(waits[-1])]
    states = ["idle", *sets, "write", *holds, "critical", "leave"]
    # Rows: the lock is free, is one's own (two rows), somebody writes 1 or 2, somebody frees it, and none of these.
    free, own, writing, leaving, none = 0, (1, 2), (3, 4), (5, 6), 10

    def moves(me: int) -> Callable[[str], list[tuple[str, list[tuple[int, int]]]]]:
        def on(n: int, needs: list[tuple[int, int]]) -> list[tuple[str, list[tuple[int, int]]]]:
            """What a process may be in for the tick after the n-th since it found the lock free."""
            ways = [("write", needs)] if n + 1 in writes else []
            return ways + ([(f"set {n}", needs)] if n + 2 <= writes[-1] else [])

        def follow(state: str) -> list[tuple[str, list[tuple[int, int]]]]:
            word, _, count = state.partition(" ")
            match word:
                case "idle":
                    return [("idle", []), *on(0, [(free, YES)])]
                case "set":
                    return on(int(count) + 1, [])
                case "write":
                    return [("wait 0", [])]
                case "wait":
                    looks = [("critical", [(own[me], YES)]), ("idle", [(own[me], NO)])]
                    now = int(count) + 1
                    later = [(f"wait {now}", list[tuple[int, int]]())] if now < waits[-1] else []
                    return (looks if now in waits else []) + later
                case "critical":
                    return [("critical", []), ("leave", [])]
                case _:
                    return [("idle", [])]

        return follow

    processes = [decider(f"process {me + 1}", states, moves(me), ["idle"]) for me in range(2)]

    def locked(state: str) -> list[tuple[str, list[tuple[int, int]]]]:
        ways = [(str(me + 1), [(writing[me], YES)]) for me in range(2)]
        return [*ways, *(("0", [(leaving[me], YES)]) for me in range(2)), (state, [(none, YES)])]

    lock = decider("lock", ("0", "1", "2"), locked, ["0"])
    rows: list[Row] = [by_state(2, lock, lambda state, n=n: state == str(n)) for n in range(3)]
    rows += [
        by_state(me, processes[me], lambda state, word=word: state == word)
        for word in ("write", "leave")
        for me in range(2)
    ]
    rows += [p.Either(3, 4), p.Either(5, 6), p.Either(7, 8), p.Not(9)]
    inside = [by_state(me, processes[me], lambda state: state in ("critical", "leave")) for me in range(2)]
    rows += [*inside, p.Both(11, 12)]
    return plan_of([*processes, lock], [], [], rows)


def fischer_run(
    write: tuple[Fraction, Fraction],
    wait: tuple[Fraction, Fraction],
    times: Sequence[tuple[Fraction, Fraction, Fraction]],
) -> bool:
    """Whether both are inside after a run; ``times`` are each one's first look, its write and its second look."""
    for look, wrote, again in times:
        assert write[0] < wrote - look < write[1], "the write comes within its bounds"
        assert wait[0] < again - wrote < wait[1], "the second look comes within its bounds"
    lock, inside = 0, set[int]()
    events = sorted((time, kind, me) for me, own in enumerate(times, 1) for kind, time in enumerate(own))
    assert len({time for time, _, _ in events}) == len(events), "nothing happens at the same time"
    for _, kind, me in events:
        if kind == 0:
            assert lock == 0, "who writes has found the lock free"
        elif kind == 1:
            lock = me
        elif lock == me:
            inside.add(me)
    return inside == {1, 2}


# --- HYB-05: the railroad gate in time ----------------------------------------------------------------


def timed_gate(train: tuple[int, int], gate: tuple[int, int], reacts: tuple[int, int], must: bool = True) -> Plan:
    """One train, one gate; all times are open bounds in ticks.

    Parameters
    ----------
    train : (int, int)
        It is at the crossing after more than the first, and gone before the second, since it announced itself.
    gate, reacts : (int, int)
        The gate moves, and the controller reacts, for more than the first and less than the second.
    must : bool
        Whether the upper bounds hold, so that controller and gate must act.
    """
    first, gone = train[0] + 1, train[1] - 1

    def travel(state: str) -> list[tuple[str, list[tuple[int, int]]]]:
        word, _, count = state.partition(" ")
        now = int(count or 0) + 1
        if word in ("away", "gone"):
            return [(state, []), *([("near 0", list[tuple[int, int]]())] if word == "away" else [])]
        ways = [(f"near {now}", [])] if word == "near" and now < gone else []
        ways += [(f"in {now}", [])] if now >= first and now < gone else []
        return [*ways, *([("gone", list[tuple[int, int]]())] if word == "in" or now >= gone else [])]

    spans = [f"{word} {n}" for word in ("near", "in") for n in range(gone)]
    runner = decider("train", ["away", *spans, "gone"], travel, ["away"])

    def act(state: str) -> list[tuple[str, list[tuple[int, int]]]]:
        word, _, count = state.partition(" ")
        needs = [(0, YES)] if word == "up" else []
        # What is announced is seen a tick later, and that tick counts.
        now = int(count or 0) + 1
        low, high = gate if word == "moves" else reacts
        then = "down" if word == "moves" else "moves 0"
        stay = "moves" if word == "moves" else "reacts"
        if word == "down":
            return [("down", [])]
        ways = [(then, needs)] if low < now < high else []
        ways += [(f"{stay} {now}", needs)] if now + 1 < high else []
        ways += [] if must or now + 1 < high else [(f"{stay} {high - 2}", needs)]
        return [*ways, *([("up", [(0, NO)])] if word == "up" else [])]

    steps = [f"reacts {n}" for n in range(1, max(reacts[1] - 1, 2))] + [f"moves {n}" for n in range(gate[1] - 1)]
    keeper = decider("gate", ["up", *steps, "down"], act, ["up"])
    rows = [
        by_state(0, runner, lambda state: state.startswith(("near", "in"))),
        by_state(0, runner, lambda state: state.startswith("in")),
        by_state(1, keeper, lambda state: state != "down"),
        p.Both(1, 2),
    ]
    return plan_of([runner, keeper], [], [], rows)
