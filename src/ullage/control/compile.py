"""Compile a rig and its resolved guards into a Program: frozen integer tables with a hash.

The rig must have passed its checks; what can still go wrong here (a figure too large for the
integers of the law, a factor with too many decimals) comes back as findings.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

from ullage.control import codes
from ullage.control.charts import add_sequences
from ullage.control.layout import column_of
from ullage.control.program import Names, Program, Tables
from ullage.control.rows import Rows
from ullage.control.signals import add_outputs, add_parameters, add_signals, add_valves
from ullage.control.timers import ARMED_MS
from ullage.findings import Finding
from ullage.rig.meaning import Law
from ullage.rig.model import Rig


def compile_rig(rig: Rig, law: Law) -> tuple[Program | None, tuple[Finding, ...]]:
    """The Program of a rig.

    Parameters
    ----------
    rig : Rig
        A rig whose check left no fault standing.
    law : Law
        Its resolved guards.

    Returns
    -------
    program : Program or None
        None when there are findings.
    findings : tuple of Finding
        What the integers of the law cannot hold.
    """
    rows = Rows(rig, law)
    add_signals(rows)
    add_outputs(rows)
    add_valves(rows)
    add_parameters(rows)
    add_sequences(rows)
    _add_interlocks(rows)
    _add_gestures(rows)
    _add_readers(rows)
    _add_clocks(rows)
    if rows.findings:
        return None, tuple(rows.findings)
    tables = rows.tables()
    scan_ms = round(rig.scan * 1000)
    return Program(rig.rig, scan_ms, tables, column_of(tables), _names(rows), _hash(tables, scan_ms)), ()


def _add_interlocks(rows: Rows) -> None:
    """Interlocks in rising priority, so that the last one wins."""
    rig = rows.rig
    trips = {trip.name: trip for trip in rows.law.trips}
    order = sorted(rig.interlocks, key=lambda name: rig.interlocks[name].priority or 0)
    rows.add("drive_first", 0)
    for name in order:
        lock = rig.interlocks[name]
        rows.interlocks.append(name)
        rows.alarming.append(lock.alarm)
        rows.add("interlock_guard", rows.truth(trips[name].when, trips[name].place))
        until = trips[name].until
        rows.add("interlock_until", -1 if until is None else rows.truth(until, trips[name].place))
        rows.add("interlock_latch", int(lock.latch))
        for output, word in lock.drive.items():
            rows.add("drive_output", rows.outputs[output])
            rows.add("drive_value", rows.demand(output, word))
        rows.add("drive_first", rows.size("drive_output"))


def _add_gestures(rows: Rows) -> None:
    """Gestures: an attitude kept for its dwell time gives a command to one sequence or to all."""
    if rows.rig.handset is None:
        for _ in range(len(rows.sequences) + 1):
            rows.add("gesture_first", 0)
        return
    attitude = rows.signals["handset.attitude"]
    rows.add("gesture_first", 0)
    for name in rows.sequences:
        for gesture in rows.rig.handset.gestures:
            verb, _, which = gesture.does.partition(" ")
            if which in (name, "all"):
                code = codes.ATTITUDES.index(gesture.attitude)
                kept = rows.row(codes.T_ATTITUDE, attitude, 0, code, f"handset is {gesture.attitude}")
                rows.add("gesture_guard", rows.held(kept, gesture.dwell, f"(handset is {gesture.attitude})"))
                rows.add("gesture_command", codes.COMMANDS.index(verb))
        rows.add("gesture_first", rows.size("gesture_guard"))


def _add_readers(rows: Rows) -> None:
    """For each signal the comparisons that read it."""
    rows.add("reader_first", 0)
    ops, left, right = rows.column("op"), rows.column("left"), rows.column("right")
    sources = rows.column("term_source")
    for signal in range(len(rows.signals)):
        for row, op in enumerate(ops):
            terms = sources[left[row] : left[row] + right[row]] if op == codes.T_LINEAR else []
            if signal in terms or (op == codes.T_ATTITUDE and left[row] == signal):
                rows.add("readers", row)
        rows.add("reader_first", rows.size("readers"))


def _add_clocks(rows: Rows) -> None:
    """Number the clocks of all groups and list the marks of each."""
    sequences = range(len(rows.sequences))
    confirm = rows.column("sequence_confirm")
    groups: tuple[Iterable[set[int]], ...] = (
        rows.step_marks,
        ({ms} for ms in rows.held_ms),
        ({ms} - {0} for ms in rows.column("association_ms")),
        (rows.safe_marks(q) for q in sequences),
        ({ARMED_MS} if confirm[q] else set() for q in sequences),
        (_valve_marks(rows, v) for v in range(len(rows.valves))),
        ({max(rows.column("stale_ms"), default=1)},),
    )
    rows.add("mark_first", 0)
    for group in groups:
        rows.add("clock_of", rows.size("mark_first") - 1)
        for marks in group:
            for mark in sorted(marks):
                rows.add("marks", mark)
            rows.add("mark_first", rows.size("marks"))


def _valve_marks(rows: Rows, valve: int) -> set[int]:
    """When a valve is presumed there, and when no good reading of an end is older than that."""
    there = rows.column("valve_late_ms")[valve] + rows.column("valve_stroke_ms")[valve]
    ends = (rows.column("valve_closed_end")[valve], rows.column("valve_open_end")[valve])
    return {there, there + max((rows.column("stale_ms")[end] for end in ends if end >= 0), default=0)}


def _names(rows: Rows) -> Names:
    return Names(
        signals=tuple(rows.signal_names),
        outputs=tuple(rows.outputs),
        output_values=tuple(rows.output_words.values()),
        sequences=tuple(rows.sequences),
        steps=tuple(rows.steps),
        transitions=tuple(rows.transitions),
        interlocks=tuple(rows.interlocks),
        alarming=tuple(rows.alarming),
        valves=tuple(rows.valves),
        parameters=tuple(rows.parameters),
        truths=tuple(rows.texts),
        says=tuple(rows.says),
    )


def _hash(tables: Tables, scan_ms: int) -> str:
    text = repr((scan_ms, *((field, tuple(column)) for field, column in zip(tables._fields, tables, strict=True))))
    return hashlib.sha256(text.encode()).hexdigest()
