"""How a story begins and what it comes to, in sentences for a person who knows plumbing but no mathematics."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees

from ullage.plant.faults import KINDS
from ullage.plant.happenings import H_TAP, H_TURN
from ullage.quantities import DRIP
from ullage.report.quantity_words import System, clock, duration, figures, quantity
from ullage.rig.meaning import Above, Below, Dry, Gives, Indoors, Spills, Statement
from ullage.rig.model import Rig, Slope
from ullage.rig.shapes import capacity
from ullage.simulate.scenario import Scenario
from ullage.verdict.harm import Harm

TURNS = 4
"""A tap that is turned more often is told once, with how often."""


def opening(rig: Rig, scenario: Scenario, system: System = "metric") -> str:
    """How everything is before anything happens: tanks, slope, senders, taps, and what is wrong from when on.

    Parameters
    ----------
    rig : Rig
    scenario : Scenario
        Of the story.
    system : str
        Units in which it is told.
    """
    said = (
        _tanks(rig, scenario, system),
        _slope(scenario.stands[0]),
        *_errors(rig, scenario),
        *_taps(scenario),
        *_faults(scenario),
    )
    return " ".join(sentence for sentence in said if sentence)


def _tanks(rig: Rig, scenario: Scenario, system: System) -> str:
    """What the tanks hold."""
    held = []
    for name, tank in rig.tanks.items():
        volume = scenario.starts.get(name, tank.starts_with) * capacity(tank)
        held.append(f"{name} holds {quantity(volume, 'volume', system)}" if volume > DRIP else f"{name} is empty")
    return f"At first {listed(held)}." if held else ""


def _slope(stand: Slope) -> str:
    """How the rig stands."""
    ends = []
    for angle, up, down in ((stand.ahead, "front", "back"), (stand.across, "left side", "right side")):
        if angle:
            ends.append(f"the {up if angle > 0 else down} {figures(abs(degrees(angle)))} degrees higher")
    return f"The rig stands with {listed(ends)}." if ends else ""


def _errors(rig: Rig, scenario: Scenario) -> Iterator[str]:
    """Which senders read wrong by as much as they may."""
    for name, part in scenario.errors.items():
        source = rig.senders.get(name) or rig.meters.get(name) or rig.probes[name]
        share = figures(100.0 * abs(part) * source.error)
        if share != "0":
            much = "as it may" if abs(part) == 1.0 else "it may well do"
            yield f"{name} reads {share} % too {'much' if part > 0 else 'little'}, {much}."


def _taps(scenario: Scenario) -> Iterator[str]:
    """Which taps are opened, and which valves are turned by hand: nothing in the story tells of them."""
    turned: dict[str, list[str]] = {}
    for one in scenario.happenings:
        if one.kind in (H_TAP, H_TURN):
            word = "opened" if one.amount else "shut"
            turned.setdefault(one.part, []).append(f"at {clock(one.ms)} {one.part} is {word}")
    for times in turned.values():
        told = times if len(times) <= TURNS else [f"{times[0]}, and so on, {len(times)} times"]
        yield from (f"{sentence[0].upper()}{sentence[1:]}." for sentence in told)


def _faults(scenario: Scenario) -> Iterator[str]:
    """What goes wrong, from when and until when."""
    end_ms = scenario.hours * 3_600_000
    for fault in scenario.faults:
        when = "From the start" if fault.start_ms == 0 else f"At {clock(fault.start_ms)}"
        until = f" until {clock(fault.end_ms)}" if fault.end_ms <= end_ms else ""
        yield f"{when}, {fault}: {KINDS[fault.kind].words}{until}."


def ending(harm: Harm, statement: Statement, text: str, system: System = "metric") -> str:
    """What it comes to, and when.

    Parameters
    ----------
    harm : Harm
    statement : Statement
    text : str
        The statement as it was written.
    system : str
        Units in which it is told.
    """
    when = f"At {clock(harm.ms)}" if harm.ms >= 0 else "In the end"
    amount = _amount(harm, statement, system)
    return f"{when} it has come about: {text}{f' ({amount})' if amount else ''}."


def _amount(harm: Harm, statement: Statement, system: System) -> str:
    """How much, in words; "" where only the time counts."""
    if isinstance(statement, Dry) and harm.seconds is not None:
        return f"{duration(1000 * harm.seconds)} without water"
    if harm.volume is None:
        return ""
    volume = quantity(harm.volume, "volume", system)
    match statement:
        case Indoors():
            return f"{volume} on the floor"
        case Spills():
            return f"{volume} left by the overflow"
        case Above(tank):
            return f"{tank} comes to hold {volume}"
        case Below(tank):
            return f"{tank} is left with {volume}"
        case Gives():
            return f"{volume} in all"
        case _:
            return volume


def listed(things: list[str]) -> str:
    """Some things in one sentence: a, b and c."""
    return " and ".join(filter(None, (", ".join(things[:-1]), things[-1])))
