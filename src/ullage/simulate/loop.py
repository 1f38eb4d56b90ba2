"""The closed loop: plant, boards, links, senders and the law, from event to event.

The loop goes to the next time at which anything is due and does, in this order: the plant up to
now, faults that begin or end, happenings, boards, readings, the law. A scan of which it is
certain that it would do nothing but advance clocks is left out (`control.step.stirs`,
`control.timers.quiet_for`); with ``EVERY_SCAN`` set none is, and every record is the same.
"""

from __future__ import annotations

from ullage.control import layout as lay
from ullage.control.positions import any_awaits
from ullage.control.record import LOG_HEAD, WIDTH, note
from ullage.control.step import same, step, stirs
from ullage.control.timers import NEVER_MS, quiet_for
from ullage.control.truth import quality_of
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.boards import call, drive_own, drop_all, lapse, look_ahead, miss, next_call_ms, obey, wants_other
from ullage.plant.codes import (
    CALM,
    CHANGED,
    CONTROLLER_ON,
    END,
    EVALUATED,
    EVERY_SCAN,
    LOOK_MS,
    MUST_STEP,
    NOT_HEARD,
    NOW_MS,
    RING,
    SAMPLE_MS,
    SAMPLES,
    SCAN,
    STEP_MS,
)
from ullage.plant.events import advance, change
from ullage.plant.faults import CONTROLLER_RESTARTED
from ullage.plant.flow import flow_at, is_still, volume_at
from ullage.plant.happenings import (
    H_COMMAND,
    H_PARAMETER,
    LAW_HAPPENINGS,
    befalls_plant,
    next_happening_ms,
)
from ullage.plant.harm import inflict, next_edge_ms
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.motors import opening_at
from ullage.plant.pipes import Pipes
from ullage.plant.senders import (
    SEEN_DOZING,
    SLOSH_ENDS,
    awake,
    doze,
    hear,
    may_doze,
    read,
    rouse,
    wake,
)
from ullage.plant.words import P_COMMAND, P_CONTROLLER, P_POWER
from ullage.simulate.brain import Brain, await_release, forget, start_anew


@kernel
def put(n: Integers, entry: int, number: int) -> None:
    """Write an entry of the column *loop*."""
    n[n[at.LOOP] + entry] = number


@kernel
def scan_from(n: Integers, ms: int) -> int:
    """The first time of a scan that is not before a time [ms]."""
    period = of(n, at.SCAN_MS, 0)
    return (ms + period - 1) // period * period


@kernel
def run(
    pipes: Pipes, n: Integers, r: Reals, records: Integers, brain: Brain, samples: Reals, until_ms: int, end_ms: int
) -> None:
    """Run the loop up to a time; at the end of the run also bring the plant there.

    Parameters
    ----------
    pipes, n, r, records
        The plant (`ullage.plant.world.World`).
    brain : Brain
    samples : (K * width,)
        Where the plant is sampled to, row by row; see `sample`.
    until_ms : int
        Up to and with this time [ms].
    end_ms : int
        End of the whole run [ms].
    """
    now = next_due(n)
    while now <= until_ms:
        put(n, NOW_MS, now)
        if plant_due(n, r, now):
            work_plant(pipes, n, r, records, brain, now)
        listen(n, r, now)
        if of(n, at.LOOP, CONTROLLER_ON) and now % of(n, at.SCAN_MS, 0) == 0:
            decides = look(n, r, brain, now)
            if decides:
                call_all(n, r, now - 1)
                records[0] = now
                decide(n, records, brain, now)
                if any_awaits(brain.t, brain.state):
                    # How old a reading is counts now, so none may be left out from the next one on.
                    wake_all(n, r, now + 1)
            if decides or any_waits(n):
                serve(pipes, n, r, records, now)
        if of(n, at.LOOP, SAMPLE_MS) > 0 and now % of(n, at.LOOP, SAMPLE_MS) == 0:
            sample(n, r, samples, now)
        now = max(next_due(n), now + 1)
    if until_ms >= end_ms:
        advance(pipes, n, r, records, end_ms / 1000.0, end_ms / 1000.0)
        change(pipes, n, r, records, end_ms / 1000.0)


@kernel
def next_due(n: Integers) -> int:
    """When anything is due next [ms]."""
    now = of(n, at.LOOP, NOW_MS)
    soonest = min(next_happening_ms(n), next_edge_ms(n, now))
    for signal in range(n[at.SIGNALS]):
        soonest = min(soonest, of(n, at.DUE_MS, signal))
    for board in range(n[at.BOARDS]):
        soonest = min(soonest, of(n, at.LAPSE_MS, board))
        if of(n, at.WAITS, board):
            soonest = min(soonest, min(next_call_ms(n, board, now), scan_from(n, now + 1)))
    if of(n, at.LOOP, CONTROLLER_ON):
        soonest = min(soonest, min(of(n, at.LOOP, LOOK_MS), of(n, at.LOOP, STEP_MS)))
        if of(n, at.LOOP, MUST_STEP) or of(n, at.LOOP, EVERY_SCAN):
            soonest = min(soonest, scan_from(n, now + 1))
    every = of(n, at.LOOP, SAMPLE_MS)
    if every > 0:
        soonest = min(soonest, (now // every + 1) * every)
    return soonest


@kernel
def plant_due(n: Integers, r: Reals, now: int) -> int:
    """Whether anything but a reading or a scan is due."""
    time = n[at.TIME]
    if r[time + CHANGED] > 0.0 or 1000.0 * r[time + END] <= now:
        return 1
    for board in range(n[at.BOARDS]):
        if of(n, at.WAITS, board) or of(n, at.LAPSE_MS, board) <= now:
            return 1
    return 1 if next_happening_ms(n) <= now else edges_due(n, now)


@kernel
def bound_of(n: Integers, now: int) -> float:
    """Up to when what is done to the plant is known [s]."""
    return max(min(next_happening_ms(n), next_edge_ms(n, now)), now) / 1000.0


@kernel
def work_plant(pipes: Pipes, n: Integers, r: Reals, records: Integers, brain: Brain, now: int) -> None:
    """Bring the plant up to now, and do what befalls it and its boards."""
    when = now / 1000.0
    advance(pipes, n, r, records, when, bound_of(n, now))
    records[0] = now
    if edges_due(n, now):
        call_all(n, r, now - 1)
        wake_all(n, r, now)
        change(pipes, n, r, records, when)
        restarts = restarting(n, now)
        inflict(n, r, records, now)
        advance(pipes, n, r, records, when, when)
        _after_edges(pipes, n, r, records, brain, now, restarts)
    while next_happening_ms(n) <= now:
        _happen(pipes, n, r, records, brain, when)
    moved = 0
    for board in range(n[at.BOARDS]):
        if of(n, at.WAITS, board):
            moved += obey(n, r, records, board, now)
        if of(n, at.LAPSE_MS, board) <= now:
            call(n, r, board, last_scan(n, now - 1))
            moved += obey(n, r, records, board, now)
            moved += lapse(n, r, records, board, now)
    if moved > 0:
        change(pipes, n, r, records, when)
    advance(pipes, n, r, records, when, bound_of(n, now))
    records[0] = now


@kernel
def edges_due(n: Integers, now: int) -> int:
    """Whether a fault begins or ends now, or should have before the run began."""
    for row in range(n[at.FAULTS]):
        on = 1 if of(n, at.FAULT_START_MS, row) <= now < of(n, at.FAULT_END_MS, row) else 0
        if on != of(n, at.FAULT_ON, row):
            return 1
    return 0


@kernel
def restarting(n: Integers, now: int) -> int:
    """Whether a fault that restarts the controller begins now."""
    for row in range(n[at.FAULTS]):
        if of(n, at.FAULT_KIND, row) == CONTROLLER_RESTARTED and of(n, at.FAULT_START_MS, row) == now:
            return 1
    return 0


@kernel
def last_scan(n: Integers, now: int) -> int:
    """Number of the last scan that the controller has made up to now."""
    if of(n, at.LOOP, CONTROLLER_ON):
        return now // of(n, at.SCAN_MS, 0)
    return of(n, at.LOOP, SCAN)


@kernel
def call_all(n: Integers, r: Reals, now: int) -> None:
    """Work out all calls up to a time, before something changes what becomes of them."""
    for board in range(n[at.BOARDS]):
        call(n, r, board, last_scan(n, now - 1))


@kernel
def wake_all(n: Integers, r: Reals, now: int) -> None:
    """End all dozes; the controller looks again at its next scan where there were any."""
    for signal in range(n[at.SIGNALS]):
        n[n[at.STEADY] + signal] = 0
        if of(n, at.DOZES, signal):
            wake(n, r, signal, now)
            look_from(n, now)


@kernel
def _after_edges(pipes: Pipes, n: Integers, r: Reals, records: Integers, brain: Brain, now: int, restarts: int) -> None:
    """Let boards and controller go and come back with their supply."""
    records[0] = now
    powered = awake(n, r)
    on = 1 if powered and not of(n, at.CONTROLLER_GONE, 0) else 0
    was = of(n, at.LOOP, CONTROLLER_ON)
    if powered != of(n, at.POWER_SEEN, 0):
        n[n[at.POWER_SEEN]] = powered
        note(records, P_POWER, 0, powered, int(1000.0 * r[n[at.SUPPLY]]))
        drop_all(n, r, records)
    if was and (restarts or not on):
        put(n, SCAN, (now - 1) // of(n, at.SCAN_MS, 0))
        put(n, CONTROLLER_ON, 0)
        note(records, P_CONTROLLER, 0, 0, 0)
        forget(records, brain)
    if on and not of(n, at.LOOP, CONTROLLER_ON):
        for board in range(n[at.BOARDS]):
            miss(n, board, (now - 1) // of(n, at.SCAN_MS, 0))
        start_anew(n, brain)
        note(records, P_CONTROLLER, 0, 1, 0)
        await_release(records, brain)
        put(n, CONTROLLER_ON, 1)
        put(n, MUST_STEP, 1)
    for board in range(n[at.BOARDS]):
        look_ahead(n, r, board)
    drive_own(n, records)
    change(pipes, n, r, records, now / 1000.0)


@kernel
def _happen(pipes: Pipes, n: Integers, r: Reals, records: Integers, brain: Brain, when: float) -> None:
    """Do the next happening, to the plant or to the controller's image."""
    row = of(n, at.NEXT_HAPPENING, 0)
    n[n[at.NEXT_HAPPENING]] += 1
    kind, part, amount = of(n, at.HAPPENING, row), of(n, at.HAPPENING_PART, row), real(n, r, at.HAPPENING_AMOUNT, row)
    if kind < LAW_HAPPENINGS:
        wake_all(n, r, of(n, at.LOOP, NOW_MS))
        change(pipes, n, r, records, when)
        befalls_plant(n, r, records, row)
        return
    t = brain.t
    if kind == H_COMMAND:
        note(records, P_COMMAND, part, int(amount), 0)
    if not of(n, at.LOOP, CONTROLLER_ON):
        return
    if kind == H_COMMAND:
        brain.image[t[lay.SEEN_COMMAND] + part] = int(amount)
    elif kind == H_PARAMETER:
        brain.image[t[lay.SEEN_PARAMETER] + part] = int(amount)
    else:
        brain.image[t[lay.SEEN_RESET] + part] = 1
    put(n, MUST_STEP, 1)


@kernel
def is_calm(n: Integers, r: Reals, now: int) -> int:
    """Whether nothing in the plant moves, not even waves."""
    if not is_still(n, r):
        return 0
    for tank in range(n[at.TANKS]):
        calm_from = max(real(n, r, at.STIRRED, tank), real(n, r, at.MOVED_UNTIL, tank)) + SLOSH_ENDS
        if now < 1000.0 * calm_from:
            return 0
    return 1


@kernel
def listen(n: Integers, r: Reals, now: int) -> None:
    """Take the readings that are due; let sources doze while the plant is calm, wake them when it is not.

    Also wake them where it is calm again after a change: a pump that ran against closed taps has stopped.
    """
    if not of(n, at.LOOP, CALM):
        wake_all(n, r, now)
        put(n, CALM, is_calm(n, r, now) if not of(n, at.LOOP, EVERY_SCAN) else 0)
    calm = of(n, at.LOOP, CALM)
    for signal in range(n[at.SIGNALS]):
        if of(n, at.DUE_MS, signal) > now:
            continue
        if of(n, at.DOZES, signal):
            rouse(n, r, signal, now)
            if not of(n, at.DOZES, signal):
                look_from(n, now + 1)
        if of(n, at.DUE_MS, signal) <= now:
            read(n, r, signal, now)
            newest = signal * RING + (of(n, at.RING_COUNT, signal) - 1) % RING
            look_from(n, max(of(n, at.RING_ARRIVAL_MS, newest), now))
            hear(n, signal, now)
            if calm and not of(n, at.LOOP, MUST_STEP) and may_doze(n, r, signal):
                doze(n, r, signal, now)


@kernel
def look_from(n: Integers, ms: int) -> None:
    """Let the controller look at its readings no later than at the first scan from a time [ms]."""
    if ms <= of(n, at.LOOP, LOOK_MS) - of(n, at.SCAN_MS, 0):
        put(n, LOOK_MS, scan_from(n, ms))


@kernel
def look(n: Integers, r: Reals, brain: Brain, now: int) -> int:
    """Write the image; return 1 when the law must make this scan, since it could do something."""
    t, image, again = brain.t, brain.image, NEVER_MS
    must = 1 if of(n, at.LOOP, STEP_MS) <= now or of(n, at.LOOP, MUST_STEP) or of(n, at.LOOP, EVERY_SCAN) else 0
    for signal in range(n[at.SIGNALS]):
        if of(n, at.DOZES, signal) == SEEN_DOZING:
            continue
        hear(n, signal, now)
        raw, heard = of(n, at.HEARD_RAW, signal), of(n, at.HEARD_MS, signal)
        seen, age = t[lay.SEEN_RAW] + signal, t[lay.SEEN_AGE_MS] + signal
        fresh = raw != image[seen]
        image[seen], image[age] = raw, now - heard if heard >= 0 else -1
        if of(n, at.DOZES, signal):
            n[n[at.DOZES] + signal] = SEEN_DOZING
        else:
            again = min(again, next_reading_ms(n, signal, now))
        if fresh or quality_of(t, image, signal) != brain.state[t[lay.QUALITY] + signal]:
            must = 1 if must else stirs(t, brain.state, image, brain.work, signal)
    put(n, LOOK_MS, scan_from(n, again) if again < NEVER_MS else NEVER_MS)
    put(n, SCAN, now // of(n, at.SCAN_MS, 0))
    return must


@kernel
def next_reading_ms(n: Integers, signal: int, now: int) -> int:
    """When the next reading that is on its way arrives, or the one in hand goes stale [ms]."""
    soonest, count, heard = NEVER_MS, of(n, at.RING_COUNT, signal), of(n, at.HEARD_MS, signal)
    if heard >= 0 and heard + of(n, at.SOURCE_STALE_MS, signal) >= now:
        soonest = heard + of(n, at.SOURCE_STALE_MS, signal) + 1
    for k in range(count - 1, max(count - RING, 0) - 1, -1):
        slot = signal * RING + k % RING
        if of(n, at.RING_MS, slot) <= heard:
            break
        if of(n, at.RING_ARRIVAL_MS, slot) > now:
            soonest = min(soonest, of(n, at.RING_ARRIVAL_MS, slot))
    return soonest


@kernel
def any_waits(n: Integers) -> int:
    """Whether a board waits for a call; where none does and the law has not decided, all outputs stand as asked."""
    for board in range(n[at.BOARDS]):
        if of(n, at.WAITS, board):
            return 1
    return 0


@kernel
def serve(pipes: Pipes, n: Integers, r: Reals, records: Integers, now: int) -> None:
    """Send the demands of this scan to the boards that wait for any, whether or not the law had to decide anew."""
    records[0] = now
    moved = drive_own(n, records)
    for board in range(n[at.BOARDS]):
        if wants_other(n, board) or of(n, at.WAITS, board) or of(n, at.LOOP, EVERY_SCAN):
            call(n, r, board, of(n, at.LOOP, SCAN))
            moved += obey(n, r, records, board, now)
    if moved > 0:
        change(pipes, n, r, records, now / 1000.0)
        advance(pipes, n, r, records, now / 1000.0, bound_of(n, now))
        # What was read up to this scan was read before; from here on it may read otherwise.
        wake_all(n, r, now + 1)


@kernel
def decide(n: Integers, records: Integers, brain: Brain, now: int) -> None:
    """Let the law decide; take over its records and its demands."""
    t, state, out, image = brain.t, brain.state, brain.out, brain.image
    count = step(t, state, image, now, out, brain.work, brain.log)
    still = same(t, state, out)
    for i in range(t[lay.STATE_SIZE]):
        state[i] = out[i]
    for k in range(count):
        row = LOG_HEAD + WIDTH * k
        note(records, brain.log[row + 1], brain.log[row + 2], brain.log[row + 3], brain.log[row + 4])
    for output in range(n[at.OUTPUTS]):
        n[n[at.DEMAND] + output] = out[t[lay.DEMAND] + output]
    for q in range(t[lay.SEQUENCES]):
        image[t[lay.SEEN_COMMAND] + q] = 0
    for lock in range(t[lay.INTERLOCKS]):
        image[t[lay.SEEN_RESET] + lock] = 0
    quiet = quiet_for(t, out)
    put(n, MUST_STEP, 0 if still else 1)
    put(n, STEP_MS, scan_from(n, now + quiet) if quiet < NEVER_MS else NEVER_MS)
    put(n, EVALUATED, of(n, at.LOOP, EVALUATED) + 1)


@kernel
def sample(n: Integers, r: Reals, samples: Reals, now: int) -> None:
    """Write one row of samples: time [s], volumes [m3], flows of the links [m3/s], openings, voltage, readings."""
    width = 1 + n[at.VESSELS] + n[at.LINKS] + n[at.VALVES] + 1 + n[at.SIGNALS]
    row = of(n, at.LOOP, SAMPLES) * width
    if row + width > len(samples):
        return
    when = now / 1000.0
    samples[row] = when
    column = row + 1
    for vessel in range(n[at.VESSELS]):
        samples[column + vessel] = volume_at(n, r, vessel, when)
    column += n[at.VESSELS]
    for link in range(n[at.LINKS]):
        samples[column + link] = flow_at(n, r, link, when)
    column += n[at.LINKS]
    for valve in range(n[at.VALVES]):
        samples[column + valve] = opening_at(n, r, valve, when)
    column += n[at.VALVES]
    samples[column] = r[n[at.SUPPLY]]
    for signal in range(n[at.SIGNALS]):
        heard = of(n, at.HEARD_MS, signal) >= 0
        samples[column + 1 + signal] = float(of(n, at.HEARD_RAW, signal)) if heard else NOT_HEARD
    put(n, SAMPLES, of(n, at.LOOP, SAMPLES) + 1)
