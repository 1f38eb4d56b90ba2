"""Extreme policies: ways to treat a rig as badly as its declared bounds allow, written out as scenarios.

A policy says how the rig stands, what its tanks hold at the start, what its senders err by, which hose is on,
which taps run, what a busy person commands over and over, and when what goes wrong goes wrong.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from ullage.control import codes
from ullage.control.rows import SCALES
from ullage.plant import happenings as h
from ullage.plant.faults import Fault
from ullage.quantities import Span
from ullage.rig.meaning import Bounds, Law
from ullage.rig.model import Rig, Slope
from ullage.simulate.expect import never_of
from ullage.simulate.happenings import Happening
from ullage.simulate.scenario import Scenario
from ullage.verdict.needs import Need

FIRST_MS = 1_000
"""When hose, taps and cocks are put as a policy wants them [ms]; the law is up by then."""

BEGIN_MS = 4_000
"""When the first round of commands begins [ms]: every reading has come at least once."""

NO_TRIP = 0.65
"""A tank that is no fuller at the start has as a rule not tripped an interlock that would stop all that is to come."""

COMMANDS_LIMIT = 500
"""At most so many commands in one scenario."""

ROUNDS_LEAST_MS = 20_000
"""Two rounds of commands are at least so far apart [ms]."""

GAP_MS = 600
"""Two commands to one sequence are so far apart [ms]: a scan or two."""

Wishes = Literal["worst", "default", "best"]
Taps = Literal["needed", "shut", "open", "by turns"]
Pressure = Literal["most", "usual", "least", "none"]


@dataclass(frozen=True, slots=True)
class Policy:
    """One way to treat a rig.

    Attributes
    ----------
    need : Need
        What is to be brought about.
    hours : float
        How long [h].
    starts : tuple of (str, float)
        Part of its capacity that each tank holds at the start.
    lean : (int, int)
        How the rig stands, in parts of the greatest slope: ahead and across.
    errors : tuple of (str, float)
        What each sender and meter errs by, in parts of what it declares.
    pressure : str
        What stands at every supply.
    taps : str
        Which taps run: those that the need speaks of, none, all, or all now and then.
    cocks : bool
        Whether the valves on the way that are turned by hand are open.
    operator : tuple of str
        The sequences that a person starts whenever they let themselves be started.
    wishes : str
        What is wished of their parameters: what serves the need most, the defaults, or what serves it least.
    stops : bool
        Whether the person also stops them now and then.
    staggered : bool
        Whether the sequences are commanded one after another, spread over a round, and not all at once.
    attitude : str
        How the handset is held ("": nobody knows).
    faults : tuple of Fault
        What goes wrong, and when; also the links that are lost for a while.
    seed : int
        Of all chance that is left.
    """

    need: Need
    hours: float
    starts: tuple[tuple[str, float], ...]
    lean: tuple[int, int] = (0, 0)
    errors: tuple[tuple[str, float], ...] = ()
    pressure: Pressure = "most"
    taps: Taps = "needed"
    cocks: bool = True
    operator: tuple[str, ...] = ()
    wishes: Wishes = "worst"
    stops: bool = False
    staggered: bool = False
    attitude: str = ""
    faults: tuple[Fault, ...] = ()
    seed: int = 1


def scenario_of(policy: Policy, rig: Rig, law: Law) -> Scenario:
    """A policy written out as a scenario."""
    end_ms = round(policy.hours * 3_600_000)
    stand = Slope.model_construct(ahead=policy.lean[0] * rig.slope.ahead, across=policy.lean[1] * rig.slope.across)
    done = [*_set_up(policy, rig, end_ms), *_commands(policy, rig, law, end_ms)]
    return Scenario(
        name="as badly as it goes",
        hours=policy.hours,
        starts=dict(policy.starts),
        stands=(stand,),
        errors=dict(policy.errors),
        happenings=tuple(sorted((one for one in done if one.ms < end_ms), key=lambda one: one.ms)),
        faults=policy.faults,
        expectations=never_of(law),
    )


def _set_up(policy: Policy, rig: Rig, end_ms: int) -> Iterator[Happening]:
    """Hose, taps and cocks, and the handset."""
    for name, port in rig.ports.items():
        if port.kind == "supply":
            pressure = _pressure(policy.pressure, port.pressure, port.usual)
            if pressure is not None:
                yield Happening(FIRST_MS, h.H_HOSE, name, pressure)
    for name in rig.fixtures:
        if policy.taps == "open" or (policy.taps == "needed" and name in policy.need.taps):
            yield Happening(FIRST_MS, h.H_TAP, name, 1.0)
        elif policy.taps == "by turns":
            for ms in range(FIRST_MS, end_ms, 600_000):
                yield Happening(ms, h.H_TAP, name, 1.0)
                yield Happening(ms + 120_000, h.H_TAP, name, 0.0)
    if policy.attitude:
        yield Happening(FIRST_MS, h.H_ATTITUDE, "", codes.ATTITUDES.index(policy.attitude))
    for name in policy.need.cocks:
        if (rig.valves[name].rests == "open") != policy.cocks:
            yield Happening(FIRST_MS, h.H_TURN, name, float(policy.cocks))


def _pressure(wanted: Pressure, span: Span | None, usual: float | None) -> float | None:
    """The pressure of a supply [Pa]; None: no hose is on."""
    if wanted == "none" or (span is None and usual is None):
        return None
    if span is None or (wanted == "usual" and usual is not None):
        return usual
    return {"most": span.most, "least": span.least, "usual": span.middle}[wanted]


def _commands(policy: Policy, rig: Rig, law: Law, end_ms: int) -> Iterator[Happening]:
    """Round by round: latches are let go, sequences are reset, restarted, started and confirmed."""
    latches = [name for name, lock in rig.interlocks.items() if lock.latch]
    wishes = {chart.name: tuple(_wishes(policy, chart.parameters)) for chart in law.charts}
    orders = {name: _orders(rig, name) for name in policy.operator}
    per_round = len(latches) + sum(len(order) + policy.stops for order in orders.values())
    if not per_round:
        return
    apart = max(ROUNDS_LEAST_MS, end_ms * per_round // COMMANDS_LIMIT)
    for begin in range(BEGIN_MS, end_ms, apart):
        for name in latches if begin > BEGIN_MS else ():
            yield Happening(begin, h.H_RESET, name, 1.0)
        for place, (name, order) in enumerate(orders.items()):
            ms = begin + (apart * place // len(orders) if policy.staggered else 0)
            for i, command in enumerate(order):
                given = wishes[name] if command == codes.START else ()
                yield Happening(ms + GAP_MS * i, h.H_COMMAND, name, command, wishes=given)
            if policy.stops and codes.START in order:
                yield Happening(ms + apart // 2, h.H_COMMAND, name, codes.STOP)


def _orders(rig: Rig, name: str) -> tuple[int, ...]:
    """The commands of one round to one sequence."""
    sequence = rig.sequences[name]
    confirms = (codes.CONFIRM,) if sequence.confirm else ()
    if sequence.begins is not None:
        return (codes.RESET,)
    return (codes.RESET, codes.RESTART, codes.START, *confirms)


def _wishes(policy: Policy, parameters: tuple[Bounds, ...]) -> Iterator[tuple[str, int]]:
    """What is wished of the parameters of a sequence, in the law's integers."""
    need = policy.need
    for bounds in parameters:
        up = (bounds.symbol.tank == need.tank) == need.rises
        ends = {"worst": bounds.most if up else bounds.least, "best": bounds.least if up else bounds.most}
        wish = ends.get(policy.wishes, bounds.default)
        yield f"{bounds.symbol.sequence}.{bounds.symbol.name}", round(wish * SCALES[bounds.symbol.dimension])


# --- variations --------------------------------------------------------------------------------


def worst(need: Need, rig: Rig, starts: dict[str, float], hours: float, lean: tuple[int, int]) -> Policy:
    """The policy that serves a need most, as far as can be told without playing."""
    filled = {name: starts[name] for name in rig.tanks}
    filled |= dict.fromkeys(need.others, NO_TRIP if need.rises else 0.0)
    low = -1.0 if need.rises else 1.0
    errors = [(name, low if sender.on == need.tank else -low) for name, sender in rig.senders.items()]
    return Policy(
        need=need,
        hours=hours,
        starts=tuple(filled.items()),
        lean=lean,
        errors=tuple(errors) if need.tank else (),
        pressure="most" if need.rises else "none",
        operator=need.sequences,
    )


def variations(policy: Policy, rig: Rig, starts: dict[str, float]) -> Iterator[Policy]:
    """The same with one thing otherwise, the most telling first."""
    need, tank = policy.need, policy.need.tank
    yield replace(policy, operator=tuple(rig.sequences))
    for name in need.sequences if len(need.sequences) > 1 else ():
        yield replace(policy, operator=(name,))
    for part in _fillings(starts[tank], need.rises) if tank else ():
        yield replace(policy, starts=tuple((n, part if n == tank else held) for n, held in policy.starts))
    if need.rises:
        yield replace(policy, starts=tuple((n, 1.0 if n in need.others else held) for n, held in policy.starts))
    yield replace(policy, starts=tuple(starts.items()))
    pressures: tuple[Pressure, ...] = ("most", "none", "least", "usual")
    for pressure in pressures:
        if pressure != policy.pressure:
            yield replace(policy, pressure=pressure)
    every: tuple[Taps, ...] = ("shut", "open", "by turns")
    for taps in every if rig.fixtures else ():
        yield replace(policy, taps=taps)
    for lean in leans(rig):
        if lean != policy.lean:
            yield replace(policy, lean=lean)
    yield replace(policy, errors=tuple((name, -error) for name, error in policy.errors))
    yield replace(policy, errors=())
    milder: tuple[Wishes, ...] = ("default", "best")
    for wishes in milder:
        yield replace(policy, wishes=wishes)
    yield replace(policy, stops=True)
    yield replace(policy, staggered=True)
    for attitude in codes.ATTITUDES if rig.handset else ():
        yield replace(policy, attitude=attitude)
    if need.cocks:
        yield replace(policy, cocks=False)


def _fillings(usual: float, rises: bool) -> tuple[float, ...]:
    """Other parts of its capacity that a tank may hold at the start: from nothing on where it is to rise.

    One that is to fall begins as the rig says: the proof asks about no other.
    """
    return (0.0, 0.01 * round(50.0 * usual)) if rises else ()


def leans(rig: Rig) -> tuple[tuple[int, int], ...]:
    """The ways a rig can stand: level, and the corners of its greatest slope."""
    ahead = (1, -1) if rig.slope.ahead else (0,)
    across = (1, -1) if rig.slope.across else (0,)
    return tuple(dict.fromkeys(((0, 0), *((a, b) for a in ahead for b in across))))
