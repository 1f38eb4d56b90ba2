"""A run, told: its records, figures and samples as the account that becomes a page and lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import nan

from ullage.control import codes
from ullage.control.alarms import FLOOD, WORDS, alarms_of, busiest
from ullage.control.record import Record
from ullage.control.truth import value_of
from ullage.plant.codes import NOT_HEARD
from ullage.plant.faults import JERRYCAN
from ullage.plant.words import P_TAP
from ullage.quantities import DRIP
from ullage.report.account import Account, Expectation, Level, Outcome, Played
from ullage.report.dry_taps import DONE, with_dry_taps
from ullage.report.levels import marks_of, wishes_of
from ullage.report.listing import counted
from ullage.report.page import numbered
from ullage.report.quantity_words import System, clock, in_unit, unit_of
from ullage.report.states import Episode, episodes, rows_of
from ullage.report.strip import Curve, Panel, Row, Sign, Strip
from ullage.report.words import Names, Sentence, sentences
from ullage.rig.meaning import Law
from ullage.rig.sensing import interval
from ullage.rig.shapes import capacity
from ullage.simulate.run import Run

DRY_LIMIT = 0.5
"""Seconds without water that a pump may have before they are called a harm [s]."""

FULL_FLOW = 10e-3 / 60
"""Scale for deciding whether a flow moves [m3/s]: ten litres a minute."""

SEEN = 0.004
"""A level or a flow that changes by less than this part of its scale needs no panel of its own [-]."""


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
    story = tuple(with_dry_taps(run, records, sentences(records, names), names))
    end_ms = round(1000 * float(run.series["time"][-1])) if len(run.series["time"]) else 0
    return Account(
        rig=run.rig.rig,
        scenario=run.scenario.name,
        about=run.scenario.about,
        played=_played(run, end_ms),
        outcomes=tuple(_outcomes(run, records)),
        levels=tuple(Level(name, t.start, t.least, t.most, t.end) for name, t in run.outcome.tanks.items()),
        expectations=tuple(Expectation(j.expectation.text, j.kept, j.found) for j in run.expectations),
        story=story,
        strips=tuple(_Charts(run, law, names, records, story, end_ms).strips()),
        system=system,
    )


def _played(run: Run, end_ms: int) -> Played:
    faults = tuple(str(fault) for fault in run.faults if fault.kind != JERRYCAN)
    return Played(end_ms / 1000, run.seed, faults, run.program.hash, run.evaluated, run.lost)


# --- figures -------------------------------------------------------------------------------


def _outcomes(run: Run, records: list[Record]) -> Iterator[Outcome]:
    """Harms first, then where the water came from and went, pumps, battery and alarms."""
    yield from _harms(run, records)
    found = run.outcome
    for name, (came, went) in found.ports.items():
        supply = run.rig.ports[name].kind == "supply"
        meant = came if supply else went
        yield Outcome(f"{'taken' if supply else 'let out'} at {name}", meant, main=meant > DRIP)
    opened = {r.row for r in records if r.kind == P_TAP and r.value}
    for row, (name, gave) in enumerate(found.fixtures.items()):
        if row in opened or gave > DRIP:  # a tap that was opened and gave nothing is worth knowing
            yield Outcome(f"given by {name}", gave)
    for line, content in found.trapped.items():
        if content > DRIP:
            yield Outcome(f"shut in at the end, {line}", content)
    for name, pump in found.pumps.items():
        yield Outcome(f"{name} ran, in {counted(pump.starts, 'start')}", pump.turned, "time", "work")
    yield Outcome("taken from the battery", found.charge_used, "charge", "work")
    yield from _unfinished(run, records)
    for alarm in alarms_of(run.program, records):
        yield Outcome(f"alarm of {alarm.source} ({WORDS[alarm.state]})", alarm.times, "times", "alarm")


def _unfinished(run: Run, records: list[Record]) -> Iterator[Outcome]:
    """Sequences that had not come to an end, each with the steps it stood at and since when."""
    names, end_ms = run.program.names, round(1000 * float(run.series["time"][-1]))
    states = {r.row: r.value for r in records if r.kind == codes.R_STATE}
    active: dict[int, dict[str, int]] = {}
    for r in records:
        if r.kind == codes.R_STEP and not run.program.tables.step_final[r.row]:
            step = names.steps[r.row].partition(".")[2]
            steps = active.setdefault(r.detail, {})
            steps.pop(step, None)
            if r.value:
                steps[step] = r.now_ms
    for row, state in states.items():
        if state not in DONE and active.get(row):
            name = f"{names.sequences[row]} at '{' and '.join(active[row])}', still {codes.STATES[state]} at the end"
            yield Outcome(name, (end_ms - max(active[row].values())) / 1000, "time", "work")


def _harms(run: Run, records: list[Record]) -> Iterator[Outcome]:
    """What must not be: the usual ones also where they did not happen, the others only where they did."""
    found = run.outcome
    for name, content in (("ran indoors", found.indoors), ("left by overflows, outdoors", found.outdoors)):
        yield Outcome(name, content, "volume", "harm", bad=content > DRIP, main=True)
    for name, pump in found.pumps.items():
        yield Outcome(f"{name} ran dry", pump.dry, "time", "harm", bad=pump.dry > DRY_LIMIT, main=pump.dry > 0.0)
    if found.lost_by_bursts > DRIP:
        yield Outcome("lost by bursts", found.lost_by_bursts, "volume", "harm", bad=True)
    for name, (came, went) in found.ports.items():
        supply = run.rig.ports[name].kind == "supply"
        back = went if supply else came
        if back > DRIP:
            name = f"{'gone back into' if supply else 'come back from'} {name}"
            yield Outcome(name, back, "volume", "harm", bad=True)
    most = busiest(records, run.program)
    if most > FLOOD:
        yield Outcome("new alarms in ten minutes: more than a person can take in", most, "count", "harm", bad=True)
    if found.unsettled:
        name = "flows that did not settle: the figures may be wrong"
        yield Outcome(name, found.unsettled, "count", "harm", bad=True)


# --- charts --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Charts:
    """The strips of a run: all of it, then each episode."""

    run: Run
    law: Law
    names: Names
    records: list[Record]
    story: tuple[Sentence, ...]
    end_ms: int

    def strips(self) -> Iterator[Strip]:
        """All of them."""
        rows = rows_of(self.records, self.names, self.end_ms)
        signs = tuple(Sign(sentence.now_ms / 1000, number) for number, sentence in numbered(self.story))
        tanks = {name: self.level(name) for name in self.run.rig.tanks}
        flows, system = self.flows(), self.names.system
        yield Strip("The whole run", 0.0, self.end_ms / 1000, tuple(tanks.values()), rows, signs)
        for episode in episodes(rows, self.records, self.names, self.end_ms):
            start, end = episode.start_ms / 1000, episode.end_ms / 1000
            within = tuple(row for row in rows if any(b.start_s < end and b.end_s > start for b in row.bars))
            shown = [(name, panel) for name, panel in tanks.items() if _moves(panel.curves[0], panel.top, start, end)]
            moved = [self.wished(name, panel, episode, within) for name, panel in shown]
            running = tuple(c for c in flows if _moves(c, in_unit(FULL_FLOW, "flow", system), start, end))
            if not moved and not running:  # a tap that gave nothing: the flow shows that
                running = tuple(flows)
            if running:
                name = "flow" if len(running) > 1 else f"flow, {running[0].name}"
                moved.append(Panel(name, unit_of("flow", system), running))
            title = f"{episode.name}, {clock(episode.began_ms).rpartition(':')[0]}"
            yield Strip(title, start, end, tuple(moved), within, tuple(s for s in signs if start <= s.time_s <= end))

    def level(self, tank: str) -> Panel:
        """A tank's volume as it is and as each of its senders reads it."""
        time, system = self.run.series["time"].tolist(), self.names.system
        held = [in_unit(v, "volume", system) for v in self.run.series[f"volume.{tank}"].tolist()]
        curves = [Curve("water", time, held)]
        senders = [name for name, sender in self.run.rig.senders.items() if sender.on == tank]
        curves += [self.read(name, "reading" if len(senders) == 1 else name) for name in senders]
        top = in_unit(capacity(self.run.rig.tanks[tank]), "volume", system)
        marks = marks_of(self.run.rig, self.law, tank, system)
        return Panel(tank, unit_of("volume", system), tuple(curves), marks, top)

    def read(self, sender: str, title: str) -> Curve:
        """What the law makes of a sender's readings [unit of volume]; none before the first, nor after a restart.

        A reading stays until the next one. Where they come more often than the samples, steps from sample to
        sample would look like a sender that is slow: the line then runs to the next sample.
        """
        column, row, system = self.run.program.column, self.run.program.signal(sender), self.names.system
        times, raw = (self.run.series[name].tolist() for name in ("time", f"reading.{sender}"))
        litres = {r: in_unit(1e-6 * value_of(column, row, int(r)), "volume", system) for r in dict.fromkeys(raw)}
        litres[NOT_HEARD] = nan
        stays = interval(self.run.rig.senders[sender]) >= times[1] - times[0] if len(times) > 1 else True
        return Curve(title, times, [litres[r] for r in raw], stays)

    def flows(self) -> list[Curve]:
        """The metered flows, as the water really runs."""
        curves = []
        for line in self.run.rig.lines:
            meters = [part for part in line.through if part in self.run.rig.meters]
            if meters:
                flow = self.run.series[f"flow.{line.start} to {line.end}"].tolist()
                values = [in_unit(abs(v), "flow", self.names.system) for v in flow]
                curves.append(Curve(meters[0], self.run.series["time"].tolist(), values))
        return curves

    def wished(self, tank: str, panel: Panel, episode: Episode, rows: Sequence[Row]) -> Panel:
        """A tank's panel with what a person wished of the sequences of an episode."""
        wishes = {
            parameter: wish * 1e-6
            for happening in self.run.scenario.happenings
            for parameter, wish in happening.wishes
            if happening.ms <= episode.end_ms
        }
        marks = [mark for row in rows for mark in wishes_of(self.law, row.name, tank, wishes, self.names.system)]
        return Panel(panel.name, panel.unit, panel.curves, (*panel.marks, *marks), panel.top)


def _moves(curve: Curve, scale: float, start: float, end: float) -> bool:
    inside = [v for t, v in zip(curve.time_s, curve.value, strict=True) if start <= t <= end]
    return bool(inside) and max(inside) - min(inside) > SEEN * scale
