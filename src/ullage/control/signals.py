"""Compile what the law sees and drives: signals, parameters, outputs, motor valves."""

from __future__ import annotations

from ullage.control import codes
from ullage.control.program import SignalName
from ullage.control.rows import SCALES, Rows
from ullage.control.timers import SCAN_LATE
from ullage.rig.model import Board, Sender, Tank
from ullage.rig.sensing import span, stale_after
from ullage.rig.shapes import height, volume
from ullage.rig.tags import ENDS

OVER_SPAN = 300
"""A raw reading this far outside the span is still taken for noise; further out it is bad."""

TABLE_POINTS = 33
"""Points of the raw-to-volume table of a tank whose sides are not straight."""

_MOST_RAW = {codes.SWITCH: 1, codes.ATTITUDE: 3, codes.LINK: 1}
_MOST_READING = 10**8

_PROBE_KINDS = {"current": codes.CURRENT, "pressure": codes.PRESSURE, "voltage": codes.VOLTAGE}


def add_signals(rows: Rows) -> None:
    """Signals in order: senders, floats, meters, probes, valve ends, board links, the handset."""
    rig = rows.rig
    rows.add("convert_first", 0)
    for name, sender in rig.senders.items():
        _level(rows, name, sender, rig.tanks[sender.on])
    for name, switch in rig.floats.items():
        _signal(rows, name, codes.SWITCH, name, round(stale_after(switch) * 1000))
    for name, meter in rig.meters.items():
        _signal(rows, name, codes.FLOW, name, round(stale_after(meter) * 1000))
    for name, probe in rig.probes.items():
        _signal(rows, name, _PROBE_KINDS[probe.measures], name, round(stale_after(probe) * 1000))
    for name, valve in rig.valves.items():
        board = rig.boards[valve.board] if valve.board else Board()
        for end in ENDS[valve.motor.feedback] if valve.motor else ():
            _signal(rows, f"{name}.{end}", codes.SWITCH, name, round(board.stale * 1000))
    for name, board in rig.boards.items():
        _signal(rows, f"{name}.link", codes.LINK, name, round(board.stale * 1000))
    if rig.handset is not None:
        _signal(rows, "handset.attitude", codes.ATTITUDE, "handset", round(rig.handset.stale * 1000))


def _signal(rows: Rows, name: str, kind: int, part: str, stale_ms: int) -> None:
    rows.signals[name] = len(rows.signals)
    rows.signal_names.append(SignalName(name, kind, part))
    rows.add("signal_kind", kind)
    rows.add("stale_ms", stale_ms)
    rows.add("least_raw", -OVER_SPAN if kind == codes.LEVEL else 0)
    rows.add("most_raw", codes.SPAN_COUNTS + OVER_SPAN if kind == codes.LEVEL else _MOST_RAW.get(kind, _MOST_READING))
    rows.add("convert_first", rows.size("convert_raw"))


def _level(rows: Rows, name: str, sender: Sender, tank: Tank) -> None:
    """A level sender: its table takes raw counts to millilitres on level ground."""
    brim = height(tank.shape)
    zero, reach = sender.zero_at, span(sender, tank.shape)
    points = []
    for i in range(TABLE_POINTS):
        raw = codes.SPAN_COUNTS * i // (TABLE_POINTS - 1)
        depth = min(max(zero + reach * raw / codes.SPAN_COUNTS, 0.0), brim)
        points.append((raw, round(volume(tank.shape, depth) * SCALES["volume"])))
    for raw, content in _bends(points):
        rows.add("convert_raw", raw)
        rows.add("convert_value", content)
    _signal(rows, name, codes.LEVEL, name, round(stale_after(sender) * 1000))


def _bends(points: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Leave out the points that lie on a straight line with their neighbours, within one millilitre."""
    kept = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        slope = (after[1] - before[1]) / (after[0] - before[0])
        if abs(before[1] + slope * (here[0] - before[0]) - here[1]) > 1:
            kept.append(here)
    return [*kept, points[-1]]


def add_parameters(rows: Rows) -> None:
    """Parameters of all sequences, in the units of the signals they are compared with."""
    for q, chart in enumerate(rows.law.charts):
        for bounds in chart.parameters:
            scale = SCALES[bounds.symbol.dimension]
            rows.parameters[f"{chart.name}.{bounds.symbol.name}"] = len(rows.parameters)
            rows.add("parameter_default", round(bounds.default * scale))
            rows.add("parameter_least", round(bounds.least * scale))
            rows.add("parameter_most", round(bounds.most * scale))
            rows.add("parameter_sequence", q)


def add_outputs(rows: Rows) -> None:
    """Outputs in order: motor valves, pumps, lamps; each with its safe demand."""
    rig = rows.rig
    for name, valve in rig.valves.items():
        if valve.motor is not None:
            safe = ("closed", "open").index(valve.rests)
            _output(rows, name, codes.VALVE, ("closed", "open"), safe, valve.safe_after)
            _lease(rows, valve.lease, {"closed": 0, "open": 1}.get(valve.on_lapse or "", -1))
    for name, pump in rig.pumps.items():
        if pump.board is not None:
            _output(rows, name, codes.PUMP, ("off", "on"), codes.OFF, pump.safe_after)
            _lease(rows, pump.lease, {"off": 0, "on": 1}.get(pump.on_lapse or "", -1))
    for name, lamp in rig.lamps.items():
        _output(rows, name, codes.LAMP, lamp.colours, 0, 0.0)
        _lease(rows, None, -1)


def _output(rows: Rows, name: str, kind: int, words: tuple[str, ...], safe: int, safe_after: float) -> None:
    rows.outputs[name] = len(rows.outputs)
    rows.output_words[name] = words
    rows.add("output_kind", kind)
    rows.add("output_safe", safe)
    rows.add("output_safe_after_ms", round(safe_after * 1000))


def _lease(rows: Rows, lease: float | None, on_lapse: int) -> None:
    """Lease [ms] (0: none) and the demand that the board takes by itself when it lapses (-1: stays)."""
    rows.add("output_lease_ms", round((lease or 0.0) * 1000))
    rows.add("output_on_lapse", on_lapse)


def add_valves(rows: Rows) -> None:
    """Motor valves: how late one may still obey an older demand, longest stroke, signals of its ends (-1: none).

    What sits on a board obeys the last demand it has heard until that one's lease has run out.
    """
    for name, valve in rows.rig.valves.items():
        if valve.motor is not None:
            rows.valves[name] = len(rows.valves)
            rows.add("valve_output", rows.outputs[name])
            delay = rows.rig.boards[valve.board].delay.most if valve.board else 0.0
            late = max(valve.lease or 0.0, delay) if valve.board else 0.0
            # The scan that asks may come late, and the one that presumes in time.
            rows.add("valve_late_ms", round(late * 1000) + SCAN_LATE)
            rows.add("valve_stroke_ms", max(1, round(valve.motor.stroke.most * 1000)))
            rows.add("valve_closed_end", rows.signals.get(f"{name}.closed_end", -1))
            rows.add("valve_open_end", rows.signals.get(f"{name}.open_end", -1))
