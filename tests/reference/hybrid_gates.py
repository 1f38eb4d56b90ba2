"""A lock that two share and two railroad gates (HYB-04, 05, 08): as plans, and as exact runs beside them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from fractions import Fraction as F

from tests.reference.hybrid import (
    ASK_OFF,
    ASK_ON,
    NO,
    YES,
    Needs,
    Ways,
    actor,
    by_state,
    by_volume,
    decider,
    level,
    plan_of,
    ticks,
)
from ullage.prove import plan as p
from ullage.prove.plan import Output, Plan, Row

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

    def moves(me: int) -> Callable[[str], Ways]:
        def on(n: int, needs: Needs) -> Ways:
            """What a process may be in for the tick after the n-th since it found the lock free."""
            ways = [("write", needs)] if n + 1 in writes else []
            return ways + ([(f"set {n}", needs)] if n + 2 <= writes[-1] else [])

        def follow(state: str) -> Ways:
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
                    later = [(f"wait {now}", Needs())] if now < waits[-1] else []
                    return (looks if now in waits else []) + later
                case "critical":
                    return [("critical", []), ("leave", [])]
                case _:
                    return [("idle", [])]

        return follow

    processes = [decider(f"process {me + 1}", states, moves(me), ["idle"]) for me in range(2)]

    def locked(state: str) -> Ways:
        ways = [(str(me + 1), [(writing[me], YES)]) for me in range(2)]
        return [*ways, *(("0", [(leaving[me], YES)]) for me in range(2)), (state, [(none, YES)])]

    lock = decider("lock", ("0", "1", "2"), locked, ["0"])
    rows: list[Row] = [by_state(2, lock, str(n).__eq__) for n in range(3)]
    rows += [by_state(me, processes[me], word.__eq__) for word in ("write", "leave") for me in range(2)]
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

    def travel(state: str) -> Ways:
        word, _, count = state.partition(" ")
        now = int(count or 0) + 1
        if word in ("away", "gone"):
            return [(state, []), *([("near 0", Needs())] if word == "away" else [])]
        ways: Ways = [(f"near {now}", [])] if word == "near" and now < gone else []
        ways += [(f"in {now}", [])] if now >= first and now < gone else []
        return [*ways, *([("gone", Needs())] if word == "in" or now >= gone else [])]

    spans = [f"{word} {n}" for word in ("near", "in") for n in range(gone)]
    runner = decider("train", ["away", *spans, "gone"], travel, ["away"])

    def act(state: str) -> Ways:
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


# --- HYB-08: the railroad gate with distance and angle ------------------------------------------------

FAR, NEAR = 1000, 10
"""Where a train is announced, and within which the gate must be shut [m]."""

FAST, SLOW, SLOWER = 50, 40, 30
"""Speeds of a train [m/s]: up to the first; from the second on until it is announced, then from the third."""

LOWERS = F(10)
"""A gate takes so long from upright to shut [s]: 90 degrees at 9 in a second."""


def railroad_gate(tick: Fraction, delay: Fraction, dense: bool) -> Plan:
    """A train that comes nearer, a controller that is late by a delay, a gate that comes down.

    Parameters
    ----------
    tick : Fraction
        Of the plan; in the sampled form also how often the controller looks [s].
    delay : Fraction
        From the sight of the train to the command [s].
    dense : bool
        Whether the controller sees the train when it is 1,000 m away; else at its next look.
    """
    late, lowers, cm = ticks(delay, tick), ticks(LOWERS, tick), 100
    zero = 100 * cm
    # Once the train may have passed FAR within a tick it may already be slow: 50 m more, so the bound holds in both.
    near = zero + (FAR + 50) * cm
    begins = (zero + FAR * cm, zero + FAR * cm) if dense else (near + 1, near + ticks(50 * tick, F(1, cm)))

    def rate(kinds: tuple[int, ...], low: int, high: int) -> tuple[int, int]:
        return -ticks(FAST * tick, F(1, cm)), -ticks((SLOW if low > near else SLOWER) * tick, F(1, cm))

    cuts = {near + 1, zero + FAR * cm + 1, zero + NEAR * cm + 1, zero - NEAR * cm}
    train = level("train", cuts, near + 100 * cm, begins, rate, near=())
    gate_states = ["up", *(f"lowers {n}" for n in range(lowers, 0, -1)), "shut"]
    moves = [((0,), (1,)), *(((n + 1,), (n + 1,)) for n in range(1, lowers + 1)), ((lowers + 1,),) * 2]
    gate = actor("gate", [0] * len(gate_states), moves, [0])
    waits = [f"waits {n}" for n in range(late, 0, -1)]

    def follow(state: str) -> Ways:
        word, _, count = state.partition(" ")
        if word == "calm":
            return [(waits[0], [(0, YES)]), ("calm", [(0, NO)])]
        return [(f"waits {int(count) - 1}" if word == "waits" and int(count) > 1 else "lower", [])]

    begin = waits[0] if dense else "calm"
    controller = decider("controller", ["calm", *waits, "lower"], follow, [begin], {"lower": ASK_ON})
    rows = [
        by_volume(0, train, lambda low, high: YES if high <= zero + FAR * cm else NO),
        by_volume(0, train, lambda low, high: YES if low >= zero - NEAR * cm and high <= zero + NEAR * cm else NO),
        p.ByState(1, tuple(NO if state == "shut" else YES for state in gate_states)),
        p.Both(1, 2),
    ]
    return plan_of([controller], [gate], [train], rows, [Output("gate", 0, ASK_OFF)])


def railroad_gate_angle(delay: Fraction, seen_at: Fraction) -> Fraction:
    """Degrees that the gate still stands open when a train at 50 m/s comes within 10 m, seen at a distance [m]."""
    time = (seen_at - NEAR) / FAST
    return max(90 - 9 * max(time - delay, Fraction(0)), Fraction(0))
