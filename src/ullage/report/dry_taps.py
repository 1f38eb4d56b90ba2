"""Taps that were opened and gave no water, and what kept it from them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ullage.control import codes
from ullage.control.record import Record
from ullage.plant.words import P_PUMP, P_TAP
from ullage.report.quantity_words import in_unit
from ullage.report.words import MAIN, Names, Sentence
from ullage.simulate.run import Run

FEW = 0.05
"""A tap that gives less gives none [L/min]."""

DONE = (codes.IDLE, codes.COMPLETE, codes.STOPPED, codes.ABORTED)
"""States in which a sequence demands nothing."""


def with_dry_taps(run: Run, records: Sequence[Record], story: Sequence[Sentence], names: Names) -> list[Sentence]:
    """The story; where a tap is opened and soon no water comes any more, it says so and why."""
    told = list(story)
    for at, record in enumerate(records):
        if record.kind == P_TAP and record.row >= 0 and record.value:
            rest = range(at + 1, len(records))
            turns = (i for i in rest if records[i].kind == P_TAP and records[i].row == record.row)
            end = next(turns, len(records))
            until = records[end].now_ms if end < len(records) else round(1000 * run.series["time"][-1])
            if _dry(run, names.part("fixtures", record.row), record.now_ms, until):
                why = "; ".join(_reasons(records[:end], names))
                text = f"{told[at].text} Soon no water comes{': ' + why if why else ''}."
                told[at] = replace(told[at], text=text, weight=MAIN)
    return told


def _dry(run: Run, fixture: str, start_ms: int, end_ms: int) -> bool:
    """Whether nothing came from a fixture in the second half of a stretch; False where no sample lies there.

    What an accumulator and the pipes still give at first is no supply.
    """
    time = 1000 * run.series["time"]
    within = (time > (start_ms + end_ms) / 2) & (time < end_ms)
    lines = [f"flow.{line.start} to {line.end}" for line in run.rig.lines if line.end == fixture]
    flows = [in_unit(abs(run.series[line][within]).max(), "flow") for line in lines if within.any()]
    return bool(flows) and max(flows) < FEW


def _reasons(records: Sequence[Record], names: Names) -> Iterator[str]:
    """Of each pump that stands: the interlocks that keep it off, else the sequences that would run it by themselves."""
    law = names.program.names
    last = {(r.kind, r.row): r.value for r in records}
    for row, pump in enumerate(names.rig.pumps):
        if last.get((P_PUMP, row)):
            continue
        held = [name for i, name in enumerate(law.interlocks)
                if last.get((codes.R_INTERLOCK, i), codes.CLEAR) != codes.CLEAR
                and names.rig.interlocks[name].drive.get(pump) == "off"]  # fmt: skip
        states = {name: last.get((codes.R_STATE, i), codes.IDLE) for i, name in enumerate(law.sequences)}
        runners = [
            name
            for name, sequence in names.rig.sequences.items()
            if sequence.begins and any(step.demand.get(pump) == "on" for step in sequence.steps.values())
        ]
        resting = [f"{name} is {codes.STATES[states[name]]}" for name in runners if states[name] in DONE]
        because = [f"interlock {name} acts" for name in held] or resting
        yield f"{pump} stands" + (f", {', '.join(because)}" if because else "")
