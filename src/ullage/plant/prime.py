"""Prime: whether a line is full of water over its crest, and how much air a pump's suction holds.

A line with a *crest*, a point above both its ends, fills when the water at one end stands above
the crest or a pump pushes it over. It then runs full, as a siphon does, also when the water falls
below the crest. When it stands and air can reach one of its ends, the water falls back from the
crest and nothing passes until it fills again; so it does where the crest is higher above the
water than the atmosphere carries. (A valve that shuts the line does not hold its prime: where in
the line the crest is, is not known. A closed tap at its end does.)

A pump whose suction stands out of the water draws air: the water in its suction falls apart. When
the water is back, a self-priming pump has to draw the whole suction empty of air first, and runs
dry meanwhile; another one does so only where the water stands above the crest of its line. It also
draws air where its suction would need less than no pressure at all: at a tee whose tanks are empty.
"""

from __future__ import annotations

from math import inf

from ullage.control.record import note
from ullage.hydraulics.network import NEVER_WET
from ullage.kernels import kernel
from ullage.plant import layout as at
from ullage.plant.codes import ATMOSPHERE
from ullage.plant.flow import STILL_FLOW
from ullage.plant.layout import Integers, Reals, of, real
from ullage.plant.pipes import Pipes
from ullage.plant.words import P_DRY, P_HARMED, P_PRIME

NO_CREST = -1e9
"""Height of the crest of a line that has none [m]."""

COVERED = 1e-9
"""An opening is dry when the surface stands less than this above it [m]."""

OVER_CREST = 1e-4
"""A line fills when the water stands no more than this below its crest [m]: less than a surface's own ripple."""

NO_AIR = 1e-9
"""Less air than this in a suction is none [m3]."""


@kernel
def crest_of(n: Integers, r: Reals, link: int) -> float:
    """Height of a line's crest [m] as the rig stands."""
    return real(n, r, at.CREST, of(n, at.STAND, 0) * n[at.LINKS] + link)


@kernel
def breathe(n: Integers, r: Reals, when: float) -> None:
    """Bring the air in all suctions up to a time [s]."""
    for pump in range(n[at.PUMPS]):
        air = real(n, r, at.AIR, pump) - real(n, r, at.AIR_PACE, pump) * (when - real(n, r, at.AIR_SINCE, pump))
        r[n[at.AIR] + pump] = air if air > NO_AIR else 0.0
        r[n[at.AIR_SINCE] + pump] = when
        n[n[at.AIRBOUND] + pump] = 1 if air > NO_AIR else 0


@kernel
def next_harm(n: Integers, r: Reals, pump: int) -> float:
    """When a pump that runs dry has done so for as long as it may [s]."""
    return real(n, r, at.DRY_SINCE, pump) + real(n, r, at.DRY_LIMIT, pump)


@kernel
def next_breath(n: Integers, r: Reals) -> float:
    """When the next pump has drawn the air out of its suction, or has run dry too long [s]; infinite when none."""
    soonest = inf
    for pump in range(n[at.PUMPS]):
        pace = real(n, r, at.AIR_PACE, pump)
        if pace > 0.0:
            soonest = min(soonest, real(n, r, at.AIR_SINCE, pump) + real(n, r, at.AIR, pump) / pace)
        if of(n, at.DRY, pump) and not of(n, at.HARMED, pump):
            soonest = min(soonest, next_harm(n, r, pump))
    return soonest


@kernel
def watch_prime(pipes: Pipes, n: Integers, r: Reals, records: Integers, when: float) -> int:
    """Let lines fill and lose their prime, and pumps begin and cease to run dry; return how many changed."""
    changed = 0
    for link in range(n[at.LINKS]):
        if crest_of(n, r, link) > NO_CREST:
            changed += _watch_crest(pipes, n, r, records, link)
    for pump in range(n[at.PUMPS]):
        changed += _watch_suction(pipes, n, r, records, pump, when)
    return changed


@kernel
def _watch_crest(pipes: Pipes, n: Integers, r: Reals, records: Integers, link: int) -> int:
    network = pipes.network
    over = crest_of(n, r, link) - OVER_CREST
    start_dry, end_dry = _start_dry(pipes, n, r, link), _end_dry(pipes, n, r, link)
    fills = 0
    if not start_dry and real(n, r, at.HEAD, network.start[link]) >= over:
        fills = 1
    if not end_dry and real(n, r, at.HEAD, network.end[link]) >= over:
        fills = 1
    if network.curve[link] > 0:
        pump = int(network.curve[link]) - 1
        if of(n, at.TURNING, pump) and not of(n, at.DRY, pump) and not start_dry:
            fills = 1
    air = (start_dry or end_dry) and abs(real(n, r, at.FLOW, link)) <= STILL_FLOW
    highest = max(real(n, r, at.HEAD, network.start[link]), real(n, r, at.HEAD, network.end[link]))
    primed = of(n, at.PRIMED, link)
    if not primed and fills:
        primed = 1
    elif primed and not fills and (air or over - highest > real(n, r, at.WHOLE, ATMOSPHERE)):
        primed = 0
    if primed == of(n, at.PRIMED, link):
        return 0
    n[n[at.PRIMED] + link] = primed
    note(records, P_PRIME, link, primed, 0)
    return 1


@kernel
def _start_dry(pipes: Pipes, n: Integers, r: Reals, link: int) -> int:
    """Whether air can reach the start of a line: an opening out of the water, a supply without a hose."""
    face = pipes.network.start_face[link]
    if face != NEVER_WET:
        return 1 if real(n, r, at.HEAD, face) - pipes.network.start_sill[link] <= COVERED else 0
    port = of(n, at.MOUTH_PORT, link)
    return 1 if port >= 0 and not of(n, at.CONNECTED, port) else 0


@kernel
def _end_dry(pipes: Pipes, n: Integers, r: Reals, link: int) -> int:
    """Whether air can reach the end of a line: an opening out of the water, an open tap."""
    face = pipes.network.end_face[link]
    if face != NEVER_WET:
        return 1 if real(n, r, at.HEAD, face) - pipes.network.end_sill[link] <= COVERED else 0
    tap = of(n, at.MOUTH_TAP, link)
    return 1 if tap >= 0 and real(n, r, at.THROTTLE, tap) > 0.0 else 0


@kernel
def _watch_suction(pipes: Pipes, n: Integers, r: Reals, records: Integers, pump: int, when: float) -> int:
    """Let a pump draw air in, set how fast it draws it out, and note when it begins or ceases to run dry."""
    link, bound = of(n, at.PUMP_LINK, pump), of(n, at.AIRBOUND, pump)
    pace, dry = 0.0, 0
    if of(n, at.TURNING, pump):
        bare = _is_bare(pipes, n, r, link, of(n, at.DRY, pump))
        if bare:
            r[n[at.AIR] + pump], n[n[at.AIRBOUND] + pump] = real(n, r, at.SUCTION, pump), 1
        dry = of(n, at.AIRBOUND, pump)
        floods = real(n, r, at.HEAD, pipes.network.start[link]) >= crest_of(n, r, link) - OVER_CREST
        if dry and not bare and (of(n, at.SELF_PRIMING, pump) or floods):
            pace = real(n, r, at.PUMP_FREE, pump) * real(n, r, at.SPEED, pump)
    r[n[at.AIR_PACE] + pump] = pace
    if dry != of(n, at.DRY, pump):
        n[n[at.DRY] + pump], r[n[at.DRY_SINCE] + pump] = dry, when
        note(records, P_DRY, pump, dry, int(1000.0 * real(n, r, at.DRIED, pump)))
        return 1
    if dry and not of(n, at.HARMED, pump) and next_harm(n, r, pump) <= when:
        n[n[at.HARMED] + pump] = 1
        note(records, P_HARMED, pump, 1, int(1000.0 * (when - real(n, r, at.DRY_SINCE, pump))))
    return 1 if bound != of(n, at.AIRBOUND, pump) else 0


@kernel
def _is_bare(pipes: Pipes, n: Integers, r: Reals, link: int, was: int) -> int:
    """Whether a pump's suction stands out of the water; one that was does no longer where the water now rises."""
    face, start = pipes.network.start_face[link], pipes.network.start[link]
    if face == NEVER_WET:
        level = real(n, r, at.ELEVATION, of(n, at.STAND, 0) * n[at.NODES] + start)
        return 1 if real(n, r, at.HEAD, start) < level - real(n, r, at.WHOLE, ATMOSPHERE) else 0
    deep = real(n, r, at.HEAD, face) - pipes.network.start_sill[link]
    if was and deep > -COVERED and real(n, r, at.RATE, of(n, at.DRAWN_FROM, link)) > 0.0:
        return 0
    return 1 if deep <= COVERED else 0
