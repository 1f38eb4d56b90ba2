"""A run, told: its records, figures and samples as the account that becomes a page and lines."""

from __future__ import annotations

from collections.abc import Iterator

from ullage.control.alarms import WORDS, alarms_of, busiest
from ullage.control.record import Record
from ullage.report.account import Account, Expectation, Outcome
from ullage.report.levels import marks_of
from ullage.report.page import numbered
from ullage.report.quantity_words import System, duration, in_unit, quantity, unit_of
from ullage.report.states import episodes, rows_of
from ullage.report.strip import Curve, Panel, Row, Sign, Strip
from ullage.report.words import Names, Sentence, sentences
from ullage.rig.meaning import Law
from ullage.rig.shapes import capacity
from ullage.simulate.run import Run

DRY_LIMIT = 0.5
"""Seconds without water that a pump may have before they are called a harm [s]."""

TINY = 1e-6
"""Less water than this is none [m3]."""


def account_of(run: Run, law: Law, system: System = "metric") -> Account:
    """Tell a run.

    Parameters
    ----------
    run : Run
    law : Law
        Resolved guards of its rig, for the limits in the charts.
    system : str
        Units: ``metric`` or ``us``.
    """
    names = Names(run.rig, run.program, run.faults, system=system)
    records = [Record(*(int(n) for n in row)) for row in run.records]
    story = tuple(sentences(records, names))
    end_ms = round(1000 * float(run.series["time"][-1])) if len(run.series["time"]) else 0
    return Account(
        rig=run.rig.rig,
        scenario=run.scenario.name,
        about=run.scenario.about,
        facts=tuple(_facts(run, end_ms)),
        outcomes=tuple(_outcomes(run, records, system)),
        expectations=tuple(Expectation(j.expectation.text, j.kept, j.found) for j in run.expectations),
        story=story,
        strips=tuple(_strips(run, law, names, records, story, end_ms)),
    )


def _facts(run: Run, end_ms: int) -> Iterator[tuple[str, str]]:
    yield "simulated", duration(end_ms)
    yield "seed", str(run.seed)
    yield "faults", ", ".join(str(fault) for fault in run.faults) or "none"
    yield "program", run.program.hash[:16]
    yield "scans evaluated", f"{run.evaluated:,}"
    if run.lost:
        yield "records that did not fit", f"{run.lost:,}"


def _outcomes(run: Run, records: list[Record], system: System) -> Iterator[Outcome]:
    found = run.outcome
    yield Outcome("water indoors", quantity(found.indoors, "volume", system), found.indoors > TINY)
    yield Outcome("out of overflows, outdoors", quantity(found.outdoors, "volume", system), found.outdoors > TINY)
    if found.lost_by_bursts > TINY:
        yield Outcome("lost by bursts", quantity(found.lost_by_bursts, "volume", system), True)
    for port, (came, went) in found.ports.items():
        yield Outcome(f"in at {port}", quantity(came, "volume", system))
        yield Outcome(f"out at {port}", quantity(went, "volume", system))
    for name, tank in found.tanks.items():
        figures = (quantity(v, "volume", system) for v in (tank.start, tank.end, tank.least, tank.most))
        yield Outcome(f"{name} at start, end; least, most", "{}, {}; {}, {}".format(*figures))
    for name, pump in found.pumps.items():
        yield Outcome(f"{name} ran, starts", f"{duration(1000 * pump.turned)}, {pump.starts}")
        yield Outcome(f"{name} dry", duration(1000 * pump.dry), pump.dry > DRY_LIMIT)
        if pump.air > TINY:
            yield Outcome(f"{name} drew air", quantity(pump.air, "volume", system), True)
    for line, content in found.trapped.items():
        if content > TINY:
            yield Outcome(f"shut in at the end: {line}", quantity(content, "volume", system))
    for alarm in alarms_of(run.program, records):
        yield Outcome(f"alarm of {alarm.source}, {WORDS[alarm.state]}", f"{alarm.times} x")
    yield Outcome("most new alarms in ten minutes", str(busiest(records, run.program)))
    if found.unsettled:
        yield Outcome("flows that did not settle", str(found.unsettled), True)


def _strips(
    run: Run, law: Law, names: Names, records: list[Record], story: tuple[Sentence, ...], end_ms: int
) -> Iterator[Strip]:
    rows = rows_of(records, names, end_ms)
    signs = tuple(Sign(sentence.now_ms / 1000, number) for number, sentence in numbered(story))
    panels = tuple(_levels(run, law, names.system))
    flows = _flows(run, names.system)
    yield Strip("The whole run", 0.0, end_ms / 1000, panels, rows, signs)
    for episode in episodes(rows, records, names, end_ms):
        start, end = episode.start_ms / 1000, episode.end_ms / 1000
        within = tuple(row for row in rows if _touches(row, start, end))
        moved = tuple(panel for panel in panels if _moves(panel.curves[0], start, end)) or panels[:1]
        yield Strip(episode.name, start, end, (*moved, *flows), within, signs)


def _levels(run: Run, law: Law, system: System) -> Iterator[Panel]:
    time = [float(t) for t in run.series["time"]]
    unit = unit_of("volume", system)
    for name, tank in run.rig.tanks.items():
        held = [in_unit(float(v), "volume", system) for v in run.series[f"volume.{name}"]]
        top = in_unit(capacity(tank), "volume", system)
        yield Panel(name, unit, (Curve(name, time, held),), marks_of(run.rig, law, name, system), top)


def _flows(run: Run, system: System) -> tuple[Panel, ...]:
    """The metered flows, as the water really runs."""
    time = [float(t) for t in run.series["time"]]
    curves = []
    for line in run.rig.lines:
        meters = [part for part in line.through if part in run.rig.meters]
        key = f"flow.{line.start} to {line.end}"
        if meters and key in run.series:
            flow = [in_unit(abs(float(v)), "flow", system) for v in run.series[key]]
            curves.append(Curve(meters[0], time, flow))
    if not curves:
        return ()
    return (Panel("flow", unit_of("flow", system), tuple(curves)),)


def _moves(curve: Curve, start: float, end: float) -> bool:
    inside = [v for t, v in zip(curve.time_s, curve.value, strict=True) if start <= t <= end]
    return bool(inside) and max(inside) - min(inside) > 0.2


def _touches(row: Row, start: float, end: float) -> bool:
    return any(bar.start_s < end and bar.end_s > start for bar in row.bars)
