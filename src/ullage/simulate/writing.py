"""Write a scenario as the file from which it is read again, equal to the last bit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf, nextafter

import yaml

from ullage import quantities
from ullage.control import codes
from ullage.control.rows import SCALES
from ullage.control.timers import NEVER_MS
from ullage.plant import happenings as h
from ullage.plant.faults import JERRYCAN, KINDS, Fault
from ullage.rig.meaning import Law
from ullage.rig.model import Slope
from ullage.simulate.happenings import ANY, Happening
from ullage.simulate.scenario import Scenario

UNITS = {
    "volume": ("L", "mL", "m3"),
    "time": ("h", "min", "s"),
    "flow": ("L/min", "mL/min", "m3/s"),
    "pressure": ("bar", "Pa"),
    "angle": ("deg", "rad"),
    "voltage": ("V", "mV"),
    "current": ("A", "mA"),
    "fraction": ("%",),
    "ratio": ("",),
}
"""Units in which a quantity is written, the most usual first."""


def write_scenario(scenario: Scenario, law: Law) -> str:
    """The text of a scenario file.

    Parameters
    ----------
    scenario : Scenario
        One that was read, or that says nothing which a file could not say: what the rig says must `never`
        be is among the expectations, a fault that ends does so within the run.
    law : Law
        Of its rig: it knows the units of what is wished.
    """
    dimensions = {
        f"{bounds.symbol.sequence}.{bounds.symbol.name}": bounds.symbol.dimension
        for chart in law.charts
        for bounds in chart.parameters
    }
    never = {f"never {wish.text}" for wish in law.never}
    return "\n".join(_lines(scenario, dimensions, never)) + "\n"


def _lines(scenario: Scenario, dimensions: Mapping[str, str], never: set[str]) -> Iterator[str]:
    yield f"scenario: {_text(scenario.name)}"
    if scenario.about:
        yield f"about: {_text(scenario.about)}"
    yield f"hours: {_hours(scenario.hours)}"
    if scenario.starts:
        yield f"starts: {_fractions(scenario.starts)}"
    if scenario.stands[0] != Slope():
        yield f"slope: {_slope(scenario.stands[0])}"
    if scenario.errors:
        yield f"errors: {_fractions(scenario.errors)}"
    done = [*_happenings(scenario, dimensions), *(_fault(fault, scenario.hours) for fault in scenario.faults)]
    if done:
        yield ""
        yield "happenings:"
        yield from (f"  - {{{line}}}" for line in done)
    expected = [line.text for line in scenario.expectations if line.text not in never]
    if expected:
        yield ""
        yield "expect:"
        yield from (f"  - {_text(text)}" for text in expected)


def _text(text: str) -> str:
    """A text as one YAML scalar on one line."""
    plain: str = yaml.safe_dump(text, allow_unicode=True, width=inf)
    return plain.removesuffix("\n").removesuffix("\n...")


def figure(value: float, dimension: str) -> str:
    """A quantity [SI] in the first of its units that gives it back with few digits, else with all."""
    units = UNITS[dimension]
    for unit in units:
        text = f"{quantities.from_si(value, unit):g} {unit}".rstrip()
        if quantities.read(text, dimension) == value:
            return text
    unit = next((unit for unit in units if quantities.UNITS[dimension][unit] == 1.0), units[-1])
    exact = quantities.from_si(value, unit)
    near = (exact, nextafter(exact, inf), nextafter(exact, -inf))
    texts = [f"{number!r} {unit}".rstrip() for number in near]
    return next((text for text in texts if quantities.read(text, dimension) == value), texts[0])


def time(ms: int) -> str:
    """A time [ms]: whole hours or minutes, a clock time, or seconds."""
    minutes, rest = divmod(ms, 60_000)
    if rest == 0 and (minutes < 60 or minutes % 60):
        return f"{minutes // 60}:{minutes % 60:02d}" if minutes >= 60 else f"{minutes} min"
    if rest == 0:
        return f"{minutes // 60} h"
    if ms < 60_000 or rest % 1000:
        return f"{ms / 1000:.3f}".rstrip("0").rstrip(".") + " s"
    return f"{minutes // 60}:{minutes % 60:02d}:{rest // 1000:02d}"


def _hours(hours: float) -> str:
    """How long a run lasts: minutes where that is exact, else hours."""
    minutes = f"{60.0 * hours:g}"
    return f"{minutes} min" if float(minutes) * 60.0 / 3600.0 == hours and hours < 1.0 else repr(hours)


def _fractions(table: Mapping[str, float]) -> str:
    return "{" + ", ".join(f"{name}: {figure(value, 'fraction')}" for name, value in table.items()) + "}"


def _slope(slope: Slope) -> str:
    return f"{{ahead: {figure(slope.ahead, 'angle')}, across: {figure(slope.across, 'angle')}}}"


def _happenings(scenario: Scenario, dimensions: Mapping[str, str]) -> Iterator[str]:
    """The lines of what is done; a tap that is shut again at a time of its own is one line with its opening."""
    closed: set[int] = set()
    for i, one in enumerate(scenario.happenings):
        if i in closed:
            continue
        shut = _shut_by(scenario.happenings, i)
        closed |= {shut} if shut else set()
        lasts = f", for: {figure((scenario.happenings[shut].ms - one.ms) / 1000.0, 'time')}" if shut else ""
        yield f"at: {time(one.ms)}, {_done(one, scenario.stands, dimensions)}{lasts}"


def _shut_by(happenings: tuple[Happening, ...], opened: int) -> int:
    """The happening that shuts a tap again; 0 where none does, or its place among others could be lost."""
    first = happenings[opened]
    if first.kind != h.H_TAP or first.amount == 0.0:
        return 0
    later = (i for i in range(opened + 1, len(happenings)) if _same_tap(happenings[i], first))
    shut = next(later, 0)
    alone = shut and sum(one.ms == happenings[shut].ms for one in happenings) == 1
    return shut if alone and happenings[shut].amount == 0.0 else 0


def _same_tap(one: Happening, other: Happening) -> bool:
    return (one.kind, one.part) == (other.kind, other.part)


def _done(one: Happening, stands: tuple[Slope, ...], dimensions: Mapping[str, str]) -> str:
    """What is done, as the keys of its line."""
    match one.kind:
        case h.H_TAP:
            return f"use: {one.part}" + ("" if one.amount == 1.0 else f", opening: {figure(one.amount, 'fraction')}")
        case h.H_HOSE:
            return f"hose: {one.part}, pressure: {ANY if one.most is not None else figure(one.amount, 'pressure')}"
        case h.H_UNHOOK:
            return f"unhook: {one.part}"
        case h.H_STAND:
            return f"slope: {_slope(stands[int(one.amount)])}"
        case h.H_MOVING:
            return f"moving: {'true' if one.amount else 'false'}"
        case h.H_ATTITUDE:
            return f"attitude: {codes.ATTITUDES[int(one.amount)]}"
        case h.H_TURN:
            words = {1.0: "open", 0.0: "closed"}
            return f"turn: {one.part}, to: {words.get(one.amount) or figure(one.amount, 'fraction')}"
        case h.H_RESET:
            return f"reset: {one.part}"
        case h.H_COMMAND:
            return f"{codes.COMMANDS[int(one.amount)]}: {one.part}{_wishes(one, dimensions)}"
        case _:
            raise AssertionError(f"no line says {one}")


def _wishes(one: Happening, dimensions: Mapping[str, str]) -> str:
    """What a command wishes of the parameters of its sequence."""
    if not one.wishes:
        return ""
    wishes = (
        f"{name.partition('.')[2]}: {figure(wish / SCALES[dimensions[name]], dimensions[name])}"
        for name, wish in one.wishes
    )
    return ", with: {" + ", ".join(wishes) + "}"


def _fault(fault: Fault, hours: float) -> str:
    """One thing that goes wrong, as the keys of its line; what ends after the run lasts."""
    kind = KINDS[fault.kind]
    amount = figure(fault.amount, kind.dimension) if kind.dimension else ""
    if fault.kind == JERRYCAN and fault.end_ms >= NEVER_MS:
        return f"at: {time(fault.start_ms)}, pour: {amount}, into: {fault.part}"
    ends = fault.end_ms <= hours * 3_600_000
    until = f", until: {time(fault.end_ms)}" if ends else ""
    return f"at: {time(fault.start_ms)}, fault: {f'{fault} {amount}'.rstrip()}{until}"
