"""From a rig and its Program to what is wired where: sources, boards, outputs, each with its own draws."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import exp, pi, sqrt, tanh

from ullage.control import codes as law
from ullage.control.program import Program
from ullage.control.rows import SCALES
from ullage.plant import codes
from ullage.plant.chance import (
    CALL_DELAY,
    CALL_LOSS,
    DELAY,
    ERROR_GAIN,
    ERROR_OFFSET,
    LOSS,
    NOISE,
    SLOSH,
    STROKE,
    between,
    stream,
)
from ullage.plant.works import LEAST_STROKE, Works
from ullage.quantities import G_STANDARD
from ullage.rig import shapes
from ullage.rig.model import REPORT_EVERY, Float, Lamp, Meter, Probe, Pump, Rig, Sender, Tank, Valve
from ullage.rig.sensing import span

HANDSET_MS = 1000
"""A handset reports its attitude this often [ms]."""

_MEASURES = {"current": codes.SOURCE_CURRENT, "pressure": codes.SOURCE_PRESSURE, "voltage": codes.SOURCE_VOLTAGE}


@dataclass(frozen=True, slots=True)
class Source:
    """Where a signal comes from and how it errs (units of `ullage.plant.layout`)."""

    kind: int
    part: int
    board: int
    every_ms: int
    on_change: int = 0
    heartbeat_ms: int = 0
    broken_reads: int = 1
    zero: float = 0.0
    span: float = 1.0
    place_x: float = 0.0
    place_y: float = 0.0
    error: float = 0.0
    lag: float = 1.0
    noise: float = 0.0
    resolution: float = 0.0
    least: float = 0.0


def add_wiring(works: Works, program: Program | None, seed: int, errors: Mapping[str, float] | None = None) -> None:
    """Add the columns of signals, boards and outputs that do not change, and the draws of this run.

    Parameters
    ----------
    works : Works
        Its columns grow.
    program : Program or None
    seed : int
        Seed of all chance.
    errors : mapping, optional
        What the named senders, meters and probes err by instead of a drawn error, in parts of what they
        declare [-1..1].
    """
    rig = works.rig
    signals = program.names.signals if program else ()
    boards = list(rig.boards)
    works.integers["scan_ms"] = [program.scan_ms if program else round(rig.scan * 1000)]
    sources = [_source(works, signal.name, signal.kind, signal.part) for signal in signals]
    works.counts.update(signals=len(sources), boards=len(boards), outputs=len(program.names.outputs) if program else 0)
    _add_sources(works, sources, list(program.tables.stale_ms) if program else [])
    _add_errors(works, sources, [signal.name for signal in signals], seed, errors or {})
    works.integers["board_delay_least_ms"] = [round(b.delay.least * 1000) for b in rig.boards.values()]
    works.integers["board_delay_most_ms"] = [round(b.delay.most * 1000) for b in rig.boards.values()]
    works.reals["board_loss"] = [board.loss for board in rig.boards.values()]
    if program:
        works.integers["float_signal"] = [program.signal(name) for name in rig.floats]
    _add_outputs(works, program)
    motors = [valve.motor for valve in rig.valves.values()]
    works.reals["stroke"] = [
        max(LEAST_STROKE, between(stream(seed, STROKE, i), 0, motor.stroke.least, motor.stroke.most) if motor else 0.0)
        for i, motor in enumerate(motors)
    ]
    _add_slosh(works)
    _add_streams(works, seed)


def _add_streams(works: Works, seed: int) -> None:
    """The streams of all draws that are made on the way."""
    purposes = {"noise": NOISE, "loss": LOSS, "delay": DELAY}
    streams = {name: (purpose, works.counts["signals"]) for name, purpose in purposes.items()}
    streams |= {"call_loss": (CALL_LOSS, works.counts["boards"]), "call_delay": (CALL_DELAY, works.counts["boards"])}
    streams["slosh"] = (SLOSH, works.counts["tanks"])
    for name, (purpose, parts) in streams.items():
        works.integers[f"{name}_stream"] = [stream(seed, purpose, part) for part in range(parts)]


def _source(works: Works, name: str, kind: int, part: str) -> Source:
    """The source of one signal of the law."""
    rig, boards = works.rig, list(works.rig.boards)
    quick = max(round(REPORT_EVERY * 1000), works.integers["scan_ms"][0])
    if kind == law.LINK:
        return Source(codes.SOURCE_LINK, boards.index(part), boards.index(part), quick)
    if kind == law.ATTITUDE:
        return Source(codes.SOURCE_ATTITUDE, 0, -1, HANDSET_MS)
    if part in rig.valves:
        end = codes.SOURCE_CLOSED_END if name.endswith("closed_end") else codes.SOURCE_OPEN_END
        board = rig.valves[part].board
        return Source(end, list(rig.valves).index(part), boards.index(board) if board else -1, quick)
    if part in rig.senders:
        return _level(rig, rig.senders[part])
    if part in rig.floats:
        return _float(rig, rig.floats[part])
    if part in rig.meters:
        meter = rig.meters[part]
        link = works.plumbing.part_link[part]
        return Source(
            codes.SOURCE_METER, link, **_published(rig, meter), error=meter.error, least=meter.least * SCALES["flow"]
        )
    probe = rig.probes[part]
    return Source(_MEASURES[probe.measures], _probed(works, probe), **_published(rig, probe), error=probe.error)


def _published(rig: Rig, part: Sender | Float | Meter | Probe) -> dict[str, int]:
    """What all parts that publish readings have in common."""
    return {
        "board": list(rig.boards).index(part.board) if part.board else -1,
        "every_ms": max(1, round(part.every * 1000)),
        "on_change": int(part.published == "on change"),
        "heartbeat_ms": round((part.heartbeat or 0.0) * 1000),
    }


def _level(rig: Rig, sender: Sender) -> Source:
    tank = rig.tanks[sender.on]
    return Source(
        codes.SOURCE_LEVEL,
        list(rig.tanks).index(sender.on),
        **_published(rig, sender),
        zero=sender.zero_at,
        span=span(sender, tank.shape),
        place_x=sender.x,
        place_y=sender.y,
        error=sender.error,
        lag=1.0 - exp(-sender.every / sender.lag) if sender.lag > 0.0 else 1.0,
        noise=sender.noise,
        resolution=sender.resolution,
    )


def _float(rig: Rig, switch: Float) -> Source:
    return Source(
        codes.SOURCE_FLOAT,
        list(rig.tanks).index(switch.on),
        **_published(rig, switch),
        broken_reads=int(switch.broken_reads == "full"),
        zero=switch.at,
        place_x=switch.x,
        place_y=switch.y,
    )


def _probed(works: Works, probe: Probe) -> int:
    """What a probe measures: a pump, a node, or the supply."""
    if probe.measures == "current":
        return works.plumbing.pumps[probe.of]
    if probe.measures == "pressure":
        laid = works.plumbing
        point = laid.nodes.get(("point", probe.of))
        return point if point is not None else laid.network.end[laid.part_link[probe.of]]
    return 0


def _add_sources(works: Works, sources: Sequence[Source], stale_ms: list[int]) -> None:
    """Columns of the sources."""
    names = {"source": "kind", "source_part": "part", "source_board": "board", "every_ms": "every_ms"}
    names |= {name: name for name in ("on_change", "heartbeat_ms", "broken_reads")}
    for column, field in names.items():
        works.integers[column] = [getattr(source, field) for source in sources]
    works.integers["source_stale_ms"] = stale_ms
    works.integers["due_ms"] = [0] * len(sources)
    for column in ("zero", "span", "place_x", "place_y", "lag", "noise", "resolution"):
        works.reals[column] = [getattr(source, column) for source in sources]
    works.reals["least_read"] = [source.least for source in sources]


def _add_errors(
    works: Works, sources: Sequence[Source], names: Sequence[str], seed: int, errors: Mapping[str, float]
) -> None:
    """By how much each source errs.

    A drawn error is split at random between offset and gain, so that they never exceed it; one that is
    given is the whole of a level sender's offset, and of any other source's gain.
    """
    level = [source.kind == codes.SOURCE_LEVEL for source in sources]
    works.reals["offset"] = [
        between(stream(seed, ERROR_OFFSET, i), 0, -0.5, 0.5) * source.error if level[i] else 0.0
        for i, source in enumerate(sources)
    ]
    works.reals["gain_error"] = [
        between(stream(seed, ERROR_GAIN, i), 0, -0.5 if level[i] else -1.0, 0.5 if level[i] else 1.0) * source.error
        for i, source in enumerate(sources)
    ]
    for i, (source, name) in enumerate(zip(sources, names, strict=True)):
        if name in errors:
            works.reals["offset"][i] = errors[name] * source.error if level[i] else 0.0
            works.reals["gain_error"][i] = 0.0 if level[i] else errors[name] * source.error


def _add_outputs(works: Works, program: Program | None) -> None:
    rig, tables = works.rig, program.tables if program else None
    names = program.names.outputs if program else ()
    boards = list(rig.boards)
    valves, pumps = list(rig.valves), works.plumbing.pumps
    parts = {**{name: i for i, name in enumerate(valves)}, **pumps}
    parts |= {name: i for i, name in enumerate(rig.lamps)}
    owner: dict[str, Valve | Pump | Lamp] = {**rig.valves, **rig.pumps, **rig.lamps}
    works.integers["output"] = list(tables.output_kind) if tables else []
    works.integers["output_part"] = [parts[name] for name in names]
    at = [owner[name].board for name in names]
    works.integers["output_board"] = [boards.index(board) if board else -1 for board in at]
    works.integers["output_lease_ms"] = list(tables.output_lease_ms) if tables else []
    works.integers["output_on_lapse"] = list(tables.output_on_lapse) if tables else []
    works.integers["output_safe"] = list(tables.output_safe) if tables else []


def _add_slosh(works: Works) -> None:
    """Lowest sloshing mode of each tank, half full: ``w2 = g k tanh(k h)``, ``k = pi / L`` (Lamb 1932, art. 257)."""
    lengths = [_length(tank) for tank in works.rig.tanks.values()]
    depths = [0.5 * shapes.height(tank.shape) for tank in works.rig.tanks.values()]
    works.reals["tall"] = [2.0 * depth for depth in depths]
    works.reals["slosh_reach"] = [0.5 * length for length in lengths]
    works.reals["slosh_speed"] = [
        sqrt(G_STANDARD * pi / length * tanh(pi / length * depth))
        for length, depth in zip(lengths, depths, strict=True)
    ]


def _length(tank: Tank) -> float:
    """Longest way across a tank [m]; for a strapping table that of a cube of its volume."""
    shape = tank.shape
    if shape.box is not None:
        return max(shape.box.length, shape.box.width)
    if shape.upright is not None:
        return shape.upright.diameter
    if shape.lying is not None:
        return max(shape.lying.diameter, shape.lying.length)
    return float(shapes.whole(shape) ** (1.0 / 3.0))
