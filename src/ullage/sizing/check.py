"""Findings that need the flows of the rig: overflows, vents and shut-off margins."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.findings import Finding
from ullage.hydraulics.fittings import rim_capacity
from ullage.hydraulics.water import ATMOSPHERE, vapour_pressure
from ullage.quantities import from_si
from ullage.rig.shapes import height
from ullage.rig.text import Path
from ullage.rig.view import View
from ullage.rig.ways import Link, one_way
from ullage.sizing.flows import Flows, NoAnswer, drained_into, greatest_inflow, greatest_outflow
from ullage.sizing.hammer import blow_of
from ullage.sizing.margins import margins
from ullage.sizing.suction import gauge_pressures
from ullage.sizing.vents import breathing_out

VENT_LOOK = 1e3
"""Over- or under-pressure [Pa] from which a flat-walled tank is looked at (row DRN-14, common practice)."""

VENT_STOP = 5e3
"""Over- or under-pressure [Pa] that a flat-walled tank must never see (row DRN-14, common practice)."""

PIPES_HOLD = 10e5
"""Pressure [Pa] that the pipes and fittings of a house hold (PN 10; common practice, no source)."""


def check(view: View) -> tuple[Finding, ...]:
    """Findings about flows and margins.

    Parameters
    ----------
    view : View
        A rig whose other checks left no fault standing.
    """
    try:
        return tuple(_of_flows(view))
    except NoAnswer:
        what = "what flows where cannot be found: a bore, a Kv or a pump's curve is far beyond the others"
        return (Finding("M610", view.places.key("lines"), what, "figures of one rig"),)


def _of_flows(view: View) -> Iterator[Finding]:
    """All findings that need flows."""
    fillings: dict[str, Flows] = {}
    all_flows: list[Flows] = []
    for name in view.rig.tanks:
        filling, emptying = greatest_inflow(view.ways, name), greatest_outflow(view.ways, name)
        drained = drained_into(view.ways, name)
        yield from _overflow(view, name, filling.into(name) + drained)
        yield from _vent(view, name, breathing_out(filling, name, drained), -emptying.over_pressure(name))
        yield from _hammer(view, name, filling, emptying)
        fillings[name] = filling
        all_flows += [filling, emptying]
    inflows = {name: filling.into(name) for name, filling in fillings.items()}
    yield from _suction(view, all_flows)
    yield from _margins(view, inflows)


def _overflow(view: View, name: str, inflow: float) -> Iterator[Finding]:
    """An overflow that cannot carry off what can run in."""
    tank = view.rig.tanks[name]
    if tank.overflow is None:
        return
    over = height(tank.shape) - tank.overflow.at
    carries = rim_capacity(tank.overflow.bore, over)
    if carries >= inflow:
        return
    code = "M602" if _restricted(view, name) else "M601"
    what = (
        f"the overflow of '{name}' carries {_litres(carries)} L/min with its rim "
        f"{from_si(over, 'mm'):.0f} mm under the brim; {_litres(inflow)} L/min can run in"
    )
    place = view.places.value("tanks", name, "overflow")
    yield Finding(code, place, what, "an overflow as large as the inflow", on=name)


def _restricted(view: View, tank: str) -> bool:
    """Whether a supply feeds the tank, and only through restrictors."""
    ways, openings = view.ways, set(view.ways.openings(tank))
    supplies = [name for name, port in view.rig.ports.items() if port.kind == "supply"]

    def unrestricted(link: Link, forwards: bool) -> bool:
        return one_way(link, forwards) and link.kind != "restrictors"

    return bool(ways.reach(supplies) & openings) and not ways.reach(supplies, unrestricted) & openings


def _vent(view: View, name: str, over: float, under: float) -> Iterator[Finding]:
    """A vent too narrow for the fastest filling or emptying: its over- and under-pressure [Pa]."""
    if view.rig.tanks[name].vent is None:
        return
    for pressure, sign, act, stop, look in (
        (over, "", "filled", "M604", "M605"),
        (under, "-", "emptied", "M606", "M607"),
    ):
        if pressure >= VENT_LOOK:
            code, limit = (stop, VENT_STOP) if pressure >= VENT_STOP else (look, VENT_LOOK)
            stands = f"{sign}{from_si(pressure, 'kPa'):.1f} kPa"
            what = f"the air in '{name}' stands at {stands} while it is {act} as fast as it can be"
            expected = f"less than {from_si(limit, 'kPa'):.0f} kPa either way"
            yield Finding(code, view.places.value("tanks", name, "vent"), what, expected, on=name)


def _hammer(view: View, name: str, filling: Flows, emptying: Flows) -> Iterator[Finding]:
    """A motor valve that stops the water of its line so quickly that the blow exceeds what pipes are made for."""
    rig = view.rig
    for line in rig.lines:
        ends = (line.start.partition(".")[0], line.end.partition(".")[0])
        if name not in ends:
            continue
        flows = filling if ends[1] == name else emptying
        static = max((p.pressure.most for p in (rig.ports.get(end) for end in ends) if p and p.pressure), default=0.0)
        for part in line.through:
            motor = rig.valves[part].motor if part in rig.valves else None
            if motor is None:
                continue
            blow = blow_of(rig, line, abs(flows.through(part)), motor.stroke.least)
            if static + blow > PIPES_HOLD:
                what = (
                    f"'{part}' can close in {motor.stroke.least:g} s: {from_si(blow, 'bar'):.1f} bar of water hammer "
                    f"on top of {from_si(static, 'bar'):.1f} bar"
                )
                expected = f"at most {from_si(PIPES_HOLD, 'bar'):.0f} bar in all"
                yield Finding("M608", view.places.value("valves", part, "motor"), what, expected, on=part)


def _suction(view: View, all_flows: list[Flows]) -> Iterator[Finding]:
    """A place where the water would boil if it ran as fast as pump and pipes would have it."""
    vapour = vapour_pressure(view.rig.water.most) - ATMOSPHERE
    lowest: dict[Path, float] = {}
    for flows in all_flows:
        for path, pressure in gauge_pressures(view.rig, flows).items():
            lowest[path] = min(pressure, lowest.get(path, pressure))
    for path, pressure in lowest.items():
        if pressure < vapour:
            crest = path[0] == "lines"
            name = view.rig.lines[int(path[1])].start if crest else str(path[1])
            where = f"the crest of the line from '{name}'" if crest else f"'{name}'"
            what = f"for what pump and pipes would pass, {where} would stand {_bar(pressure)} bar under the outer air"
            expected = f"less than {_bar(vapour)} bar, where water boils at the sea"
            yield Finding("M609", view.places.key(*path), what, expected, on=name)


def _margins(view: View, inflows: dict[str, float]) -> Iterator[Finding]:
    """A wish that can run over although everything works as declared."""
    for margin in margins(view, inflows):
        if margin.left > 0.0 or view.rig.tanks[margin.tank].overflow is None:
            continue
        waits = ", ".join(f"{name} {seconds:.3g} s" for name, seconds in margin.waits.items() if seconds)
        what = (
            f"'{margin.parameter}' of '{margin.sequence}' may be {_content(margin.target)} L: with a misreading of "
            f"{_content(margin.misread)} L and {_content(margin.after_run)} L that still come "
            f"({_litres(margin.inflow)} L/min for {waits}), "
            f"'{margin.tank}' ends at {_content(margin.ends_at)} L and runs over at {_content(margin.overflow)} L"
        )
        expected = f"at most {_content(margin.safe_target)} L"
        place = view.places.value("sequences", margin.sequence, "parameters", margin.parameter, "most")
        yield Finding("M603", place, what, expected, on=margin.sequence)


def _bar(pressure: float) -> str:
    return f"{from_si(-pressure, 'bar'):.2f}"


def _litres(flow: float) -> str:
    return f"{from_si(flow, 'L/min'):.1f}"


def _content(volume: float) -> str:
    return f"{from_si(volume, 'L'):.1f}"
