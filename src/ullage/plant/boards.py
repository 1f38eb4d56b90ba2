"""Demands on their way to the boards, and what a board does when none comes.

At each scan the controller calls every board with all its demands; a call may be lost or late,
and a late one never undoes a newer one. Every demand is good for its lease, counted from when
it was called (calls are numbered, so a board knows how old one is); then the board itself
drives the output to where it must lapse to. Calls that say nothing new are worked out together
later, from the same draws, so that quiet time costs nothing.
"""

from __future__ import annotations

from ullage.control.codes import PUMP, VALVE
from ullage.control.record import note
from ullage.control.timers import NEVER_MS
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.codes import EVERY_SCAN, NO_SUPPLY, RING
from ullage.plant.layout import Integers, Reals, of
from ullage.plant.senders import LOOK_OUT, arrival, awake, is_sure
from ullage.plant.words import P_LAPSE


@kernel
def call(n: Integers, r: Reals, board: int, scan: int) -> None:
    """Work out what became of all calls of a board up to a scan's, as many as could still matter."""
    loss, delay = of(n, at.CALL_LOSS_STREAM, board), of(n, at.CALL_DELAY_STREAM, board)
    for k in range(max(of(n, at.CALLED, board) + 1, scan - RING + 1), scan + 1):
        arrives = arrival(n, r, board, loss, delay, k * of(n, at.SCAN_MS, 0))
        n[n[at.CALL_ARRIVAL_MS] + board * RING + k % RING] = arrives
        for output in range(n[at.OUTPUTS]):
            if of(n, at.OUTPUT_BOARD, output) == board:
                n[n[at.CALL_DEMAND] + output * RING + k % RING] = of(n, at.DEMAND, output)
    n[n[at.CALLED] + board] = max(scan, of(n, at.CALLED, board))


@kernel
def obey(n: Integers, r: Reals, records: Integers, board: int, now_ms: int) -> int:
    """Let a board obey the newest call that has arrived; return how many relays that changes."""
    called, obeyed = of(n, at.CALLED, board), of(n, at.OBEYED, board)
    changed = 0
    for k in range(called, max(obeyed, called - RING), -1):
        arrives = of(n, at.CALL_ARRIVAL_MS, board * RING + k % RING)
        if 0 <= arrives <= now_ms and awake(n, r):
            n[n[at.OBEYED] + board] = k
            for output in range(n[at.OUTPUTS]):
                if of(n, at.OUTPUT_BOARD, output) == board:
                    demand = of(n, at.CALL_DEMAND, output * RING + k % RING)
                    changed += _drive(n, records, output, demand, 0, demand)
            break
    look_ahead(n, r, board)
    return changed


@kernel
def _drive(n: Integers, records: Integers, output: int, demand: int, lapsed: int, why: int) -> int:
    """Drive an output; return 1 when that changes a relay. ``why`` is what a lapse is noted with."""
    if lapsed != of(n, at.LAPSED, output):
        n[n[at.LAPSED] + output] = lapsed
        note(records, P_LAPSE, output, lapsed, why)
    if demand == of(n, at.DRIVEN, output):
        return 0
    n[n[at.DRIVEN] + output] = demand
    part = of(n, at.OUTPUT_PART, output)
    if of(n, at.OUTPUT, output) == VALVE:
        n[n[at.VALVE_RELAY] + part] = demand
        return 1
    if of(n, at.OUTPUT, output) == PUMP:
        n[n[at.PUMP_RELAY] + part] = demand
        return 1
    return 0


@kernel
def wants_other(n: Integers, board: int) -> int:
    """Whether a board drives an output otherwise than the controller now asks."""
    for output in range(n[at.OUTPUTS]):
        if of(n, at.OUTPUT_BOARD, output) == board:
            if of(n, at.DRIVEN, output) != of(n, at.DEMAND, output) or of(n, at.LAPSED, output):
                return 1
    return 0


@kernel
def look_ahead(n: Integers, r: Reals, board: int) -> None:
    """Say whether a board still waits for anything, and when its leases would lapse."""
    waits, least = wants_other(n, board), NEVER_MS
    for output in range(n[at.OUTPUTS]):
        lease = of(n, at.OUTPUT_LEASE_MS, output)
        if of(n, at.OUTPUT_BOARD, output) == board and lease > 0 and not of(n, at.LAPSED, output):
            least = min(least, lease)
    n[n[at.WAITS] + board] = waits
    if least == NEVER_MS:
        n[n[at.LAPSE_MS] + board] = NEVER_MS
    elif waits or of(n, at.LOOP, EVERY_SCAN):
        n[n[at.LAPSE_MS] + board] = of(n, at.OBEYED, board) * of(n, at.SCAN_MS, 0) + least
    else:
        n[n[at.LAPSE_MS] + board] = look_out(n, r, board, least)


@kernel
def look_out(n: Integers, r: Reals, board: int, lease: int) -> int:
    """Until when a lease is certain to be renewed [ms], as far as is looked ahead; see `senders.look_out`."""
    period, called = of(n, at.SCAN_MS, 0), of(n, at.CALLED, board)
    heard = of(n, at.OBEYED, board) * period
    if of(n, at.CONTROLLER_GONE, 0):
        return heard + lease
    for k in range(of(n, at.OBEYED, board) + 1, called + 1):
        if 0 <= of(n, at.CALL_ARRIVAL_MS, board * RING + k % RING) < heard + lease:
            heard = k * period
    # A link that has come right again is sure of the calls to come, not of the late one in hand.
    if is_sure(n, r, board) and (called + 1) * period < heard + lease:
        return NEVER_MS
    loss, delay = of(n, at.CALL_LOSS_STREAM, board), of(n, at.CALL_DELAY_STREAM, board)
    while heard < (called + LOOK_OUT) * period:
        last_one, k = max(called, heard // period), (heard + lease - 1) // period
        while k > last_one and not 0 <= arrival(n, r, board, loss, delay, k * period) < heard + lease:
            k -= 1
        if k <= last_one:
            return heard + lease
        heard = k * period
    return heard + lease


@kernel
def lapse(n: Integers, r: Reals, records: Integers, board: int, now_ms: int) -> int:
    """Drive the outputs whose lease has run out to where they must lapse to; return how many relays change."""
    changed = 0
    called_ms = of(n, at.OBEYED, board) * of(n, at.SCAN_MS, 0)
    for output in range(n[at.OUTPUTS]):
        lease = of(n, at.OUTPUT_LEASE_MS, output)
        if of(n, at.OUTPUT_BOARD, output) == board and lease > 0 and not of(n, at.LAPSED, output):
            if now_ms >= called_ms + lease and awake(n, r):
                goal = of(n, at.OUTPUT_ON_LAPSE, output)
                goal = goal if goal >= 0 else of(n, at.DRIVEN, output)
                changed += _drive(n, records, output, goal, 1, goal)
    look_ahead(n, r, board)
    return changed


@kernel
def next_call_ms(n: Integers, board: int, now_ms: int) -> int:
    """When the next call that a waiting board has not yet obeyed arrives [ms]."""
    soonest = NEVER_MS
    called, obeyed = of(n, at.CALLED, board), of(n, at.OBEYED, board)
    for k in range(called, max(obeyed, called - RING), -1):
        arrives = of(n, at.CALL_ARRIVAL_MS, board * RING + k % RING)
        if arrives > now_ms:
            soonest = min(soonest, arrives)
    return soonest


@kernel
def drop_all(n: Integers, r: Reals, records: Integers) -> int:
    """Let go all relays, as when boards lose their supply: each wakes where it lapses to, and waits for a call."""
    changed = 0
    for output in range(n[at.OUTPUTS]):
        goal = of(n, at.OUTPUT_ON_LAPSE, output)
        changed += _drive(n, records, output, goal if goal >= 0 else of(n, at.OUTPUT_SAFE, output), 1, NO_SUPPLY)
    for board in range(n[at.BOARDS]):
        n[n[at.OBEYED] + board] = of(n, at.CALLED, board)
        look_ahead(n, r, board)
    return changed


@kernel
def drive_own(n: Integers, records: Integers) -> int:
    """Drive the outputs that sit at the controller itself; return how many relays that changes."""
    changed = 0
    for output in range(n[at.OUTPUTS]):
        if of(n, at.OUTPUT_BOARD, output) < 0:
            gone = of(n, at.CONTROLLER_GONE, 0)
            demand = of(n, at.OUTPUT_SAFE, output) if gone else of(n, at.DEMAND, output)
            changed += _drive(n, records, output, demand, 0, demand)
    return changed


@kernel
def miss(n: Integers, board: int, scan: int) -> None:
    """Note that no call was made to a board up to a scan's: the controller was gone."""
    for k in range(max(of(n, at.CALLED, board) + 1, scan - RING + 1), scan + 1):
        n[n[at.CALL_ARRIVAL_MS] + board * RING + k % RING] = -1
    n[n[at.CALLED] + board] = max(scan, of(n, at.CALLED, board))
