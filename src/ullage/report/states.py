"""What lasted how long: bars for sequences, valves, pumps, taps, interlocks and harms, from the records."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from ullage.control import codes
from ullage.control.record import Record
from ullage.plant import words as plant
from ullage.report.strip import Bar, Row
from ullage.report.words import Names

CALM_MS = 180_000
"""Two stretches in which something moves belong together when less than this lies between them [ms]."""

LONG_MS = 3_600_000
"""What stays as it is for longer moves at its ends only [ms]: a valve left open all day is no episode of a day."""

EPISODES_LIMIT = 9
"""At most this many episodes get a chart of their own."""

WRONG_STATES = (codes.HOLDING, codes.HELD, codes.ABORTING, codes.ABORTED)

HARMS = (" overflow", " indoors")
"""How the names of rows end that tell of a harm."""


@dataclass(frozen=True, slots=True)
class Episode:
    """A stretch of the run [ms] in which something moved, named after what did; it began to move at `began_ms`."""

    start_ms: int
    end_ms: int
    name: str
    began_ms: int


@dataclass(slots=True)
class _Lane:
    """Bars of one part while the records are read; at most one is open at a time."""

    bars: list[Bar] = field(default_factory=list)
    since_ms: int = -1
    word: str = ""
    look: str = ""

    def turn(self, now_ms: int, word: str, look: str) -> None:
        """End the open bar and begin another; an empty word begins none."""
        if self.word and now_ms > self.since_ms:
            self.bars.append(Bar(self.since_ms / 1000, now_ms / 1000, self.word, self.look))
        self.since_ms, self.word, self.look = now_ms, word, look


class _Lanes:
    """All lanes by kind of part and name, in order of appearance."""

    def __init__(self) -> None:
        self.of: dict[tuple[str, str], _Lane] = {}

    def turn(self, kind: str, name: str, now_ms: int, word: str = "", look: str = "") -> None:
        self.of.setdefault((kind, name), _Lane()).turn(now_ms, word, look)


def _step(r: Record, n: Names, lanes: _Lanes) -> None:
    t = n.program.tables
    sequence, _, step = n.program.names.steps[r.row].partition(".")
    if t.step_initial[r.row] or t.step_final[r.row]:
        return
    # One lane for each step, joined below: parallel branches have several steps at once.
    lanes.turn("step", f"{sequence}.{step}", r.now_ms, step if r.value else "", "rest")


def _state(r: Record, n: Names, lanes: _Lanes) -> None:
    word = codes.STATES[r.value] if r.value in WRONG_STATES else ""
    lanes.turn("state", n.program.names.sequences[r.row], r.now_ms, word, "alarm")


def _valve(r: Record, n: Names, lanes: _Lanes) -> None:
    words = (("", ""), ("open", "open"), ("midway", "alarm"), ("travelling", "travel"))
    lanes.turn("valve", n.part("valves", r.row), r.now_ms, *words[r.value])


def _interlock(r: Record, n: Names, lanes: _Lanes) -> None:
    names, word = n.program.names, codes.TRIPS[r.value] if r.value else ""
    lanes.turn("interlock", names.interlocks[r.row], r.now_ms, word, "alarm" if names.alarming[r.row] else "rest")


def _plain(kind: str, parts: str, word: str, look: str) -> Callable[[Record, Names, _Lanes], None]:
    def turn(r: Record, n: Names, lanes: _Lanes) -> None:
        name = n.part(parts, r.row) if parts else kind
        lanes.turn(kind, name, r.now_ms, word if r.value else "", look)

    return turn


def _tap(r: Record, n: Names, lanes: _Lanes) -> None:
    if r.row >= 0:  # below 0 a valve is turned by hand, which its own records tell
        lanes.turn("tap", n.part("fixtures", r.row), r.now_ms, "open" if r.value else "", "open")


def _power(r: Record, n: Names, lanes: _Lanes) -> None:
    lanes.turn("power", "power", r.now_ms, "" if r.value else "gone", "alarm")


_TURNS: dict[int, Callable[[Record, Names, _Lanes], None]] = {
    codes.R_STEP: _step,
    codes.R_STATE: _state,
    codes.R_INTERLOCK: _interlock,
    plant.P_VALVE: _valve,
    plant.P_PUMP: _plain("pump", "pumps", "turns", "open"),
    plant.P_DRY: _plain("dry", "pumps", "dry", "alarm"),
    plant.P_TAP: _tap,
    plant.P_OVERFLOW: _plain("overflow", "tanks", "overflows", "alarm"),
    plant.P_INDOORS: _plain("indoors", "tanks", "floods", "alarm"),
    plant.P_POWER: _power,
}

_ORDER = ("step", "state", "valve", "pump", "dry", "tap", "interlock", "overflow", "indoors", "power")
"""Rows of a chart, from the will to the harm."""

_LANE_OF = {"state": "step", "dry": "pump"}
"""Kinds that are drawn in the row of another kind."""


def rows_of(records: Iterable[Record], names: Names, end_ms: int) -> tuple[Row, ...]:
    """One row for each part that did anything, in a stated order."""
    lanes = _Lanes()
    for name, valve in names.rig.valves.items():
        if valve.rests == "open":
            lanes.turn("valve", name, 0, "open", "open")
    for record in records:
        turn = _TURNS.get(record.kind)
        if turn is not None:
            turn(record, names, lanes)
    rows: dict[tuple[str, str], list[Bar]] = {}
    for kind in _ORDER:
        for (its_kind, name), lane in lanes.of.items():
            if its_kind == kind:
                lane.turn(end_ms, "", "")
                rows.setdefault((_LANE_OF.get(kind, kind), name.partition(".")[0]), []).extend(lane.bars)
    return tuple(Row(_row_name(kind, name), tuple(_bared(bars))) for (kind, name), bars in rows.items() if bars)


def _bared(bars: Sequence[Bar]) -> list[Bar]:
    """The bars of one row without those parts of its steps over which something is wrong: one word at a time."""
    wrong = [bar for bar in bars if bar.look == "alarm"]
    found: list[Bar] = []
    for bar in bars:
        pieces = [bar]
        for over in wrong if bar.look == "rest" else ():
            pieces = [
                replace(piece, start_s=low, end_s=high)
                for piece in pieces
                for low, high in ((piece.start_s, min(piece.end_s, over.start_s)),
                                  (max(piece.start_s, over.end_s), piece.end_s))
                if low < high
            ]  # fmt: skip
        found += pieces
    return found


def _row_name(kind: str, name: str) -> str:
    return f"{name} {kind}" if kind in ("overflow", "indoors") else name


def episodes(rows: Sequence[Row], records: Iterable[Record], names: Names, end_ms: int) -> tuple[Episode, ...]:
    """The stretches in which valves were driven, taps open or harm was done, in order of time.

    Where there are more than `EPISODES_LIMIT`, those in which a sequence began or harm was done stay first.
    """
    moving = sorted(part for row in rows if _counts(row, names) for bar in row.bars for part in _moves(bar, end_ms))
    joined: list[tuple[float, float]] = []
    for start, end in moving:
        if joined and start - joined[-1][1] < CALM_MS:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    began = [(r.now_ms, names.program.names.sequences[r.row]) for r in records if _begins(r)]
    found: list[tuple[bool, Episode]] = []
    for start, end in joined:
        margin = max(20_000, 0.08 * (end - start))
        low, high = max(0, int(start - margin)), min(end_ms, int(end + margin))
        who = list(dict.fromkeys(name for now, name in began if low <= now <= high))
        taps = [row.name for row in rows if row.name in names.rig.fixtures and _touches(row, low, high)]
        harms = [row.name for row in rows if row.name.endswith(HARMS) and _touches(row, low, high)]
        name = ", ".join([*(who or taps or ["something moves"]), *harms])
        found.append((bool(who or harms), Episode(low, high, name, int(start))))
    kept = sorted(found, key=lambda pair: not pair[0])[:EPISODES_LIMIT]
    return tuple(sorted((episode for _, episode in kept), key=lambda e: e.start_ms))


def _moves(bar: Bar, end_ms: int) -> Iterator[tuple[float, float]]:
    """The stretches [ms] of a bar in which something moves: all of a short one, the ends of a long one."""
    start, end = 1000 * bar.start_s, 1000 * bar.end_s
    if end - start <= LONG_MS:
        yield start, end
        return
    yield start, start
    if end < end_ms:
        yield end, end


def _counts(row: Row, names: Names) -> bool:
    """A pump that keeps the taps under pressure makes no episode; what a person or a sequence does makes one."""
    return row.name in names.rig.valves or row.name in names.rig.fixtures or row.name.endswith(HARMS)


def _begins(record: Record) -> bool:
    """Whether a person or a gesture began a sequence: one that begins by itself names no episode."""
    running = record.kind == codes.R_STATE and record.value == codes.RUNNING
    return running and record.detail != codes.BY_ITSELF


def _touches(row: Row, low: int, high: int) -> bool:
    return any(bar.end_s * 1000 >= low and bar.start_s * 1000 <= high for bar in row.bars)
