"""Findings on what sequences do to the rig: against one another, against interlocks, unseen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations

from ullage.findings import Finding, Place
from ullage.rig.meaning import (
    All,
    AnyOf,
    AtStep,
    Bounds,
    Chart,
    Condition,
    HandsetIs,
    Held,
    Linear,
    SequenceIs,
    SinceStep,
    Transition,
    ValveIs,
)
from ullage.rig.procedures import STORED
from ullage.rig.reason import atoms, readings
from ullage.rig.view import MOVES, View

OVER = ("idle", "complete", "stopped", "aborted")
"""States in which a sequence demands nothing."""


def demand_findings(view: View) -> Iterator[Finding]:
    """All findings on demands and their limits."""
    yield from _opposite(view)
    for name in view.rig.sequences:
        yield from _unwatched(view, name)
        yield from _waits(view, name)
        yield from _waste(view, name)
        yield from _stored(view, name)
        yield from _past_interlocks(view, name)
        yield from _unused(view, name)


# --- two sequences -----------------------------------------------------------------------------


def _opposite(view: View) -> Iterator[Finding]:
    for one, two in combinations(view.rig.sequences, 2):
        first, second = ({(output, word) for _, output, word in view.demands(name)} for name in (one, two))
        clash = sorted(
            {
                output
                for output, word in first
                for other, asked in second
                if other == output and asked != word and output not in view.rig.lamps
            }
        )
        if clash and not (_waits_for(view, one, two) and _waits_for(view, two, one)):
            what = f"'{one}' and '{two}' demand {', '.join(clash)} in opposite ways and can run at once"
            expected = f"'permit: {one} is idle' and the like in both"
            yield Finding("S419", view.places.key("sequences", two), what, expected, on=two)


def _waits_for(view: View, name: str, other: str) -> bool:
    """Whether a sequence starts only while another demands nothing."""
    chart = view.charts.get(name)
    if chart is None or chart.permit is None:
        return chart is None
    parts = chart.permit.parts if isinstance(chart.permit, All) else (chart.permit,)
    return any(isinstance(part, SequenceIs) and part.sequence.name == other and part.word in OVER for part in parts)


# --- steps that move water ---------------------------------------------------------------------


def _unwatched(view: View, name: str) -> Iterator[Finding]:
    """A step that moves water while nothing it is stopped by reads anything."""
    chart = view.charts.get(name)
    if chart is None:
        return
    always = readings(chart.stay) if chart.stay is not None else set()
    for step, content in view.rig.sequences[name].steps.items():
        moving = [output for output, word in content.demand.items() if word in MOVES]
        seen = set(always)
        for transition in chart.transitions:
            if step in transition.sources and transition.guard is not None:
                seen |= readings(transition.guard)
        for output in moving:
            seen |= view.watched_by(output, "closed") | view.watched_by(output, "off")
        if moving and not seen:
            what = f"step '{step}' of '{name}' moves water through {', '.join(moving)} and reads nothing"
            place = view.places.key("sequences", name, "steps", step)
            yield Finding("S422", place, what, "a reading in a transition out of it, or in an interlock", on=name)


def _waits(view: View, name: str) -> Iterator[Finding]:
    """A step that moves water and ends only by what a stuck switch or sender can keep back for ever.

    A step that holds nothing open may wait: what does not close raises the alarm of its valve. So may
    one that only runs a pump with a pressure switch, which stands still while all taps are shut.
    """
    chart = view.charts.get(name)
    for step, content in view.rig.sequences[name].steps.items():
        moving = [o for o, word in content.demand.items() if word in MOVES and not _switches_itself(view, o)]
        guards = [t.guard for t in chart.transitions if step in t.sources] if chart is not None else []
        if moving and guards and not any(g is None or _comes(view, g, content.demand) for g in guards):
            what = f"step '{step}' of '{name}' holds {', '.join(moving)} {content.demand[moving[0]]} without end when "
            what += f"{_kept_back(guards)} never comes"
            place = view.places.key("sequences", name, "steps", step)
            yield Finding("S431", place, what, f"'{step} -> ... when since step 1 min' or the like", on=name)


def _switches_itself(view: View, output: str) -> bool:
    return output in view.rig.pumps and view.rig.pumps[output].switch is not None


def _comes(view: View, guard: Condition, demand: Mapping[str, str]) -> bool:
    """Whether a condition is sure to come true: by time, by a person, or where a valve is presumed to be."""
    match guard:
        case AnyOf(parts):
            return any(_comes(view, part, demand) for part in parts)
        case All(parts):
            return all(_comes(view, part, demand) for part in parts)
        case Held(part, _):
            return _comes(view, part, demand)
        case ValveIs(valve, word):
            motor = view.rig.valves[valve.name].motor
            return motor is not None and motor.feedback == "none" and demand.get(valve.name) == word
        case _:
            return isinstance(guard, SinceStep | HandsetIs | SequenceIs | AtStep)


def _kept_back(guards: Iterable[Condition | None]) -> str:
    """What a step waits for, in the words of the file."""
    names: dict[str, None] = {}
    for guard in guards:
        for atom, _ in atoms(guard) if guard is not None else ():
            if isinstance(atom, ValveIs):
                names[f"'{atom.valve.name} is {atom.word}'"] = None
            names |= dict.fromkeys(f"a reading of '{name}'" for name in sorted(readings(atom)))
    return " or ".join(names) or "what it waits for"


def _waste(view: View, name: str) -> Iterator[Finding]:
    """A sequence that lets waste out without a person, or at a person's first word."""
    step, sequence = view.discharging(name), view.rig.sequences[name]
    if step is None:
        return
    if sequence.begins is not None:
        what = f"'{name}' begins by itself and lets waste out in step '{step}'"
        yield Finding("S424", view.places.key("sequences", name, "begins"), what, "a start by a person", on=name)
    elif not sequence.confirm:
        what = f"'{name}' lets waste out in step '{step}' at the first word and asks nobody to confirm"
        yield Finding("S432", view.places.key("sequences", name), what, "confirm: true", on=name)


def _stored(view: View, name: str) -> Iterator[Finding]:
    sequence = view.rig.sequences[name]
    actions = [
        (step, at, action) for step, content in sequence.steps.items() for at, action in enumerate(content.actions)
    ]
    reset = {output for _, _, action in actions if action.qualifier == "R" for output in action.demand}
    for step, at, action in actions:
        place = view.places.value("sequences", name, "steps", step, "actions", at)
        left = sorted(set(action.demand) - reset) if action.qualifier in STORED else []
        if left:
            what = f"{', '.join(left)} is stored by '{action.qualifier}' and no step of '{name}' resets it"
            yield Finding("S427", place, what, "an action with qualifier R", on=name)


# --- limits against interlocks -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Limit:
    """A level at which a transition ends what a step does.

    Attributes
    ----------
    tank : str
        Whose level.
    upward : bool
        Whether the level comes from below.
    extreme : float
        The furthest that it can be set [m3].
    parameter : str
        The parameter that sets it ("" for a plain figure).
    place : Place
        Of the transition.
    """

    tank: str
    upward: bool
    extreme: float
    parameter: str
    place: Place


def _past_interlocks(view: View, name: str) -> Iterator[Finding]:
    """Limits of a sequence that lie beyond the interlock on the same tank."""
    chart = view.charts.get(name)
    if chart is None:
        return
    moved = {output for _, output, word in view.demands(name) if word in MOVES}
    told: set[tuple[str, str]] = set()
    for step in view.rig.sequences[name].steps:
        for limit in _tightest(chart, step):
            for interlock, level, limb in _trips_on(view, limit.tank, limit.upward, moved):
                within = limit.extreme < level if limit.upward else limit.extreme > level
                if within or (limit.parameter, interlock) in told:
                    continue
                told.add((limit.parameter, interlock))
                yield _past(view, name, limit, f"'{interlock}' acts at {1e3 * level:.1f} L ({limb})")


def _past(view: View, name: str, limit: _Limit, acts: str) -> Finding:
    reach = f"{1e3 * limit.extreme:.1f} L"
    side = "below" if limit.upward else "above"
    if not limit.parameter:
        what = f"'{name}' goes on to {reach} of '{limit.tank}', {acts}"
        return Finding("S421", limit.place, what, f"a limit {side} the interlock", on=name)
    end = "most" if limit.upward else "least"
    what = f"'{limit.parameter}' lets '{name}' go to {reach} of '{limit.tank}', {acts}"
    place = view.places.value("sequences", name, "parameters", limit.parameter, end)
    return Finding("S421", place, what, f"'{end}' {side} the interlock", on=name)


def _tightest(chart: Chart, step: str) -> Iterator[_Limit]:
    """Of the limits in all transitions out of a step, the first that is met on each tank and side."""
    best: dict[tuple[str, bool], _Limit] = {}
    bounds = {bound.symbol.name: bound for bound in chart.parameters}
    for transition in chart.transitions:
        if step not in transition.sources:
            continue
        for limit in _limits(transition, bounds):
            other = best.setdefault((limit.tank, limit.upward), limit)
            if (limit.extreme < other.extreme) == limit.upward:
                best[limit.tank, limit.upward] = limit
    yield from best.values()


def _limits(transition: Transition, bounds: dict[str, Bounds]) -> Iterator[_Limit]:
    if transition.guard is None:
        return
    for atom, positive in atoms(transition.guard):
        if not isinstance(atom, Linear) or not positive:
            continue
        levels = [(factor, symbol) for factor, symbol in atom.terms if symbol.kind == "sender"]
        wishes = [(factor, bounds[symbol.name]) for factor, symbol in atom.terms if symbol.name in bounds]
        if len(levels) != 1 or len(levels) + len(wishes) != len(atom.terms):
            continue
        scale, sender = levels[0]
        upward = (atom.op in (">", ">=")) == (scale > 0)
        pick = max if upward else min
        shares = [pick(-factor / scale * end for end in (bound.least, bound.most)) for factor, bound in wishes]
        assert sender.tank is not None
        parameter = wishes[0][1].symbol.name if wishes else ""
        yield _Limit(sender.tank, upward, -atom.constant / scale + sum(shares), parameter, transition.place)


def _trips_on(view: View, tank: str, upward: bool, moved: set[str]) -> Iterator[tuple[str, float, str]]:
    """Interlocks on the level of a tank that stop what a sequence moves, their volumes [m3], and what acts there."""
    for name, when in view.trips.items():
        if not any(output in moved and word not in MOVES for output, word in view.rig.interlocks[name].drive.items()):
            continue
        for level, limb in view.levels(when, tank, upward):
            yield name, level, limb


def _unused(view: View, name: str) -> Iterator[Finding]:
    chart = view.charts.get(name)
    if chart is None:
        return
    guards = [chart.permit, chart.stay, chart.begins, *(transition.guard for transition in chart.transitions)]
    used = {
        symbol.name
        for guard in guards
        if guard is not None
        for atom, _ in atoms(guard)
        if isinstance(atom, Linear)
        for _, symbol in atom.terms
    }
    for bound in chart.parameters:
        if bound.symbol.name not in used:
            place = view.places.key("sequences", name, "parameters", bound.symbol.name)
            yield Finding("S430", place, f"no guard of '{name}' uses '{bound.symbol.name}'", "a guard with it", on=name)
